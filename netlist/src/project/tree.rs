//! The common ground of the two file forms: values with the bytes where they stand.

use std::ops::Range;

/// A value and its place.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub(super) span: Range<usize>,
    pub(super) value: NodeValue,
}

/// A value of a project file.
#[derive(Debug, Clone)]
pub(super) enum NodeValue {
    /// Text.
    Text(String),
    /// A number; not finite only when the file says so.
    Number(f64),
    /// True or false.
    Switch(bool),
    /// A list.
    List(Vec<Node>),
    /// A table, in file order.
    Table(Vec<TreeEntry>),
    /// Something that no field takes: a date, or JSON's null.
    Other(&'static str),
}

/// A named value of a table.
#[derive(Debug, Clone)]
pub(super) struct TreeEntry {
    pub(super) key: String,
    pub(super) key_span: Range<usize>,
    pub(super) node: Node,
}

impl NodeValue {
    /// What it is, with its article, for messages.
    pub(super) fn a_what(&self) -> &'static str {
        match self {
            NodeValue::Text(_) => "text",
            NodeValue::Number(_) => "a number",
            NodeValue::Switch(_) => "true or false",
            NodeValue::List(_) => "a list",
            NodeValue::Table(_) => "a table",
            NodeValue::Other(what) => what,
        }
    }
}

/// A mistake of the form: where, what, way out.
pub(super) struct SyntaxMistake {
    /// The rest of the tree can be read all the same.
    pub(super) harmless: bool,
    pub(super) span: Range<usize>,
    pub(super) message: String,
    pub(super) help: Option<String>,
}

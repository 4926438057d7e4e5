//! TOML text to the common tree.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::mend::{mark_broken, mend};
use super::toml_words;
use super::tree::{Node, NodeValue, SyntaxMistake, TreeEntry};

/// How many mistakes of form are shown: a file with more is no TOML at all.
const SHOWN: usize = 20;

/// What could be read of a text.
pub(super) struct Parsed {
    /// To be trusted only when all mistakes are harmless.
    pub(super) root: Node,
    pub(super) mistakes: Vec<SyntaxMistake>,
    /// Places of values with a mistake of form.
    pub(super) broken: Vec<Range<usize>>,
}

/// Reads as much as can be read.
pub(super) fn parse(text: &str) -> Parsed {
    let plain = parse_plainly(text);
    if plain.mistakes.iter().all(|mistake| mistake.harmless) {
        return plain;
    }
    let Some(mended) = mend(text, '=', first_mistake) else {
        return plain;
    };
    let mut again = parse_plainly(&mended.text);
    mark_broken(&mut again.root, &mended.ranges);
    let mut mistakes = mended.mistakes;
    for mistake in &mut mistakes {
        mistake.harmless = true;
    }
    mistakes.extend(again.mistakes);
    Parsed {
        root: again.root,
        mistakes,
        broken: mended.ranges,
    }
}

const TWICE: &str = "duplicate key";

/// The first mistake after which the rest cannot be trusted.
fn first_mistake(text: &str) -> Option<SyntaxMistake> {
    let (_, errors) = DeTable::parse_recoverable(text);
    let error = errors.iter().find(|error| error.message() != TWICE)?;
    let span = error.span().unwrap_or(0..0);
    Some(toml_words::mistake(text, span, error.message()))
}

fn parse_plainly(text: &str) -> Parsed {
    let (document, errors) = DeTable::parse_recoverable(text);
    let root = Node {
        span: 0..0,
        value: table(document.get_ref()),
    };
    let mut mistakes: Vec<SyntaxMistake> = errors
        .iter()
        .take(100 * SHOWN)
        .map(|error| {
            let span = error.span().unwrap_or(0..0);
            if error.message() == TWICE {
                return duplicate(text, &root, span);
            }
            toml_words::mistake(text, span, error.message())
        })
        .collect();
    // After a broken place the reader stumbles on for the rest of the line.
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
    let line = |at: usize| ends.partition_point(|end| *end < at);
    mistakes.dedup_by(|next, before| {
        !next.harmless && !before.harmless && line(next.span.start) == line(before.span.start)
    });
    mistakes.truncate(SHOWN);
    Parsed {
        root,
        mistakes,
        broken: Vec::new(),
    }
}

fn table(source: &DeTable<'_>) -> NodeValue {
    let mut entries: Vec<TreeEntry> = source
        .iter()
        .map(|(key, value)| TreeEntry {
            key: key.get_ref().to_string(),
            key_span: key.span(),
            node: node(value.span(), value.get_ref()),
        })
        .collect();
    entries.sort_by_key(|entry| entry.key_span.start);
    NodeValue::Table(entries)
}

fn node(span: Range<usize>, source: &DeValue<'_>) -> Node {
    let value = match source {
        DeValue::String(text) => NodeValue::Text(text.to_string()),
        DeValue::Integer(integer) => {
            NodeValue::Number(integer_value(integer.as_str(), integer.radix()))
        }
        DeValue::Float(float) => NodeValue::Number(float.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(switch) => NodeValue::Switch(*switch),
        DeValue::Datetime(_) => NodeValue::Other("a date"),
        DeValue::Array(items) => NodeValue::List(
            items
                .iter()
                .map(|item| node(item.span(), item.get_ref()))
                .collect(),
        ),
        DeValue::Table(entries) => table(entries),
    };
    Node { span, value }
}

fn integer_value(digits: &str, radix: u32) -> f64 {
    if radix == 10 {
        return digits.parse().unwrap_or(f64::NAN);
    }
    i64::from_str_radix(digits, radix).map_or(f64::NAN, |value| value as f64)
}

/// A name that comes twice, with the line of the first.
fn duplicate(text: &str, root: &Node, span: Range<usize>) -> SyntaxMistake {
    let written = text
        .get(span.clone())
        .unwrap_or("")
        .trim_matches(['[', ']']);
    let last = written.rsplit('.').next().unwrap_or("");
    let name = last.trim().trim_matches(['"', '\'']);
    let line_start = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let in_header = header_of(&text[line_start..]).is_some();
    let mut first = first_header(text, line_start);
    if first.is_none() {
        find_before(root, name, span.start, &mut first);
    }
    let help = first.map(|at| {
        let line = text[..at].matches('\n').count() + 1;
        format!("the first '{name}' is on line {line}; rename or delete one of them")
    });
    SyntaxMistake {
        // Two tables of one name have run together; a doubled field leaves the rest as it is.
        harmless: !in_header,
        span,
        message: format!("'{name}' comes twice in the same table"),
        help: help.or_else(|| Some("rename or delete one of them".into())),
    }
}

/// A header such as `[drivers.mid]` without its blanks, when the text begins with one.
fn header_of(line: &str) -> Option<String> {
    let line = line.lines().next()?.trim_start();
    let end = line.starts_with('[').then(|| line.find(']'))??;
    Some(line[..end].chars().filter(|c| !c.is_whitespace()).collect())
}

/// Place of the first header that is the same as the one on the line at `line_start`.
fn first_header(text: &str, line_start: usize) -> Option<usize> {
    let header = header_of(&text[line_start..])?;
    let mut at = 0;
    for line in text[..line_start].split_inclusive('\n') {
        if header_of(line).as_ref() == Some(&header) {
            return Some(at);
        }
        at += line.len();
    }
    None
}

/// Place of the last key of that name before `limit`; a table that holds `limit` goes before others.
fn find_before(node: &Node, name: &str, limit: usize, found: &mut Option<usize>) {
    match &node.value {
        NodeValue::Table(entries) => {
            for entry in entries {
                if entry.key == name && entry.key_span.start < limit {
                    *found = (*found).max(Some(entry.key_span.start));
                }
                // A closed inline table before the place cannot hold the first of the pair.
                let inline = node_is_inline(&entry.node, &entry.key_span);
                if !inline || entry.node.span.contains(&limit) {
                    find_before(&entry.node, name, limit, found);
                }
            }
        }
        NodeValue::List(items) => {
            for item in items {
                find_before(item, name, limit, found);
            }
        }
        _ => {}
    }
}

/// An inline table stands behind its key; the table of a header surrounds it.
fn node_is_inline(node: &Node, key: &Range<usize>) -> bool {
    matches!(node.value, NodeValue::Table(_)) && node.span.start >= key.end
}

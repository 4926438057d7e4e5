//! A measured table that the project file names.

use super::fields::Context;
use super::tree::Node;
use crate::table::{Table, TableKind};

/// The table in a named file; with `trust` it is not asked whether its frequencies can be hertz.
pub(super) fn table(
    context: &mut Context<'_>,
    name: &str,
    node: &Node,
    kind: TableKind,
    trust: bool,
) -> Option<Table> {
    let source = context.file(name, node)?;
    let table = crate::table::read(&source, kind, context.collector)?;
    let [from, to] = table.ends_hz();
    // What is measured of a loudspeaker reaches beyond 100 Hz, and nothing begins below 1 Hz.
    if !trust && from < 1.0 && to <= 100.0 {
        let message = format!(
            "the frequencies of {} go from {from} to {to} Hz: they are in kHz",
            source.name
        );
        let help =
            "write them in Hz (times 1000), or if it is so, say trust = true beside the name";
        context.problem(&node.span, message, help.to_owned());
        return None;
    }
    Some(table)
}

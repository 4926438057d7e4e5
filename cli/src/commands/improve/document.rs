//! What was improved as one JSON document.

use std::path::Path;

use netlist::network::{Network, Part, PartKind};
use serde_json::{Value, json};
use solver::search::{ChangeKind, Improved, Job};

use crate::figures;

pub(super) fn document(
    job: &Job,
    network: &Network,
    improved: &Improved,
    file: Option<&Path>,
) -> Value {
    let before = figures::json(job, &improved.before.0, &improved.before.1);
    let after = improved.changes.last().map_or_else(
        || before.clone(),
        |last| figures::json(job, &last.figures, &last.load),
    );
    let mut from = network;
    let mut changes = Vec::new();
    for change in &improved.changes {
        for (i, part) in change.parts.iter().enumerate() {
            let named = |network: &Network| network.parts().get(part).map_or(Value::Null, value);
            changes.push(json!({
                "part": part,
                "what": what(change.kind),
                "from": named(from),
                "to": named(&change.network),
                // The gain of a step is that of all its parts together.
                "gain": if i == 0 { json!(change.gain) } else { Value::Null },
            }));
        }
        from = &change.network;
    }
    json!({
        "before": before,
        "after": after,
        "changes": changes,
        "parts": from.parts().len() - from.driver_names().count(),
        "design_file": file.map(|path| path.display().to_string()),
    })
}

fn what(kind: ChangeKind) -> &'static str {
    match kind {
        ChangeKind::Polarity => "polarity",
        ChangeKind::Values => "value",
        ChangeKind::Removed => "removed",
        ChangeKind::Grown => "grown",
        ChangeKind::Stock => "stock",
    }
}

/// The value of a part in SI; of a driver whether its wires are swapped.
fn value(part: &Part) -> Value {
    match &part.kind {
        PartKind::Driver { inverted, .. } => json!({ "inverted": inverted }),
        _ => json!(part.value_si()),
    }
}

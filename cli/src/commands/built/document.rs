//! What was found as one JSON document.

use netlist::project::Project;
use serde_json::{Value, json};
use solver::built::Built;

/// Hypotheses that are given.
const MOST: usize = 10;

pub(super) fn document(project: &Project, found: &Built) -> Value {
    let hypotheses: Vec<_> = found.hypotheses.iter().take(MOST).collect();
    let next: Vec<Value> = (found.next.iter())
        .map(|next| {
            json!({ "measure": next.words(), "kind": next.measure, "driver": next.driver, "gain": next.gain })
        })
        .collect();
    json!({
        "title": project.title,
        "measurement": found.measurement,
        "as_designed": found.as_designed,
        "something_else": found.something_else,
        "hypotheses": hypotheses,
        "unseen": found.unseen,
        "next": next,
        "findings": found.findings,
    })
}

//! What was found as one JSON document.

use netlist::project::Project;
use serde_json::{Value, json};

use super::Found;

/// Hypotheses that are given.
const MOST: usize = 10;

pub(super) fn document(project: &Project, found: &Found) -> Value {
    let mut document = json!({ "title": project.title });
    if let Some(built) = &found.built {
        let hypotheses: Vec<_> = built.hypotheses.iter().take(MOST).collect();
        let next: Vec<Value> = (built.next.iter())
            .map(|next| {
                json!({ "measure": next.words(), "kind": next.measure, "driver": next.driver,
                    "gain": next.gain })
            })
            .collect();
        document["measurement"] = json!(built.measurement);
        document["as_designed"] = json!(built.as_designed);
        document["something_else"] = json!(built.something_else);
        document["hypotheses"] = json!(hypotheses);
        document["unseen"] = json!(built.unseen);
        document["next"] = json!(next);
    } else {
        // The fields are there whatever was measured.
        for field in ["measurement", "as_designed", "something_else"] {
            document[field] = Value::Null;
        }
        for field in ["hypotheses", "unseen", "next"] {
            document[field] = json!([]);
        }
    }
    document["response"] = json!(found.heard);
    document["findings"] = json!(found.findings());
    document
}

//! A design as one JSON document.

use std::path::Path;

use serde_json::{Value, json};
use solver::judge::Finding;
use solver::search::{Merit, Outcome};

use crate::figures;

pub(super) fn document(
    outcome: &Outcome,
    pick: usize,
    findings: &[Finding],
    seconds: f64,
    file: Option<&Path>,
) -> Value {
    let (_, chosen) = &outcome.proposals[pick - 1];
    let mut document = figures::json(&outcome.job, &chosen.figures, &chosen.load);
    let alternatives: Vec<Value> = (outcome.proposals.iter().enumerate())
        .map(|(i, (merit, proposal))| {
            let mut alternative = figures::json(&outcome.job, &proposal.figures, &proposal.load);
            alternative["pick"] = json!(i + 1);
            alternative["merit"] = json!(merit_code(*merit));
            alternative["parts"] = json!(proposal.snapped.part_count());
            alternative
        })
        .collect();
    document["ideal"] = json!({
        "level_db": chosen.ideal_figures.level_db,
        "flatness": { "rms_db": chosen.ideal_figures.rms_db, "max_db": chosen.ideal_figures.max_db,
            "max_at_hz": chosen.ideal_figures.max_at_hz },
    });
    document["findings"] = json!(findings);
    document["shapes_tried"] = json!(outcome.shapes_tried);
    document["seconds"] = json!(seconds);
    document["interrupted"] = json!(outcome.interrupted);
    document["alternatives"] = json!(alternatives);
    document["design_file"] = json!(file.map(|path| path.display().to_string()));
    document
}

fn merit_code(merit: Merit) -> &'static str {
    match merit {
        Merit::Balanced => "balanced",
        Merit::BestFit => "best_fit",
        Merit::FewestParts => "fewest_parts",
        Merit::KindestLoad => "kindest_load",
        Merit::RunnerUp => "runner_up",
    }
}

//! A design as one JSON document.

use std::path::Path;

use netlist::quantity::Quantity;
use serde_json::{Value, json};
use solver::judge::Finding;
use solver::search::{Merit, Outcome, Proposal};

pub(super) fn document(
    outcome: &Outcome,
    pick: usize,
    findings: &[Finding],
    seconds: f64,
    file: Option<&Path>,
) -> Value {
    let (_, chosen) = &outcome.proposals[pick - 1];
    let mut document = figures_json(outcome, chosen);
    let alternatives: Vec<Value> = (outcome.proposals.iter().enumerate())
        .map(|(i, (merit, proposal))| {
            let mut alternative = figures_json(outcome, proposal);
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

fn figures_json(outcome: &Outcome, proposal: &Proposal) -> Value {
    let figures = &proposal.figures;
    let ways: serde_json::Map<String, Value> = (outcome.job.ways.iter().zip(&figures.match_db))
        .map(|(way, match_db)| (way.name.clone(), json!({ "match_db": match_db })))
        .collect();
    let crossovers: Vec<Value> = (outcome.job.crossovers.iter().zip(&figures.crossovers))
        .map(|(crossover, figures)| {
            json!({
                "frequency_hz": crossover.frequency.si(),
                "phase_match_deg": figures.phase_match_deg,
            })
        })
        .collect();
    let load = &proposal.load;
    json!({
        "level_db": figures.level_db,
        "flatness": { "rms_db": figures.rms_db, "max_db": figures.max_db, "max_at_hz": figures.max_at_hz },
        "ways": ways,
        "crossovers": crossovers,
        "load": { "least_ohm": load.least_ohm, "at_hz": load.at_hz, "phase_deg": load.phase_deg,
            "least_epdr_ohm": load.least_epdr_ohm },
    })
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

//! A design as one JSON document.

use std::path::Path;

use serde_json::{Value, json};
use solver::compare::WishCost;
use solver::judge::Finding;
use solver::judge::centres::Centres;
use solver::search::{Outcome, Proposal};

use crate::figures;

pub(super) fn document(
    outcome: &Outcome,
    pick: usize,
    centres: &Centres,
    findings: &[Finding],
    costs: &[WishCost],
    seconds: f64,
    file: Option<&Path>,
) -> Value {
    let chosen = &outcome.proposals[pick - 1];
    let mut document = figures::json(&outcome.job, &chosen.figures, &chosen.load);
    let alternatives: Vec<Value> = (outcome.proposals.iter().enumerate())
        .map(|(i, proposal)| alternative(outcome, i, proposal))
        .collect();
    document["ideal"] = json!({
        "level_db": chosen.ideal_figures.level_db,
        "flatness": { "rms_db": chosen.ideal_figures.rms_db, "max_db": chosen.ideal_figures.max_db,
            "max_at_hz": chosen.ideal_figures.max_at_hz },
    });
    document["acoustic_centres"] = json!(centres);
    document["findings"] = json!(findings);
    document["wish_costs"] = json!(costs);
    document["shapes_tried"] = json!(outcome.effort.fits);
    document["seconds"] = json!(seconds);
    document["interrupted"] = json!(outcome.interrupted);
    document["alternatives"] = json!(alternatives);
    document["design_file"] = json!(file.map(|path| path.display().to_string()));
    document
}

fn alternative(outcome: &Outcome, i: usize, proposal: &Proposal) -> Value {
    let mut alternative = figures::json(&outcome.job, &proposal.figures, &proposal.load);
    let phases = proposal.figures.crossovers.iter();
    let merit = match i {
        _ if i == outcome.chosen => "balanced",
        0 => "fewest_parts",
        _ if i + 1 == outcome.proposals.len() => "best_fit",
        _ => "trade_off",
    };
    alternative["pick"] = json!(i + 1);
    alternative["merit"] = json!(merit);
    alternative["chosen"] = json!(i == outcome.chosen);
    alternative["parts"] = json!(proposal.part_count());
    alternative["price"] = json!(proposal.price);
    alternative["phase_match_deg"] = json!(phases.map(|c| c.phase_match_deg).collect::<Vec<f64>>());
    alternative["bought_db"] = json!(proposal.bought_db);
    alternative
}

//! The check as one JSON document.

use netlist::quantity::Quantity;
use serde_json::{Map, Value, json};

use super::Checked;

pub(super) fn document(checked: &Checked<'_>) -> Value {
    let check = checked.check;
    let mut document = figures(checked);
    document["title"] = json!(checked.project.title);
    document["load"] = json!(check.load);
    document["amplifiers"] = json!(checked.others);
    document["stress"] = json!(check.stress);
    document["hot_coil"] = json!(check.hot_coil);
    document["wiring"] = json!(check.wire);
    document["tolerance"] = match &check.tolerance {
        Ok(tolerance) => json!(tolerance),
        Err(why) => json!({ "not_known": why.to_string() }),
    };
    document["directions"] = json!(check.directions);
    document["faults"] = json!(check.faults);
    document["acoustic_centres"] = match &check.assessment {
        Ok(done) => json!(done.centres),
        Err(_) => Value::Null,
    };
    document["sum_depth"] = json!(checked.sum_depth);
    document["findings"] = json!(check.findings);
    document
}

/// The figures of merit; null where the design cannot be held against what was asked for.
fn figures(checked: &Checked<'_>) -> Value {
    let done = match &checked.check.assessment {
        Ok(done) => done,
        Err(why) => {
            return json!({
                "level_db": null, "flatness": null, "ways": {}, "crossovers": [],
                "not_assessed": why.to_string(),
            });
        }
    };
    let figures = &done.figures;
    let ways: Map<String, Value> = (done.job.ways.iter().zip(&figures.match_db))
        .map(|(way, match_db)| {
            let way_figures = json!({ "match_db": match_db, "bare_level_db": way.level_db });
            (way.name.clone(), way_figures)
        })
        .collect();
    let crossovers: Vec<Value> = (done.job.crossovers.iter())
        .zip(&figures.crossovers)
        .zip(&done.alignments)
        .map(|((crossover, figures), slopes)| {
            json!({
                "frequency_hz": crossover.frequency.si(),
                "phase_match_deg": figures.phase_match_deg,
                "alignment": { "lower": slopes.lower.to_string(), "upper": slopes.upper.to_string() },
            })
        })
        .collect();
    json!({
        "level_db": figures.level_db,
        "flatness": { "rms_db": figures.rms_db, "max_db": figures.max_db, "max_at_hz": figures.max_at_hz },
        "ways": ways,
        "crossovers": crossovers,
    })
}

//! Snapping as one JSON document.

use serde_json::{Value, json};
use solver::search::{Known, SnapGoal, SnapMerit, SoundChange};

use super::compared::Comparison;
use super::screen::{catalogue_names, known, taken};
use super::{Judged, Shown};
use crate::figures;

pub(super) fn document(shown: &Shown<'_>) -> Value {
    let job = &shown.assessment.job;
    let of = |judged: &Judged| {
        let mut value = figures::json(job, &judged.figures, &judged.load);
        if let Some(pieces) = judged.pieces {
            value["pieces"] = json!(pieces);
        }
        value["price"] = json!(judged.price);
        if let Some(change) = &judged.change {
            value["change"] = changed(shown, change);
        }
        value
    };
    let mut document = of(&shown.offers[shown.pick - 1].1);
    document["in_file"] = of(&shown.before);
    document["nearest"] = of(&shown.nearest);
    document["any_values"] = shown.free.as_ref().map(of).into();
    document["parts"] = parts(shown);
    document["window"] = json!(shown.window);
    let (scope, proven) = match shown.snapped.known {
        Known::Proven => ("everything", true),
        Known::WayByWay => ("each_way", true),
        Known::OneOrTwoParts => ("one_or_two_parts", false),
        Known::Stopped => ("stopped", false),
        Known::Unchanged => ("everything", true),
    };
    document["proven"] = json!(proven);
    document["scope"] = json!(scope);
    document["known"] = json!(known(shown.snapped.known, shown.window));
    document["goal"] = json!(match shown.goal {
        SnapGoal::LeastChange => "least_change",
        SnapGoal::Aim => "aim",
    });
    document["removed_share"] = json!(shown.snapped.removed_share());
    let chosen = &shown.offers[shown.pick - 1].1;
    let changes = shown.goal == SnapGoal::LeastChange;
    let job = &shown.assessment.job;
    document["than_nearest"] = Comparison::new(job, &shown.nearest, chosen, changes).json();
    document["than_in_file"] = Comparison::new(job, &shown.before, chosen, false).json();
    document["findings"] = json!(shown.findings);
    document["cost"] = json!({
        "in_file": shown.snapped.ideal_cost,
        "nearest": finite(shown.snapped.nearest.cost),
        "best": finite(shown.snapped.best.cost),
        "best_as_printed": finite(shown.snapped.best.nominal),
    });
    document["choices_looked_at"] = json!(shown.snapped.looked_at);
    document["seconds"] = json!(shown.seconds);
    document["alternatives"] = (shown.offers.iter().enumerate())
        .map(|(i, (merit, judged))| {
            let mut value = of(judged);
            value["pick"] = json!(i + 1);
            value["merit"] = json!(match merit {
                None => "best",
                Some(SnapMerit::Cheapest) => "cheapest",
                Some(SnapMerit::SinglesOnly) => "singles_only",
                Some(SnapMerit::RunnerUp) => "runner_up",
            });
            value
        })
        .collect();
    let file = shown.target.as_ref().map(|path| path.display().to_string());
    document["design_file"] = json!(file);
    document
}

fn changed(shown: &Shown<'_>, change: &SoundChange) -> Value {
    let ways = (shown.assessment.job.ways.iter().zip(&change.ways_db))
        .map(|(way, rms_db)| (way.name.clone(), json!({ "rms_db": rms_db })));
    let ways: serde_json::Map<String, Value> = ways.collect();
    let crossovers = change.phase_deg.iter();
    json!({
        "rms_db": change.rms_db,
        "max_db": change.max_db,
        "max_at_hz": change.max_at_hz,
        "ways": ways,
        "crossovers": crossovers.map(|deg| json!({ "phase_deg": deg })).collect::<Vec<_>>(),
    })
}

fn finite(cost: f64) -> Value {
    if cost.is_finite() {
        json!(cost)
    } else {
        Value::Null
    }
}

fn parts(shown: &Shown<'_>) -> Value {
    let one = |(number, part): (usize, &solver::search::PartChoices)| {
        let (name, _) = shown.network.parts().get_index(part.part)?;
        let choice = taken(shown, number);
        let nearest = &part.choices[shown.snapped.nearest.chosen[number]];
        Some(json!({
            "name": name,
            "kind": part.kind.word(),
            "in_file_si": part.ideal_si,
            "nearest_si": nearest.value_si,
            "chosen_si": choice.value_si,
            "difference": choice.value_si / part.ideal_si - 1.0,
            "loss_ohm": choice.loss_ohm,
            "made_of_si": choice.made_of.as_ref().map(|made_of| &made_of.values),
            "catalogue": catalogue_names(shown, choice),
            "price": choice.price,
        }))
    };
    (shown.snapped.parts.iter().enumerate())
        .filter_map(one)
        .collect()
}

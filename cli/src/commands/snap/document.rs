//! Snapping as one JSON document.

use serde::Serialize;
use solver::judge::Finding;
use solver::search::{Known, SnapGoal, SnapMerit, SoundChange};
use solver::stock::{Choice, PartChoices};

use super::compared::{ChoiceComparison, FigureChange};
use super::screen::{catalogue_names, known, taken};
use super::{JudgedNetwork, Shown};
use crate::document::{ByName, FiguresOfMerit, file_name};

/// All of it: what the choice does, then what it is held against.
#[derive(Serialize)]
pub(super) struct SnapDocument<'a> {
    #[serde(flatten)]
    chosen: JudgedFigures,
    in_file: JudgedFigures,
    nearest: JudgedFigures,
    any_values: Option<JudgedFigures>,
    parts: Vec<SnappedPart<'a>>,
    window: u32,
    proven: bool,
    scope: &'static str,
    known: String,
    goal: &'static str,
    removed_share: Option<f64>,
    than_nearest: BetterAndWorse,
    than_in_file: BetterAndWorse,
    findings: &'a [Finding],
    cost: Costs,
    choices_looked_at: u64,
    seconds: f64,
    alternatives: Vec<Offer>,
    design_file: Option<String>,
}

/// A network with what it does.
#[derive(Serialize)]
struct JudgedFigures {
    #[serde(flatten)]
    figures: FiguresOfMerit,
    #[serde(skip_serializing_if = "Option::is_none")]
    pieces: Option<u32>,
    price: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    change: Option<ChangeOfSound>,
}

/// What it changes of the sound of the network in the file.
#[derive(Serialize)]
struct ChangeOfSound {
    rms_db: f64,
    max_db: f64,
    max_at_hz: f64,
    ways: ByName<ChangeOfWay>,
    crossovers: Vec<ChangeOfPhase>,
}

#[derive(Serialize)]
struct ChangeOfWay {
    rms_db: f64,
}

#[derive(Serialize)]
struct ChangeOfPhase {
    phase_deg: f64,
}

/// A part that was moved onto the stock.
#[derive(Serialize)]
struct SnappedPart<'a> {
    name: &'a str,
    kind: &'static str,
    in_file_si: f64,
    nearest_si: f64,
    chosen_si: f64,
    difference: f64,
    loss_ohm: f64,
    made_of_si: Option<&'a [f64]>,
    catalogue: String,
    price: Option<f64>,
}

/// Figures that differ from those of another choice.
#[derive(Serialize)]
struct BetterAndWorse {
    better: Vec<FigureChange>,
    worse: Vec<FigureChange>,
}

/// What the choices were ranked by; infinite, so null, where the stock does not hold enough.
#[derive(Serialize)]
struct Costs {
    in_file: f64,
    nearest: f64,
    best: f64,
    best_as_printed: f64,
}

/// A choice that may be picked.
#[derive(Serialize)]
struct Offer {
    #[serde(flatten)]
    judged: JudgedFigures,
    pick: usize,
    merit: &'static str,
}

impl<'a> SnapDocument<'a> {
    pub(super) fn new(shown: &'a Shown<'_>) -> Self {
        let of = |judged: &JudgedNetwork| JudgedFigures::new(shown, judged);
        let snapped = shown.snapped;
        let (scope, proven) = match snapped.known {
            Known::Proven | Known::Unchanged => ("everything", true),
            Known::WayByWay => ("each_way", true),
            Known::OneOrTwoParts => ("one_or_two_parts", false),
            Known::Stopped => ("stopped", false),
        };
        let chosen = &shown.offers[shown.pick - 1].1;
        let against = |other: &JudgedNetwork, changes: bool| {
            let job = &shown.assessment.job;
            ChoiceComparison::new(job, other, chosen, changes).into()
        };
        let offers = shown.offers.iter().enumerate();
        Self {
            chosen: of(chosen),
            in_file: of(&shown.before),
            nearest: of(&shown.nearest),
            any_values: shown.free.as_ref().map(of),
            parts: parts(shown),
            window: shown.window,
            proven,
            scope,
            known: known(snapped.known, shown.window),
            goal: match shown.goal {
                SnapGoal::LeastChange => "least_change",
                SnapGoal::Aim => "aim",
            },
            removed_share: snapped.removed_share(),
            than_nearest: against(&shown.nearest, shown.goal == SnapGoal::LeastChange),
            than_in_file: against(&shown.before, false),
            findings: &shown.findings,
            cost: Costs {
                in_file: snapped.ideal_cost,
                nearest: snapped.nearest.cost,
                best: snapped.best.cost,
                best_as_printed: snapped.best.nominal,
            },
            choices_looked_at: snapped.looked_at,
            seconds: shown.seconds,
            alternatives: offers
                .map(|(i, (merit, judged))| Offer {
                    judged: of(judged),
                    pick: i + 1,
                    merit: merit_code(*merit),
                })
                .collect(),
            design_file: file_name(shown.target.as_deref()),
        }
    }
}

fn merit_code(merit: Option<SnapMerit>) -> &'static str {
    match merit {
        None => "best",
        Some(SnapMerit::Cheapest) => "cheapest",
        Some(SnapMerit::SinglesOnly) => "singles_only",
        Some(SnapMerit::RunnerUp) => "runner_up",
    }
}

impl JudgedFigures {
    fn new(shown: &Shown<'_>, judged: &JudgedNetwork) -> Self {
        let job = &shown.assessment.job;
        Self {
            figures: FiguresOfMerit::new(job, &judged.figures, &judged.load),
            pieces: judged.pieces,
            price: judged.price,
            change: (judged.change.as_ref()).map(|change| ChangeOfSound::new(shown, change)),
        }
    }
}

impl ChangeOfSound {
    fn new(shown: &Shown<'_>, change: &SoundChange) -> Self {
        let ways = shown.assessment.job.ways.iter().zip(&change.ways_db);
        let phases = change.phase_deg.iter();
        Self {
            rms_db: change.rms_db,
            max_db: change.max_db,
            max_at_hz: change.max_at_hz,
            ways: ways
                .map(|(way, &rms_db)| (way.name.clone(), ChangeOfWay { rms_db }))
                .collect(),
            crossovers: phases
                .map(|&phase_deg| ChangeOfPhase { phase_deg })
                .collect(),
        }
    }
}

impl From<ChoiceComparison> for BetterAndWorse {
    fn from(comparison: ChoiceComparison) -> Self {
        Self {
            better: comparison.better,
            worse: comparison.worse,
        }
    }
}

fn parts<'a>(shown: &'a Shown<'_>) -> Vec<SnappedPart<'a>> {
    let one = |(number, part): (usize, &'a PartChoices)| {
        let (name, _) = shown.network.parts().get_index(part.part)?;
        let choice: &Choice = taken(shown, number);
        let made_of = choice.made_of.as_ref();
        Some(SnappedPart {
            name,
            kind: part.kind.word(),
            in_file_si: part.ideal_si,
            nearest_si: part.choices[shown.snapped.nearest.chosen[number]].value_si,
            chosen_si: choice.value_si,
            difference: choice.value_si / part.ideal_si - 1.0,
            loss_ohm: choice.loss_ohm,
            made_of_si: made_of.map(|made_of| made_of.values.as_slice()),
            catalogue: catalogue_names(shown, choice),
            price: choice.price,
        })
    };
    (shown.snapped.parts.iter().enumerate())
        .filter_map(one)
        .collect()
}

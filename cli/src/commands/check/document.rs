//! The check as one JSON document.

use netlist::project::AlignmentPair;
use netlist::quantity::Quantity;
use serde::Serialize;
use solver::directions::Directions;
use solver::judge::centres::Centres;
use solver::judge::check::{AmplifierLoad, Check, HotCoil, OtherAmplifier, WireCost};
use solver::judge::faults::Faults;
use solver::judge::sum_depth::SumDepth;
use solver::judge::tolerance::Tolerance;
use solver::judge::{Finding, Stress};

use super::Checked;
use crate::document::{Flatness, Named};

/// All of it.
#[derive(Serialize)]
pub(super) struct CheckDocument<'a> {
    #[serde(flatten)]
    figures: CheckedFigures,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_assessed: Option<String>,
    title: Option<&'a str>,
    load: Option<&'a AmplifierLoad>,
    amplifiers: &'a [OtherAmplifier],
    stress: &'a Stress,
    hot_coil: &'a HotCoil,
    wiring: Option<&'a WireCost>,
    tolerance: KnownTolerance<'a>,
    directions: &'a Directions,
    faults: &'a Faults,
    acoustic_centres: Option<&'a Centres>,
    sum_depth: Option<&'a SumDepth>,
    findings: &'a [Finding],
}

/// What tolerance does, or why that is not known.
#[derive(Serialize)]
#[serde(untagged)]
enum KnownTolerance<'a> {
    Known(&'a Tolerance),
    NotKnown { not_known: String },
}

/// Figures of merit; null or empty where the design cannot be held against what was asked for.
#[derive(Serialize)]
pub(in crate::commands) struct CheckedFigures {
    level_db: Option<f64>,
    flatness: Option<Flatness>,
    ways: Named<CheckedWay>,
    crossovers: Vec<CheckedCrossover>,
}

#[derive(Serialize)]
struct CheckedWay {
    match_db: f64,
    bare_level_db: f64,
}

#[derive(Serialize)]
struct CheckedCrossover {
    frequency_hz: f64,
    phase_match_deg: f64,
    alignment: AlignmentNames,
}

#[derive(Serialize)]
struct AlignmentNames {
    lower: String,
    upper: String,
}

impl<'a> CheckDocument<'a> {
    pub(super) fn new(checked: &Checked<'a>) -> Self {
        let check = checked.check;
        let done = check.assessment.as_ref();
        Self {
            figures: CheckedFigures::new(check),
            not_assessed: done.err().map(ToString::to_string),
            title: checked.project.title.as_deref(),
            load: check.load.as_ref(),
            amplifiers: checked.others,
            stress: &check.stress,
            hot_coil: &check.hot_coil,
            wiring: check.wire.as_ref(),
            tolerance: match &check.tolerance {
                Ok(tolerance) => KnownTolerance::Known(tolerance),
                Err(why) => KnownTolerance::NotKnown {
                    not_known: why.to_string(),
                },
            },
            directions: &check.directions,
            faults: &check.faults,
            acoustic_centres: done.ok().map(|done| &done.centres),
            sum_depth: checked.sum_depth,
            findings: &check.findings,
        }
    }
}

impl CheckedFigures {
    pub(in crate::commands) fn new(check: &Check) -> Self {
        let Ok(done) = &check.assessment else {
            return Self {
                level_db: None,
                flatness: None,
                ways: Named::new(),
                crossovers: Vec::new(),
            };
        };
        let figures = &done.figures;
        let ways = (done.job.ways.iter().zip(&figures.match_db)).map(|(way, &match_db)| {
            let checked = CheckedWay {
                match_db,
                bare_level_db: way.level_db,
            };
            (way.name.clone(), checked)
        });
        let crossovers = done.job.crossovers.iter().zip(&figures.crossovers);
        let crossovers = crossovers.zip(&done.alignments);
        Self {
            level_db: Some(figures.level_db),
            flatness: Some(figures.into()),
            ways: ways.collect(),
            crossovers: crossovers
                .map(|((crossover, figures), &pair)| CheckedCrossover {
                    frequency_hz: crossover.frequency.si(),
                    phase_match_deg: figures.phase_match_deg,
                    alignment: pair.into(),
                })
                .collect(),
        }
    }
}

impl From<AlignmentPair> for AlignmentNames {
    fn from(pair: AlignmentPair) -> Self {
        Self {
            lower: pair.lower.to_string(),
            upper: pair.upper.to_string(),
        }
    }
}

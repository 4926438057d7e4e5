//! The check as one JSON document.

use serde::Serialize;
use solver::directions::Directions;
use solver::judge::centres::Centres;
use solver::judge::check::{AmplifierLoad, HotCoil, OtherAmplifier, WireCost};
use solver::judge::faults::Faults;
use solver::judge::sum_depth::SumDepth;
use solver::judge::tolerance::Tolerance;
use solver::judge::{Finding, Stress};

use super::Checked;
use crate::document::CheckedFigures;

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

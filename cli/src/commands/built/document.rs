//! What was found as one JSON document.

use netlist::project::Project;
use serde::Serialize;
use solver::built::{Heard, Hypothesis, Measurement, Mistake, Next, NextMeasure};
use solver::judge::Finding;

use super::Diagnosis;

/// Hypotheses that are given.
const MOST: usize = 10;

/// All of it; what belongs to an impedance is null or empty where none was measured.
#[derive(Serialize)]
pub(super) struct BuiltDocument<'a> {
    title: Option<&'a str>,
    measurement: Option<&'a Measurement>,
    as_designed: Option<f64>,
    something_else: Option<f64>,
    hypotheses: &'a [Hypothesis],
    unseen: &'a [Mistake],
    next: Vec<NextMeasurement<'a>>,
    response: Option<&'a Heard>,
    findings: Vec<Finding>,
}

/// What would tell most.
#[derive(Serialize)]
struct NextMeasurement<'a> {
    measure: String,
    kind: NextMeasure,
    driver: &'a str,
    gain: f64,
}

impl<'a> BuiltDocument<'a> {
    pub(super) fn new(project: &'a Project, found: &'a Diagnosis) -> Self {
        let built = found.built.as_ref();
        let hypotheses = built.map_or(&[][..], |built| &built.hypotheses);
        let next = built.map_or(&[][..], |built| &built.next);
        Self {
            title: project.title.as_deref(),
            measurement: built.map(|built| &built.measurement),
            as_designed: built.map(|built| built.as_designed),
            something_else: built.map(|built| built.something_else),
            hypotheses: &hypotheses[..hypotheses.len().min(MOST)],
            unseen: built.map_or(&[][..], |built| &built.unseen),
            next: next.iter().map(NextMeasurement::from).collect(),
            response: found.heard.as_ref(),
            findings: found.findings(),
        }
    }
}

impl<'a> From<&'a Next> for NextMeasurement<'a> {
    fn from(next: &'a Next) -> Self {
        Self {
            measure: next.words(),
            kind: next.measure,
            driver: &next.driver,
            gain: next.gain,
        }
    }
}

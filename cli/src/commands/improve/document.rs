//! What was improved as one JSON document.

use std::path::Path;

use netlist::network::{Network, Part, PartKind};
use serde::Serialize;
use solver::search::{ChangeKind, Improved, Job};

use crate::document::{FiguresOfMerit, file_name};

/// All of it.
#[derive(Serialize)]
pub(super) struct ImproveDocument<'a> {
    before: FiguresOfMerit,
    after: FiguresOfMerit,
    changes: Vec<ChangedPart<'a>>,
    parts: usize,
    design_file: Option<String>,
}

/// What became of a part in one step.
#[derive(Serialize)]
struct ChangedPart<'a> {
    part: &'a str,
    what: &'static str,
    from: Option<PartState>,
    to: Option<PartState>,
    /// That of a step is of all its parts together, and stands at the first.
    gain: Option<f64>,
}

/// A driver by its wires, any other part by its value in SI.
#[derive(Serialize)]
#[serde(untagged)]
enum PartState {
    Driver { inverted: bool },
    Value(Option<f64>),
}

impl<'a> ImproveDocument<'a> {
    pub(super) fn new(
        job: &Job,
        network: &Network,
        improved: &'a Improved,
        file: Option<&Path>,
    ) -> Self {
        let (figures, load) = &improved.before;
        let before = FiguresOfMerit::new(job, figures, load);
        let after = improved.changes.last().map_or_else(
            || before.clone(),
            |last| FiguresOfMerit::new(job, &last.figures, &last.load),
        );
        let mut from = network;
        let mut changes = Vec::new();
        for change in &improved.changes {
            for (i, part) in change.parts.iter().enumerate() {
                changes.push(ChangedPart {
                    part,
                    what: what(change.kind),
                    from: from.parts().get(part).map(PartState::from),
                    to: change.network.parts().get(part).map(PartState::from),
                    gain: (i == 0).then_some(change.gain),
                });
            }
            from = &change.network;
        }
        Self {
            before,
            after,
            changes,
            parts: from.part_count(),
            design_file: file_name(file),
        }
    }
}

fn what(kind: ChangeKind) -> &'static str {
    match kind {
        ChangeKind::Polarity => "polarity",
        ChangeKind::Values => "value",
        ChangeKind::Removed => "removed",
        ChangeKind::Grown => "grown",
        ChangeKind::Stock => "stock",
    }
}

impl From<&Part> for PartState {
    fn from(part: &Part) -> Self {
        match part.kind {
            PartKind::Driver { inverted, .. } => PartState::Driver { inverted },
            _ => PartState::Value(part.value_si()),
        }
    }
}

//! A design as one JSON document.

use std::path::Path;

use serde::Serialize;
use solver::compare::WishCost;
use solver::goal::Figures;
use solver::judge::Finding;
use solver::judge::centres::Centres;
use solver::search::{Outcome, Proposal};

use super::Designed;
use crate::document::{FiguresOfMerit, Flatness, file_name};

/// All of it: figures of the network that is taken, then the trade-off.
#[derive(Serialize)]
pub(super) struct DesignDocument<'a> {
    #[serde(flatten)]
    figures: FiguresOfMerit,
    ideal: IdealFigures,
    acoustic_centres: &'a Centres,
    findings: &'a [Finding],
    wish_costs: &'a [WishCost],
    shapes_tried: usize,
    seconds: f64,
    interrupted: bool,
    alternatives: Vec<Alternative>,
    design_file: Option<String>,
}

/// Figures with ideal values.
#[derive(Serialize)]
struct IdealFigures {
    level_db: f64,
    flatness: Flatness,
}

/// A network that was proposed.
#[derive(Serialize)]
struct Alternative {
    #[serde(flatten)]
    figures: FiguresOfMerit,
    pick: usize,
    merit: Merit,
    chosen: bool,
    parts: usize,
    price: Option<f64>,
    phase_match_deg: Vec<f64>,
    bought_db: Option<f64>,
}

/// What speaks for a network.
#[derive(Serialize)]
#[serde(rename_all = "snake_case")]
enum Merit {
    Balanced,
    FewestParts,
    BestFit,
    TradeOff,
}

impl<'a> DesignDocument<'a> {
    pub(super) fn new(designed: &Designed<'a>, file: Option<&Path>) -> Self {
        let outcome = designed.outcome;
        let taken = designed.taken();
        let proposals = outcome.proposals.iter().enumerate();
        Self {
            figures: FiguresOfMerit::new(&outcome.job, &taken.figures, &taken.load),
            ideal: (&taken.ideal_figures).into(),
            acoustic_centres: designed.centres,
            findings: designed.findings,
            wish_costs: designed.costs,
            shapes_tried: outcome.effort.fits,
            seconds: designed.seconds,
            interrupted: outcome.interrupted,
            alternatives: proposals
                .map(|(i, proposal)| Alternative::new(outcome, i, proposal))
                .collect(),
            design_file: file_name(file),
        }
    }
}

impl From<&Figures> for IdealFigures {
    fn from(figures: &Figures) -> Self {
        Self {
            level_db: figures.level_db,
            flatness: figures.into(),
        }
    }
}

impl Alternative {
    fn new(outcome: &Outcome, i: usize, proposal: &Proposal) -> Self {
        let phases = proposal.figures.crossovers.iter();
        Self {
            figures: FiguresOfMerit::new(&outcome.job, &proposal.figures, &proposal.load),
            pick: i + 1,
            merit: match i {
                _ if i == outcome.chosen => Merit::Balanced,
                0 => Merit::FewestParts,
                _ if i + 1 == outcome.proposals.len() => Merit::BestFit,
                _ => Merit::TradeOff,
            },
            chosen: i == outcome.chosen,
            parts: proposal.part_count(),
            price: proposal.price,
            phase_match_deg: phases.map(|found| found.phase_match_deg).collect(),
            bought_db: proposal.bought_db,
        }
    }
}

//! What is better and what is worse with one choice than with another, in the builder's figures.

use netlist::quantity::Quantity;
use serde::Serialize;
use solver::search::Job;

use super::JudgedNetwork;

/// What a figure is counted in, as it is called in documents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
enum FigureUnit {
    #[serde(rename = "dB")]
    Decibels,
    #[serde(rename = "°")]
    Degrees,
    #[serde(rename = "ohm")]
    Ohms,
    #[serde(rename = "")]
    Pieces,
    #[serde(rename = "price")]
    Money,
}

impl FigureUnit {
    /// A smaller difference is none.
    fn small(self) -> f64 {
        match self {
            FigureUnit::Decibels => 0.01,
            FigureUnit::Degrees | FigureUnit::Pieces => 0.5,
            FigureUnit::Ohms => 0.02,
            FigureUnit::Money => 0.005,
        }
    }

    /// Decimals that are shown, and what follows the number.
    fn shown(self) -> (usize, &'static str) {
        match self {
            FigureUnit::Decibels => (2, " dB"),
            FigureUnit::Degrees => (0, "°"),
            FigureUnit::Ohms => (2, " ohm"),
            FigureUnit::Pieces => (0, ""),
            FigureUnit::Money => (2, ""),
        }
    }
}

/// A figure of two choices.
#[derive(Debug, Serialize)]
pub(super) struct FigureChange {
    figure: String,
    unit: FigureUnit,
    was: f64,
    is: f64,
}

impl FigureChange {
    fn differs(&self) -> bool {
        (self.is - self.was).abs() >= self.unit.small()
    }

    /// Of a load more is better, of all else less.
    fn is_better(&self) -> bool {
        (self.is < self.was) == (self.unit != FigureUnit::Ohms)
    }

    fn words(&self) -> String {
        let (digits, unit) = self.unit.shown();
        let Self {
            figure, was, is, ..
        } = self;
        format!("{figure} {was:.digits$} → {is:.digits$}{unit}")
    }
}

/// Figures that differ, those that are better first.
pub(super) struct ChoiceComparison {
    pub(super) better: Vec<FigureChange>,
    pub(super) worse: Vec<FigureChange>,
}

impl ChoiceComparison {
    /// From one choice to another; changes against the file only where they are what counts.
    pub(super) fn new(job: &Job, was: &JudgedNetwork, is: &JudgedNetwork, changes: bool) -> Self {
        let mut all = Vec::new();
        let mut add = |figure: String, unit: FigureUnit, was: f64, is: f64| {
            all.push(FigureChange {
                figure,
                unit,
                was,
                is,
            });
        };
        let at = |c: usize| crate::words::hz(job.crossovers[c].frequency.si());
        if let (true, Some(a), Some(b)) = (changes, &was.change, &is.change) {
            add(
                "change of the sum, rms".to_owned(),
                FigureUnit::Decibels,
                a.rms_db,
                b.rms_db,
            );
            add("most".to_owned(), FigureUnit::Decibels, a.max_db, b.max_db);
            for (way, (a, b)) in job.ways.iter().zip(a.ways_db.iter().zip(&b.ways_db)) {
                add(format!("of {}", way.name), FigureUnit::Decibels, *a, *b);
            }
            for (c, (a, b)) in a.phase_deg.iter().zip(&b.phase_deg).enumerate() {
                add(
                    format!("of the phase at {}", at(c)),
                    FigureUnit::Degrees,
                    *a,
                    *b,
                );
            }
        }
        let (a, b) = (&was.figures, &is.figures);
        add(
            "against the aim: flat, rms".to_owned(),
            FigureUnit::Decibels,
            a.rms_db,
            b.rms_db,
        );
        add(
            "most off the aim".to_owned(),
            FigureUnit::Decibels,
            a.max_db,
            b.max_db,
        );
        for (way, (a, b)) in job.ways.iter().zip(a.match_db.iter().zip(&b.match_db)) {
            add(
                format!("{} off its target", way.name),
                FigureUnit::Decibels,
                *a,
                *b,
            );
        }
        for (c, (a, b)) in a.crossovers.iter().zip(&b.crossovers).enumerate() {
            let name = format!("phase at {}", at(c));
            add(
                name,
                FigureUnit::Degrees,
                a.phase_match_deg,
                b.phase_match_deg,
            );
        }
        add(
            "least load".to_owned(),
            FigureUnit::Ohms,
            was.load.least_ohm,
            is.load.least_ohm,
        );
        if let (Some(a), Some(b)) = (was.pieces, is.pieces) {
            add(
                "parts to buy".to_owned(),
                FigureUnit::Pieces,
                f64::from(a),
                f64::from(b),
            );
        }
        if let (Some(a), Some(b)) = (was.price, is.price) {
            add("price".to_owned(), FigureUnit::Money, a, b);
        }
        let differ = all.into_iter().filter(FigureChange::differs);
        let (better, worse) = differ.partition(FigureChange::is_better);
        Self { better, worse }
    }

    /// Two sentences: what is better than with the other, and what is worse.
    pub(super) fn sentences(&self, than: &str) -> [String; 2] {
        let list = |list: &[FigureChange]| match list {
            [] => "nothing".to_owned(),
            _ => list
                .iter()
                .map(FigureChange::words)
                .collect::<Vec<_>>()
                .join(", "),
        };
        [
            format!("better than {than}: {}", list(&self.better)),
            format!("worse than {than}: {}", list(&self.worse)),
        ]
    }
}

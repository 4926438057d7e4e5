//! What is better and what is worse with one choice than with another, in the builder's figures.

use netlist::quantity::{Hertz, Quantity};
use serde_json::{Value, json};
use solver::search::Job;

use super::Judged;

/// A figure of two choices.
pub(super) struct Compared {
    name: String,
    unit: &'static str,
    digits: usize,
    was: f64,
    is: f64,
    /// Whether less is better.
    less: bool,
}

/// Differences below these are none: dB, degrees, ohm, and sums of money.
const SMALL_DB: f64 = 0.01;
const SMALL_DEG: f64 = 0.5;
const SMALL_OHM: f64 = 0.02;
const SMALL_PRICE: f64 = 0.005;

impl Compared {
    fn new(name: String, unit: &'static str, was: f64, is: f64) -> Self {
        let digits = match unit {
            "°" => 0,
            "" => 0,
            _ => 2,
        };
        Self {
            name,
            unit,
            digits,
            was,
            is,
            less: unit != "ohm",
        }
    }

    fn differs(&self) -> bool {
        let small = match self.unit {
            "dB" => SMALL_DB,
            "°" => SMALL_DEG,
            "ohm" => SMALL_OHM,
            "" => 0.5,
            _ => SMALL_PRICE,
        };
        (self.is - self.was).abs() >= small
    }

    fn is_better(&self) -> bool {
        (self.is < self.was) == self.less
    }

    fn words(&self) -> String {
        let (digits, unit) = (self.digits, self.unit);
        let gap = if unit == "dB" || unit == "ohm" {
            " "
        } else {
            ""
        };
        let unit = if unit == "price" { "" } else { unit };
        format!(
            "{} {:.digits$} → {:.digits$}{gap}{unit}",
            self.name, self.was, self.is
        )
    }

    fn json(&self) -> Value {
        json!({ "figure": self.name, "unit": self.unit, "was": self.was, "is": self.is })
    }
}

/// Figures that differ, those that are better first.
pub(super) struct Comparison {
    better: Vec<Compared>,
    worse: Vec<Compared>,
}

impl Comparison {
    /// From one choice to another; changes against the file only where they are what counts.
    pub(super) fn new(job: &Job, was: &Judged, is: &Judged, changes: bool) -> Self {
        let mut all = Vec::new();
        let mut add = |name: String, unit: &'static str, was: f64, is: f64| {
            all.push(Compared::new(name, unit, was, is));
        };
        let at = |c: usize| format!("{:.3}", Hertz(job.crossovers[c].frequency.si()));
        if let (true, Some(a), Some(b)) = (changes, &was.change, &is.change) {
            add(
                "change of the sum, rms".to_owned(),
                "dB",
                a.rms_db,
                b.rms_db,
            );
            add("most".to_owned(), "dB", a.max_db, b.max_db);
            for (way, (a, b)) in job.ways.iter().zip(a.ways_db.iter().zip(&b.ways_db)) {
                add(format!("of {}", way.name), "dB", *a, *b);
            }
            for (c, (a, b)) in a.phase_deg.iter().zip(&b.phase_deg).enumerate() {
                add(format!("of the phase at {}", at(c)), "°", *a, *b);
            }
        }
        let (a, b) = (&was.figures, &is.figures);
        add(
            "against the aim: flat, rms".to_owned(),
            "dB",
            a.rms_db,
            b.rms_db,
        );
        add("most off the aim".to_owned(), "dB", a.max_db, b.max_db);
        for (way, (a, b)) in job.ways.iter().zip(a.match_db.iter().zip(&b.match_db)) {
            add(format!("{} off its target", way.name), "dB", *a, *b);
        }
        for (c, (a, b)) in a.crossovers.iter().zip(&b.crossovers).enumerate() {
            let name = format!("phase at {}", at(c));
            add(name, "°", a.phase_match_deg, b.phase_match_deg);
        }
        add(
            "least load".to_owned(),
            "ohm",
            was.load.least_ohm,
            is.load.least_ohm,
        );
        if let (Some(a), Some(b)) = (was.pieces, is.pieces) {
            add("parts to buy".to_owned(), "", f64::from(a), f64::from(b));
        }
        if let (Some(a), Some(b)) = (was.price, is.price) {
            add("price".to_owned(), "price", a, b);
        }
        let differ = all.into_iter().filter(Compared::differs);
        let (better, worse) = differ.partition(Compared::is_better);
        Self { better, worse }
    }

    /// Two sentences: what is better than with the other, and what is worse.
    pub(super) fn sentences(&self, than: &str) -> [String; 2] {
        let list = |list: &[Compared]| match list {
            [] => "nothing".to_owned(),
            _ => list
                .iter()
                .map(Compared::words)
                .collect::<Vec<_>>()
                .join(", "),
        };
        [
            format!("better than {than}: {}", list(&self.better)),
            format!("worse than {than}: {}", list(&self.worse)),
        ]
    }

    pub(super) fn json(&self) -> Value {
        let list = |list: &[Compared]| list.iter().map(Compared::json).collect::<Vec<_>>();
        json!({ "better": list(&self.better), "worse": list(&self.worse) })
    }
}

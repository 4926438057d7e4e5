//! A value that can be had for a part, bought as one piece or as several.

use netlist::network::{Joined, MadeOf};
use netlist::project::StockKind;

use super::line::{USUAL, whole_rating};
use super::single::SingleValue;
use super::stated;

/// What a part more must gain to be worth it at least, in the unit of the goal.
pub const JOINED_PART: f64 = 0.03;

/// A value that can be had, and what it is bought as.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Value in SI.
    pub value_si: f64,
    /// Coil resistance or equivalent series resistance, ohm.
    pub loss_ohm: f64,
    /// The parts joined, when there are several.
    pub made_of: Option<MadeOf>,
    /// Lines of the catalogue, each with how many are taken; empty for parts of a series.
    pub items: Vec<(usize, u32)>,
    /// Price of all together; `None` where one of them has none.
    pub price: Option<f64>,
    /// Tolerance of the value as one part, 0 to 1; of joined parts that are independent.
    pub tolerance: Option<f64>,
    /// Power that a resistor stands as a whole, W, where it is known.
    pub rating: Option<f64>,
    /// Steps of value from the nearest; 0 for joined parts.
    pub steps: usize,
}

impl Choice {
    /// A single part.
    pub(crate) fn single(single: &SingleValue) -> Self {
        Self {
            value_si: single.value_si,
            loss_ohm: single.loss_ohm,
            made_of: None,
            items: single.line.map(|line| (line, 1)).into_iter().collect(),
            price: single.price,
            tolerance: single.tolerance,
            rating: single.rating,
            steps: 0,
        }
    }

    /// Several parts as one; `figures` says with which of its digits the value is stated.
    pub(crate) fn joined(
        kind: StockKind,
        joined: Joined,
        parts: &[&SingleValue],
        figures: fn(f64) -> f64,
    ) -> Self {
        let made_of = MadeOf {
            joined,
            values: parts.iter().map(|part| part.value_si).collect(),
        };
        let capacitors = kind == StockKind::Capacitor;
        let value_si = figures(made_of.value_si(capacitors));
        // Of capacitors side by side the loss of each counts by the square of its share of the current.
        let loss_ohm = match (kind, joined) {
            (StockKind::Capacitor, Joined::Parallel) => {
                let share =
                    |part: &&SingleValue| (part.value_si / value_si).powi(2) * part.loss_ohm;
                parts.iter().map(share).sum()
            }
            (StockKind::Capacitor, Joined::Series) => parts.iter().map(|part| part.loss_ohm).sum(),
            _ => 0.0,
        };
        let shares = made_of.shares(capacitors);
        let tolerance: Option<f64> = (shares.iter().zip(parts))
            .map(|(share, part)| Some((share * part.tolerance?).powi(2)))
            .sum::<Option<f64>>()
            .map(f64::sqrt);
        let ratings = parts.iter().map(|part| part.rating);
        Self {
            value_si,
            loss_ohm: stated::loss(loss_ohm),
            items: lines_taken(parts),
            price: parts.iter().map(|part| part.price).sum(),
            tolerance,
            rating: whole_rating(ratings.zip(shares)),
            made_of: Some(made_of),
            steps: 0,
        }
    }

    /// Values of the parts that it is, SI.
    #[must_use]
    pub fn values(&self) -> Vec<f64> {
        match &self.made_of {
            Some(made_of) => made_of.values.clone(),
            None => vec![self.value_si],
        }
    }

    /// Number of parts that are bought.
    #[must_use]
    pub fn count(&self) -> u32 {
        (self.made_of.as_ref()).map_or(1, |made_of| made_of.values.len() as u32)
    }

    /// Tolerance, stated or usual.
    pub(crate) fn tolerance(&self) -> f64 {
        self.tolerance.unwrap_or(USUAL)
    }

    /// What the parts beyond the first cost in the goal; `blur` is what the goal rises by where the part
    /// stands at an end of its tolerance: what gains less cannot be told from a single part.
    #[must_use]
    pub fn penalty(&self, blur: f64) -> f64 {
        JOINED_PART.max(blur) * f64::from(self.count() - 1)
    }
}

/// Lines of the catalogue, each with how many are taken of it.
fn lines_taken(parts: &[&SingleValue]) -> Vec<(usize, u32)> {
    let mut taken: Vec<(usize, u32)> = Vec::new();
    for line in parts.iter().filter_map(|part| part.line) {
        match taken.iter_mut().find(|(known, _)| *known == line) {
            Some((_, count)) => *count += 1,
            None => taken.push((line, 1)),
        }
    }
    taken
}

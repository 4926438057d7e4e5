//! A network that is proposed, with its figures, and what a search is asked for.

use super::grow::Fitted;
use super::worth::{CHOICE_WORTH, error_of_choice};
use crate::goal::{Figures, LoadFigures};

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignSettings {
    /// Seed of the random starts.
    pub seed: u64,
    /// Starts of every ladder; the first has the closed-form values.
    pub starts: usize,
    /// Most parts of the network that is chosen.
    pub most_parts: Option<usize>,
    /// Most that all its parts may cost.
    pub budget: Option<f64>,
    /// A quick look in place of a thorough search.
    pub quick: bool,
}

impl Default for DesignSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            starts: 2,
            most_parts: None,
            budget: None,
            quick: false,
        }
    }
}

/// A network with its figures before and after it was moved onto the stock.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// With ideal values.
    pub ideal: Fitted,
    /// Figures of the ideal values.
    pub ideal_figures: Figures,
    /// With values of the stock.
    pub snapped: Fitted,
    /// Figures with values of the stock.
    pub figures: Figures,
    /// Load with values of the stock.
    pub load: LoadFigures,
    /// Price of all parts; `None` where one has none.
    pub price: Option<f64>,
    /// What a least load below the one asked for, which the goal hears at the search's frequencies only, and a diaphragm
    /// wide open below its resonance add to the goal.
    pub hazard: f64,
    /// How much flatter it is than the proposal before it, dB rms; `None` of the first.
    pub bought_db: Option<f64>,
}

impl Proposal {
    /// Number of parts, drivers not counted.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.snapped.part_count()
    }

    /// What it is judged by among proposals of as many parts.
    #[must_use]
    pub fn expected(&self) -> f64 {
        self.snapped.expected() + self.hazard
    }

    /// What it is chosen by where parts and price are not limited, the less the better.
    #[must_use]
    pub fn score(&self) -> f64 {
        let parts = CHOICE_WORTH * self.part_count() as f64;
        error_of_choice(self.snapped.expected()) + self.hazard + parts
    }
}

/// Why a proposal is the one that is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// A part more gains less than it is worth, a part less loses more.
    Balanced,
    /// The best with so many parts or fewer.
    Parts(usize),
    /// The best that costs no more than this.
    Budget(f64),
    /// Nothing is within the number of parts or the budget: the nearest.
    OutOfReach,
}

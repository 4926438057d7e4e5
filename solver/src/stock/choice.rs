//! A value that can be had for a part, bought as one piece or as several.

use netlist::network::MadeOf;

use super::line::USUAL;

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
    /// Steps of value from the nearest; 0 for joined parts.
    pub steps: usize,
}

impl Choice {
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

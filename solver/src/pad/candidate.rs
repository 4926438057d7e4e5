//! A pad that the stock can make, and what it was ranked by.

use super::power::PadHeat;
use super::stock::StockResistor;
use super::study::Study;

/// A pad from stock may be this far from the attenuation that is wanted, in dB.
pub const TOLERANCE_DB: f64 = 0.25;

/// A pad that the stock can make.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The series resistor, where there is one.
    pub series: Option<StockResistor>,
    /// The shunt resistor, where there is one.
    pub shunt: Option<StockResistor>,
    /// What the pad does.
    pub study: Study,
    /// Heat in it.
    pub heat: PadHeat,
    /// Largest departure of the filter's load from the wished one, over the filter's band, in dB.
    pub load_off_db: f64,
    /// By which it was ranked, in dB: the departure of the load, [`TOLERANCE_DB`] at most for the
    /// attenuation, a quarter of a dB for each resistor, and what power beyond half the rating adds.
    pub cost_db: f64,
}

impl Candidate {
    /// Resistors to buy.
    #[must_use]
    pub fn count(&self) -> usize {
        let of = |r: &Option<StockResistor>| r.as_ref().map_or(0, StockResistor::count);
        of(&self.series) + of(&self.shunt)
    }

    /// Power with programme over the rating, for the resistor nearest to its limit; 0 where the stock states
    /// no ratings. Up to a half is common practice.
    #[must_use]
    pub fn worked(&self) -> f64 {
        let pairs = [
            (&self.series, self.heat.series),
            (&self.shunt, self.heat.shunt),
        ];
        let ratios = pairs.map(|(resistor, heat)| {
            let rating = resistor.as_ref().and_then(|r| r.rating_w);
            match (rating, heat) {
                (Some(rating), Some(heat)) => heat.programme_w / rating,
                _ => 0.0,
            }
        });
        ratios[0].max(ratios[1])
    }
}

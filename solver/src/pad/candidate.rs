//! A pad that the stock can make, and what it was ranked by.

use std::cmp::Ordering;

use serde::Serialize;

use super::power::PartHeat;
use super::study::Study;
use crate::stock::Choice;

/// A pad from stock may be this far from the attenuation that is wanted, in dB.
pub const TOLERANCE_DB: f64 = 0.25;

/// Pads whose costs round to the same multiple of this are put in order by their prices, in dB.
const PRICE_DB: f64 = 0.1;
/// A difference of costs below this decides nothing, in dB.
const SAME_DB: f64 = 1e-9;

/// What speaks against a pad, in dB that are added up: the least is best.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Cost {
    /// Departure of the attenuation, [`TOLERANCE_DB`] at most.
    pub attenuation_db: f64,
    /// Largest departure of the filter's load from the asked one, over the filter's band.
    pub load_db: f64,
    /// What the load is too low by against the least that is allowed, three times over.
    pub too_low_db: f64,
    /// A quarter of a dB for each resistor.
    pub resistors_db: f64,
    /// What power beyond half the rating adds.
    pub power_db: f64,
}

impl Cost {
    /// All of it.
    #[must_use]
    pub fn total_db(&self) -> f64 {
        self.terms().iter().map(|(_, db)| db).sum()
    }

    /// Each of it, dB.
    fn terms(&self) -> [(Criterion, f64); 5] {
        [
            (Criterion::Attenuation, self.attenuation_db),
            (Criterion::Load, self.load_db),
            (Criterion::LeastLoad, self.too_low_db),
            (Criterion::Resistors, self.resistors_db),
            (Criterion::Power, self.power_db),
        ]
    }
}

/// What put one pad before another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Criterion {
    /// Its attenuation is nearer to what was asked for.
    Attenuation,
    /// It changes the filter's load less.
    Load,
    /// It keeps the load above the least that is allowed.
    LeastLoad,
    /// It takes fewer resistors.
    Resistors,
    /// Its resistors are worked less hard.
    Power,
    /// As good in all that, it costs less.
    Price,
    /// As good in all that, it gets less hot.
    Heat,
}

/// A pad that the stock can make.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The series resistor, where there is one.
    pub series: Option<Choice>,
    /// The shunt resistor, where there is one.
    pub shunt: Option<Choice>,
    /// What the pad does.
    pub study: Study,
    /// By which it was ranked.
    pub cost: Cost,
}

impl Candidate {
    /// How far beyond the tolerance the attenuation is from a wanted one: see [`beyond`].
    fn beyond(&self, wanted_db: f64) -> i64 {
        beyond((self.study.mean_db - wanted_db).abs())
    }

    /// Why this pad comes before another one: what tells most for it; `None` when nothing does.
    #[must_use]
    pub fn before(&self, other: &Self, wanted_db: f64) -> Option<Criterion> {
        if self.beyond(wanted_db) < other.beyond(wanted_db) {
            return Some(Criterion::Attenuation);
        }
        let mut gains = self.cost.terms();
        for (gain, (_, its)) in gains.iter_mut().zip(other.cost.terms()) {
            gain.1 = its - gain.1;
        }
        // Of equals the first, and attenuation, which is asked for, last.
        gains.rotate_left(1);
        type Gain = (Criterion, f64);
        let larger = |most: Gain, gain: Gain| if most.1 < gain.1 { gain } else { most };
        let most = gains.into_iter().reduce(larger)?;
        let same = cost_step(self) == cost_step(other);
        if same && by_known_price(self, other).is_lt() {
            return Some(Criterion::Price);
        }
        if most.1 > SAME_DB {
            return Some(most.0);
        }
        let cooler = self.study.heat.hottest_w() < other.study.heat.hottest_w();
        cooler.then_some(Criterion::Heat)
    }

    /// Price of its resistors; `None` when the stock states none for one of them, or when it has none.
    #[must_use]
    pub fn price(&self) -> Option<f64> {
        let mut resistors = self.series.iter().chain(&self.shunt).peekable();
        resistors.peek()?;
        resistors.map(|resistor| resistor.price).sum()
    }

    /// Resistors to buy.
    #[must_use]
    pub fn count(&self) -> u32 {
        let resistors = self.series.iter().chain(&self.shunt);
        resistors.map(Choice::count).sum()
    }

    /// Power with programme over the rating, for the resistor nearest to its limit; 0 where the stock states
    /// no ratings. Up to a half is common practice.
    #[must_use]
    pub fn worked(&self) -> f64 {
        let worked = |resistor: &Option<Choice>, heat: Option<PartHeat>| {
            let rating_w = resistor.as_ref()?.rating?;
            Some(heat?.programme_w / rating_w)
        };
        let series = worked(&self.series, self.study.heat.series).unwrap_or(0.0);
        series.max(worked(&self.shunt, self.study.heat.shunt).unwrap_or(0.0))
    }
}

/// What is beyond the tolerance, in steps that rounding alone does not make; 0 within it. The nearest comes
/// first, whatever it costs.
pub(super) fn beyond(off_db: f64) -> i64 {
    const STEP_DB: f64 = 1e-6;
    if off_db <= TOLERANCE_DB {
        return 0;
    }
    (off_db / STEP_DB).round() as i64
}

/// Cost in steps of [`PRICE_DB`].
pub(super) fn cost_step(candidate: &Candidate) -> i64 {
    (candidate.cost.total_db() / PRICE_DB).round() as i64
}

/// The cheaper one first; what has no known price comes last.
pub(super) fn by_known_price(a: &Candidate, b: &Candidate) -> Ordering {
    let price = |candidate: &Candidate| match candidate.count() {
        0 => 0.0,
        _ => candidate.price().unwrap_or(f64::INFINITY),
    };
    price(a).total_cmp(&price(b))
}

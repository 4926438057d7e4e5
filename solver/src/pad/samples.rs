//! A load at some frequencies of its bands, so that thousands of pads can be tried on it.

use std::ops::Range;

use num_complex::Complex64;

use super::drive_source::PadSource;
use super::load::PadLoad;
use super::open::{OpenPoint, PadBranches};
use super::target::{Counted, PadTarget};
use crate::synthesis::{Pad, PadOnLoad};

/// Range in which an ideal resistor is looked for, in ohm.
pub(super) const RANGE_OHM: [f64; 2] = [1e-3, 1e5];

/// Range in which an ideal tap is looked for, as a share of the turns.
const RANGE_RATIO: [f64; 2] = [1e-5, 1.0];
/// Source impedances below this are as good as none, in ohm.
const LEAST_SOURCE_OHM: f64 = 1e-3;

/// The load at one frequency.
#[derive(Debug, Clone, Copy)]
pub(super) struct SamplePoint {
    place: usize,
    open: OpenPoint,
    /// What the driver gets of the feed's voltage straight on it, dB.
    straight_db: f64,
    tail_db: f64,
    ahead_ohm: Complex64,
}

/// Some points of the two bands, so that thousands of pads can be tried.
pub(super) struct Samples<'a> {
    load: &'a PadLoad,
    target: &'a PadTarget,
    counted: Counted,
    halvings: usize,
    band: Vec<SamplePoint>,
    /// With the |Z| that is to be kept there.
    filter: Vec<(SamplePoint, f64)>,
}

impl<'a> Samples<'a> {
    pub(super) fn new(
        load: &'a PadLoad,
        feed: &PadSource,
        target: &'a PadTarget,
        counted: Counted,
        most: usize,
        halvings: usize,
    ) -> Self {
        let some = |places: Range<usize>| {
            let stride = places.len().div_ceil(most);
            // The ends always: a load is farthest off there more often than not.
            let last = places.end - 1;
            let missed = !(last - places.start).is_multiple_of(stride);
            places.step_by(stride).chain(missed.then_some(last))
        };
        let point = |i: usize| {
            let (open, ahead_ohm) = (load.open_at(i), feed.ahead_ohm.at(i));
            SamplePoint {
                place: i,
                open,
                straight_db: open.level_db(&PadBranches::WIRE, ahead_ohm),
                tail_db: load.tail_db(i),
                ahead_ohm,
            }
        };
        Self {
            load,
            target,
            counted,
            halvings,
            band: some(load.band()).map(point).collect(),
            filter: (some(load.filter_band()))
                .map(|i| (point(i), target.kept_ohm[i]))
                .collect(),
        }
    }

    /// What is to be kept, of a pad that was put on the load; ohm.
    fn kept_ohm(&self, on: &PadOnLoad) -> f64 {
        match self.load.ahead_of_filter {
            true => on.behind_ohm.norm().max(LEAST_SOURCE_OHM),
            false => on.seen_ohm.norm(),
        }
    }

    fn on(&self, pad: Pad, at: &SamplePoint) -> PadOnLoad {
        (at.open).with(&self.load.branches(pad, at.place), at.ahead_ohm)
    }

    /// Mean over the driver's band, in dB, counted as it is asked.
    pub(super) fn attenuation_db(&self, pad: Pad) -> f64 {
        let sum: f64 = (self.band.iter())
            .map(|at| {
                let branches = self.load.branches(pad, at.place);
                match self.counted {
                    Counted::Attenuation => {
                        at.tail_db - at.open.level_db(&branches, Complex64::ZERO)
                    }
                    Counted::Insertion => {
                        at.straight_db - at.open.level_db(&branches, at.ahead_ohm)
                    }
                }
            })
            .sum();
        sum / self.band.len() as f64
    }

    /// Mean departure of what is kept from the asked one, in dB with its sign.
    pub(super) fn load_db(&self, pad: Pad) -> f64 {
        let sum: f64 = (self.filter.iter())
            .map(|(at, asked)| decibels(self.kept_ohm(&self.on(pad, at)) / asked))
            .sum();
        sum / self.filter.len() as f64
    }

    /// Largest departure of what is kept from the asked one, and by how much the load is too low; in dB.
    pub(super) fn off_db(&self, pad: Pad) -> (f64, f64) {
        let mut off: f64 = 0.0;
        let mut least = f64::INFINITY;
        for (at, asked) in &self.filter {
            let on = self.on(pad, at);
            off = off.max(decibels(self.kept_ohm(&on) / asked).abs());
            least = least.min(on.seen_ohm.norm());
        }
        (off, decibels(self.target.least_ohm / least).max(0.0))
    }

    /// The value at which `pad_of` has the asked attenuation, or the end of the range that comes nearest to
    /// it; `rises` says whether the attenuation grows with the value.
    pub(super) fn nearest(&self, rises: bool, pad_of: impl Fn(f64) -> Pad) -> f64 {
        let [low, high] = RANGE_OHM;
        let too_much = self.attenuation_db(pad_of(low)) > self.target.attenuation_db;
        let end = if too_much == rises { low } else { high };
        self.value(rises, pad_of).unwrap_or(end)
    }

    /// The value at which `pad_of` has the asked attenuation; `rises` says whether that grows with it.
    pub(super) fn value(&self, rises: bool, pad_of: impl Fn(f64) -> Pad) -> Option<f64> {
        self.crossing(|ohm| {
            let off = self.attenuation_db(pad_of(ohm)) - self.target.attenuation_db;
            if rises { off } else { -off }
        })
    }

    /// Where a rising function passes through 0, by halving in the logarithm; `None` when it does not.
    pub(super) fn crossing(&self, rising: impl Fn(f64) -> f64) -> Option<f64> {
        let [mut low, mut high] = RANGE_OHM;
        if rising(low) > 0.0 || rising(high) < 0.0 {
            return None;
        }
        for _ in 0..self.halvings {
            let middle = (low * high).sqrt();
            if rising(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some((low * high).sqrt())
    }

    /// The tap with the asked attenuation beside a resistor across the winding; the ideal winding's where
    /// the loss alone takes more.
    pub(super) fn ratio_or_ideal(&self, shunt_ohm: Option<f64>) -> f64 {
        let ideal = || 10f64.powf(-self.target.attenuation_db / 20.0).min(1.0);
        self.ratio(shunt_ohm).unwrap_or_else(ideal)
    }

    /// The tap with the asked attenuation; `None` when no tap has it.
    fn ratio(&self, shunt_ohm: Option<f64>) -> Option<f64> {
        let off = |ratio: f64| {
            let tap = Pad::Autoformer { ratio, shunt_ohm };
            self.attenuation_db(tap) - self.target.attenuation_db
        };
        let [mut low, mut high] = RANGE_RATIO;
        if off(low) < 0.0 || off(high) > 0.0 {
            return None;
        }
        for _ in 0..self.halvings {
            let middle = (low * high).sqrt();
            if off(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some((low * high).sqrt())
    }

    /// The L-pad of the asked attenuation with a given shunt.
    pub(super) fn series_for(&self, shunt_ohm: f64) -> Option<f64> {
        self.value(true, |series_ohm| Pad::LPad {
            series_ohm,
            shunt_ohm,
        })
    }
}

pub(super) fn decibels(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

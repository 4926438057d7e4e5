//! A load at some frequencies of its bands, so that thousands of pads can be tried on it.

use std::ops::Range;

use num_complex::Complex64;

use super::drive_source::PadSource;
use super::load::PadLoad;
use super::open::{OpenPoint, PadBranches};
use super::target::{Counted, PadTarget};
use crate::synthesis::Pad;

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
                straight_db: open.put(&PadBranches::WIRE).level_db(ahead_ohm),
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

    /// The pad's branches at a point: the same at all frequencies but for an autoformer.
    fn branches(&self, pad: Pad) -> impl Fn(&SamplePoint) -> PadBranches + '_ {
        let fixed = pad.ratio().is_none().then(|| self.load.branches(pad, 0));
        move |at| fixed.unwrap_or_else(|| self.load.branches(pad, at.place))
    }

    /// Mean over the driver's band, in dB, counted as it is asked.
    pub(super) fn attenuation_db(&self, pad: Pad) -> f64 {
        let branches = self.branches(pad);
        let sum: f64 = (self.band.iter())
            .map(|at| {
                let put = at.open.put(&branches(at));
                match self.counted {
                    Counted::Attenuation => at.tail_db - decibels(put.transfer),
                    Counted::Insertion => at.straight_db - put.level_db(at.ahead_ohm),
                }
            })
            .sum();
        sum / self.band.len() as f64
    }

    /// Of each point of the filter's band the admittance that is seen, siemens, and how far what is kept is off the asked
    /// one, in dB with its sign.
    fn kept(&self, pad: Pad) -> impl Iterator<Item = (Complex64, f64)> + '_ {
        let branches = self.branches(pad);
        self.filter.iter().map(move |(at, asked_ohm)| {
            let seen = at.open.put(&branches(at)).input_siemens;
            let off_db = match self.load.ahead_of_filter {
                true => {
                    let on = at.open.with(&branches(at), at.ahead_ohm);
                    let source_ohm = on.behind_ohm.norm().max(LEAST_SOURCE_OHM);
                    20.0 * (source_ohm / asked_ohm).log10()
                }
                false => -decibels(seen * asked_ohm),
            };
            (seen, off_db)
        })
    }

    /// Mean departure of what is kept from the asked one, in dB with its sign.
    pub(super) fn load_db(&self, pad: Pad) -> f64 {
        let sum: f64 = self.kept(pad).map(|(_, off_db)| off_db).sum();
        sum / self.filter.len() as f64
    }

    /// Largest departure of what is kept from the asked one, and by how much the load is too low; in dB.
    pub(super) fn off_db(&self, pad: Pad) -> (f64, f64) {
        let (mut off_db, mut most_siemens): (f64, f64) = (0.0, 0.0);
        for (seen, off) in self.kept(pad) {
            off_db = off_db.max(off.abs());
            most_siemens = most_siemens.max(seen.norm_sqr());
        }
        let too_low_db = 20.0 * (self.target.least_ohm * most_siemens.sqrt()).log10();
        (off_db, too_low_db.max(0.0))
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

    /// Where a rising function of a resistance passes through 0; `None` when it does not.
    pub(super) fn crossing(&self, rising: impl Fn(f64) -> f64) -> Option<f64> {
        self.crossing_in(RANGE_OHM, rising)
    }

    /// Where a rising function passes through 0 within a range, by halving in the logarithm.
    fn crossing_in(
        &self,
        [mut low, mut high]: [f64; 2],
        rising: impl Fn(f64) -> f64,
    ) -> Option<f64> {
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
        self.crossing_in(RANGE_RATIO, |ratio| {
            let tap = Pad::Autoformer { ratio, shunt_ohm };
            self.target.attenuation_db - self.attenuation_db(tap)
        })
    }

    /// The L-pad of the asked attenuation with a given shunt.
    pub(super) fn series_for(&self, shunt_ohm: f64) -> Option<f64> {
        self.value(true, |series_ohm| Pad::l_pad(series_ohm, shunt_ohm))
    }
}

/// Level of a ratio of voltages, dB.
fn decibels(ratio: Complex64) -> f64 {
    10.0 * ratio.norm_sqr().log10()
}

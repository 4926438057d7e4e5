//! A load at some frequencies of its bands, so that thousands of pads can be tried on it.

use std::cmp::Ordering;
use std::ops::Range;

use num_complex::Complex64;

use super::drive_source::PadSource;
use super::load::PadLoad;
use super::open::PadBranches;
use super::target::{Counted, PadTarget};
use crate::synthesis::{Pad, PadKind};

/// Range in which a resistor is looked for, in ohm.
const RANGE_OHM: [f64; 2] = [1e-3, 1e5];
/// Range in which a tap is looked for, as a share of the turns.
const RANGE_RATIO: [f64; 2] = [1e-5, 1.0];
/// Source impedances below this are as good as none, in ohm.
const LEAST_SOURCE_OHM: f64 = 1e-3;

/// A load at some points of its two bands, and what is asked for there.
pub(super) struct Samples<'a> {
    load: &'a PadLoad,
    feed: &'a PadSource,
    pub(super) target: &'a PadTarget,
    /// Places of the load's grid.
    band: Vec<usize>,
    filter: Vec<usize>,
    /// What is missing in the mean over the band without a pad, less what is asked for, dB.
    missing_db: f64,
}

impl<'a> Samples<'a> {
    /// At most about so many points of each band.
    pub(super) fn new(
        load: &'a PadLoad,
        feed: &'a PadSource,
        target: &'a PadTarget,
        most: usize,
    ) -> Self {
        let some = |places: Range<usize>| -> Vec<usize> {
            let stride = places.len().div_ceil(most);
            // The ends always: a load is farthest off there more often than not.
            let last = places.end - 1;
            let missed = !(last - places.start).is_multiple_of(stride);
            (places.step_by(stride).chain(missed.then_some(last))).collect()
        };
        let mut samples = Self {
            load,
            feed,
            target,
            band: some(load.band()),
            filter: some(load.filter_band()),
            missing_db: 0.0,
        };
        let without_db = |i: usize| match target.counted {
            Counted::Attenuation => load.tail_db(i),
            Counted::Insertion => samples.level_db(i, &PadBranches::WIRE),
        };
        samples.missing_db = samples.mean_db(without_db) - target.attenuation_db;
        samples
    }

    /// Mean over the driver's band.
    fn mean_db(&self, of: impl Fn(usize) -> f64) -> f64 {
        self.band.iter().map(|&i| of(i)).sum::<f64>() / self.band.len() as f64
    }

    /// The pad's branches at a place: the same at all frequencies but for an autoformer.
    fn branches(&self, pad: Pad) -> impl Fn(usize) -> PadBranches + '_ {
        let fixed = pad.ratio().is_none().then(|| self.load.branches(pad, 0));
        move |i| fixed.unwrap_or_else(|| self.load.branches(pad, i))
    }

    /// Level behind a pad, as it is counted, dB.
    fn level_db(&self, i: usize, branches: &PadBranches) -> f64 {
        let put = self.load.open_at(i).put(branches);
        match self.target.counted {
            Counted::Attenuation => decibels(put.transfer),
            Counted::Insertion => put.level_db(self.feed.source_ohm.at(i)),
        }
    }

    /// Decibels more than asked for, in the mean over the driver's band.
    pub(super) fn too_much_db(&self, pad: Pad) -> f64 {
        let branches = self.branches(pad);
        self.missing_db - self.mean_db(|i| self.level_db(i, &branches(i)))
    }

    /// Of each point of the filter's band the admittance that is seen, siemens, and how far what is kept is off the asked
    /// one, in dB with its sign.
    fn kept(&self, pad: Pad) -> impl Iterator<Item = (Complex64, f64)> + '_ {
        let branches = self.branches(pad);
        self.filter.iter().map(move |&i| {
            let (open, branches) = (self.load.open_at(i), branches(i));
            let seen = open.put(&branches).input_siemens;
            let asked_ohm = self.target.kept_ohm[i];
            let off_db = match self.load.ahead_of_filter {
                true => {
                    let on = open.with(&branches, self.feed.source_ohm.at(i));
                    let source_ohm = on.behind_ohm.norm().max(LEAST_SOURCE_OHM);
                    20.0 * (source_ohm / asked_ohm).log10()
                }
                false => -decibels(seen * asked_ohm),
            };
            (seen, off_db)
        })
    }

    /// Mean departure of what is kept from the asked one, in dB with its sign.
    fn load_db(&self, pad: Pad) -> f64 {
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

    /// The pad of the asked kind with a series resistor or tap of `value`, beside a shunt or without.
    pub(super) fn pad(&self, value: f64, shunt_ohm: Option<f64>) -> Pad {
        Pad::of(self.target.kind, value, shunt_ohm)
    }

    /// The series resistor, ohm, or the tap with which [`Samples::pad`] takes the asked decibels; else the end of the range
    /// that comes nearest. Where the loss of a winding alone takes more, the tap of an ideal one.
    pub(super) fn value(&self, shunt_ohm: Option<f64>) -> Result<f64, f64> {
        let more_db = |value: f64| self.too_much_db(self.pad(value, shunt_ohm));
        match self.target.kind {
            PadKind::Autoformer => {
                let found = crossing(RANGE_RATIO, |ratio| -more_db(ratio));
                let ideal = |_| 10f64.powf(-self.target.attenuation_db / 20.0).min(1.0);
                found.or_else(|end| Ok(ideal(end)))
            }
            _ => crossing(RANGE_OHM, more_db),
        }
    }

    /// The shunt, ohm, that goes with a series resistor for the asked decibels, or the end of the range.
    pub(super) fn shunt(&self, value: f64) -> f64 {
        let less_db = |ohm: f64| -self.too_much_db(self.pad(value, Some(ohm)));
        crossing(RANGE_OHM, less_db).unwrap_or_else(|end| end)
    }

    /// The shunt, ohm, that keeps the load in the mean, with the value that goes with each; `None` where none does. Where a
    /// small one does too, by loading what drives the pad, it is the largest.
    pub(super) fn keeping(&self, value: impl Fn(f64) -> Option<f64>) -> Option<f64> {
        /// Shunts are looked at in steps of this factor.
        const STEP: f64 = 2.0;
        // A shunt so small that it takes too much alone shows the filter too little.
        let load_db = |shunt: f64| match value(shunt) {
            Some(value) => self.load_db(self.pad(value, Some(shunt))),
            None => f64::NEG_INFINITY,
        };
        let [least, most] = RANGE_OHM;
        let falling = std::iter::successors(Some(most), |shunt| Some(shunt / STEP));
        let mut falling = falling.take_while(|shunt| *shunt > least);
        let low = falling.find(|shunt| load_db(*shunt) < 0.0)?;
        crossing([low, low * STEP], load_db).ok()
    }
}

/// Where a rising function of a positive value passes through 0, or the end of the range that is nearer to that: Illinois'
/// variant of regula falsi (Dowell and Jarratt 1971) in the logarithm; where the function is infinite, by halving.
fn crossing(range: [f64; 2], rising: impl Fn(f64) -> f64) -> Result<f64, f64> {
    /// Far more than are needed.
    const ROUNDS: usize = 200;
    const NONE_DB: f64 = 1e-12;
    const NARROW: f64 = 1e-15;
    let [mut low, mut high] = range.map(|end| (end.ln(), rising(end)));
    if low.1 > 0.0 || high.1 < 0.0 {
        return Err(if low.1 > 0.0 { range[0] } else { range[1] });
    }
    let (mut middle, mut last) = (low.0, Ordering::Equal);
    for _ in 0..ROUNDS {
        let share = -low.1 / (high.1 - low.1);
        let share = if share.is_finite() { share } else { 0.5 };
        middle = low.0 + share * (high.0 - low.0);
        let value = rising(middle.exp());
        let side = value.partial_cmp(&0.0).unwrap_or(Ordering::Equal);
        if value.abs() < NONE_DB || high.0 - low.0 < NARROW {
            break;
        }
        // The end that stays twice counts half.
        let (moved, stays) = match side {
            Ordering::Less => (&mut low, &mut high),
            _ => (&mut high, &mut low),
        };
        *moved = (middle, value);
        if side == last {
            stays.1 *= 0.5;
        }
        last = side;
    }
    Ok(middle.exp())
}

/// Level of a ratio of voltages, dB.
fn decibels(ratio: Complex64) -> f64 {
    10.0 * ratio.norm_sqr().log10()
}

//! A pad on a load over frequency.

use std::ops::Range;

use num_complex::Complex64;

use super::drive::driver_level_db;
use super::drive_source::PadSource;
use super::extent::Extent;
use super::load::PadLoad;
use super::open::{PadBranches, PadPort};
use super::power::PadHeat;
use crate::spectrum::Spectrum;
use crate::synthesis::Pad;

/// What a pad does, over the grid of its load.
#[derive(Debug, Clone)]
pub struct PadCurves {
    /// From the pad's input to the driver, in dB.
    pub attenuation_db: Vec<f64>,
    /// Impedance at the pad's input, which the filter sees, in ohm.
    pub seen_ohm: Spectrum,
    /// Impedance at the pad's output looking back, in ohm.
    pub output_ohm: Spectrum,
    /// Impedance that the driver sees looking back, in ohm.
    pub source_ohm: Spectrum,
    /// Level of the voltage at the driver: see [`driver_level_db`].
    pub level_db: Vec<f64>,
}

/// A pad on a load in figures.
#[derive(Debug, Clone)]
pub struct Study {
    /// The pad.
    pub pad: Pad,
    /// Attenuation on the reference load, in dB; with the mean of what the tail of a larger pad takes.
    pub nominal_db: f64,
    /// What the filter sees when the driver is the reference load, in ohm.
    pub seen_reference_ohm: f64,
    /// Mean attenuation over the driver's band, in dB.
    pub mean_db: f64,
    /// What the driver gets less than straight on the feed, in the mean over its band, in dB: with what the
    /// other load does to the filter's output. On a source of 0 ohm it is the mean attenuation.
    pub insertion_db: f64,
    /// Attenuation over the driver's band, in dB.
    pub attenuation: Extent,
    /// |Z| that the filter sees, over the filter's band, in ohm.
    pub seen: Extent,
    /// |Z| that the driver sees looking back, over the driver's band, in ohm.
    pub source: Extent,
    /// Heat in it.
    pub heat: PadHeat,
    /// The curves.
    pub curves: PadCurves,
}

impl Study {
    /// Studies a pad whose values are valid.
    #[must_use]
    pub fn new(pad: Pad, load: &PadLoad, feed: &PadSource) -> Self {
        let points = load.grid.len();
        let mut curves = PadCurves {
            attenuation_db: Vec::with_capacity(points),
            seen_ohm: Spectrum::zeros(points),
            output_ohm: Spectrum::zeros(points),
            source_ohm: Spectrum::zeros(points),
            level_db: driver_level_db(Some(pad), load, feed),
        };
        let mut insertion_db = Vec::with_capacity(points);
        for i in 0..points {
            let ahead = feed.source_ohm.at(i);
            let (open, branches) = (load.open_at(i), load.branches(pad, i));
            let on = open.with(&branches, ahead);
            let straight_db = open.put(&PadBranches::WIRE).level_db(ahead);
            insertion_db.push(straight_db - open.put(&branches).level_db(ahead));
            (curves.attenuation_db).push(on.attenuation_db() + load.tail_db(i));
            curves.seen_ohm.set(i, on.seen_ohm);
            curves.output_ohm.set(i, on.behind_ohm);
            (curves.source_ohm).set(i, load.at_driver_ohm(i, on.behind_ohm));
        }
        let f_hz = load.grid.f_hz();
        // A bridge is for the horn: the nominal values are those of the resistors.
        let reference_ohm = load.reference_ohm.into();
        let band = load.band();
        let middle = load.branches(pad, band.start + band.len() / 2);
        let reference = PadPort::plain(reference_ohm).with(&middle, Complex64::ZERO);
        let of = |places: Range<usize>, values: &Spectrum| {
            Extent::of(f_hz, places, |i| values.at(i).norm())
        };
        Self {
            pad,
            nominal_db: reference.attenuation_db() + load.mean_tail_db(),
            seen_reference_ohm: reference.seen_ohm.norm(),
            mean_db: load.mean_over(load.band(), |i| curves.attenuation_db[i]),
            insertion_db: load.mean_over(load.band(), |i| insertion_db[i]),
            attenuation: Extent::of(f_hz, load.band(), |i| curves.attenuation_db[i]),
            seen: of(load.filter_band(), &curves.seen_ohm),
            source: of(load.band(), &curves.source_ohm),
            heat: PadHeat::new(pad, load, feed),
            curves,
        }
    }

    /// |Z| that another pad in this place should keep, one a frequency of the grid, in ohm: what the filter
    /// sees; where the pad stands before the filter, what the filter is driven from.
    #[must_use]
    pub fn kept_ohm(&self, load: &PadLoad) -> Vec<f64> {
        match load.ahead_of_filter {
            true => self.curves.output_ohm.magnitude(),
            false => self.curves.seen_ohm.magnitude(),
        }
    }

    /// Largest departure of the attenuation from its mean in the driver's band, in dB with its sign, and where.
    #[must_use]
    pub fn departure(&self) -> (f64, f64) {
        self.attenuation.farthest_from(self.mean_db)
    }
}

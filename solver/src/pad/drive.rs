//! What a pad does to the crossover: the voltage at the driver, before and after a change of pad.
//!
//! Both curves are taken relative to their own mean over the driver's band, so that a change of level is
//! told apart from a change of shape.

use serde::Serialize;

use super::drive_source::PadSource;
use super::extent::Extent;
use super::load::PadLoad;
use super::open::PadBranches;
use crate::sound::{FLOOR_DB, Side};
use crate::synthesis::Pad;

/// A voltage that changes less over the octave about a crossover has no flank there, dB.
const STEEP_DB: f64 = 2.0;
/// The flank is looked for within this factor of its crossover.
const FLANK_REACH: f64 = 2.0;

/// One crossover before and after.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PadCrossoverShift {
    /// The crossover, in hertz.
    pub frequency_hz: f64,
    /// Whether the driver begins or ends to play there.
    pub side: Side,
    /// Change of shape at the crossover, in dB: the change of the way's mean level is left out.
    pub change_db: f64,
    /// How far the electrical flank has moved, in hertz: from the crossover to the nearest frequency at
    /// which the level passes, rising or falling as the driver begins or ends to play, through what it was at
    /// the crossover. `None` when there is none within an octave, and where the voltage hardly changes
    /// there, as a driver's own roll-off can make the slope.
    pub shift_hz: Option<f64>,
}

/// A voltage at a driver before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriveChange {
    /// Change of the mean level over the driver's band, in dB.
    pub level_db: f64,
    /// Each crossover of the driver, lowest first.
    pub crossovers: Vec<PadCrossoverShift>,
    /// Largest rise over the mean level within the filter's band, before, in dB.
    pub peak_before_db: f64,
    /// The same, after.
    pub peak_db: f64,
    /// Where that is, in hertz.
    pub peak_at_hz: f64,
    /// Largest change of shape in the filter's band, in dB with its sign.
    pub largest_db: f64,
    /// Where, in hertz.
    pub largest_at_hz: f64,
}

/// Level of the voltage at a driver behind a pad, or straight on the filter; one a frequency of the load's grid, in dB
/// for 1 V open circuit of the amplifier.
#[must_use]
pub fn driver_level_db(pad: Option<Pad>, load: &PadLoad, feed: &PadSource) -> Vec<f64> {
    let level = |i: usize| {
        let branches = pad.map_or(PadBranches::WIRE, |pad| load.branches(pad, i));
        let put = load.open_at(i).put(&branches);
        let input_v = feed.emf.at(i) / (1.0 + feed.source_ohm.at(i) * put.input_siemens);
        let driver_v = input_v * put.transfer * load.onward(i);
        decibels(driver_v.norm())
    };
    (0..load.grid.len()).map(level).collect()
}

/// The textbook's: the filter on a plain resistor, then so many decibels less.
#[must_use]
pub fn level_on_resistor_db(
    filter_ohm: f64,
    attenuation_db: f64,
    load: &PadLoad,
    feed: &PadSource,
) -> Vec<f64> {
    let level = |i: usize| {
        let divided = filter_ohm / (filter_ohm + feed.source_ohm.at(i));
        decibels((feed.emf.at(i) * divided).norm()) - attenuation_db
    };
    (0..load.grid.len()).map(level).collect()
}

impl DriveChange {
    /// From one level of the voltage to another, both over the grid of the load, dB.
    #[must_use]
    pub fn new(before_db: &[f64], after_db: &[f64], load: &PadLoad) -> Self {
        let shape = |level_db: &[f64]| {
            let mean = load.mean_over(load.band(), |i| level_db[i]);
            let levels: Vec<f64> = level_db.iter().map(|level| level - mean).collect();
            (mean, levels)
        };
        let (mean_before, before) = shape(before_db);
        let (mean_after, after) = shape(after_db);
        let change: Vec<f64> = after.iter().zip(&before).map(|(a, b)| a - b).collect();
        let in_band =
            |shape: &[f64]| Extent::of(load.grid.f_hz(), load.filter_band(), |i| shape[i]);
        let peak = in_band(&after);
        let (largest_db, largest_at_hz) = in_band(&change).farthest_from(0.0);
        let shift = |&(frequency_hz, side): &(f64, Side)| {
            let moved_hz = steep(load, &before, frequency_hz)
                .then(|| load.read(&before, frequency_hz))
                .and_then(|level_db| flank(load, &after, level_db, frequency_hz, side));
            PadCrossoverShift {
                frequency_hz,
                side,
                change_db: load.read(&change, frequency_hz),
                shift_hz: moved_hz.map(|moved_hz| moved_hz - frequency_hz),
            }
        };
        Self {
            level_db: mean_after - mean_before,
            crossovers: load.crossovers.iter().map(shift).collect(),
            peak_before_db: in_band(&before).most,
            peak_db: peak.most,
            peak_at_hz: peak.most_at_hz,
            largest_db,
            largest_at_hz,
        }
    }
}

fn decibels(ratio: f64) -> f64 {
    // `f64::max` passes over NaN.
    (20.0 * ratio.log10()).max(FLOOR_DB)
}

/// Whether a voltage changes enough about a frequency to speak of a flank.
fn steep(load: &PadLoad, shape: &[f64], near_hz: f64) -> bool {
    let side = |factor: f64| load.read(shape, near_hz * factor);
    let half_octave = std::f64::consts::SQRT_2;
    (side(half_octave) - side(half_octave.recip())).abs() >= STEEP_DB
}

/// The frequency nearest to `near_hz` at which `shape` passes through `level_db` in the direction of `side`.
fn flank(load: &PadLoad, shape: &[f64], level_db: f64, near_hz: f64, side: Side) -> Option<f64> {
    let f_hz = load.grid.f_hz();
    let places = load.places([near_hz / FLANK_REACH, near_hz * FLANK_REACH]);
    let steps = places.start..places.end - 1;
    let passes = steps.filter_map(|i| {
        let (from, to) = (shape[i] - level_db, shape[i + 1] - level_db);
        let share = from / (from - to);
        let way = match side {
            Side::Rising => to >= from,
            Side::Falling => to <= from,
        };
        let inside = way && share.is_finite() && (0.0..=1.0).contains(&share);
        inside.then(|| f_hz[i] * (f_hz[i + 1] / f_hz[i]).powf(share))
    });
    passes.min_by(|a, b| {
        let off = |f: f64| (f / near_hz).ln().abs();
        off(*a).total_cmp(&off(*b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nodal::SourceImpedance;
    use crate::synthesis::PadKind;

    /// A resistor of 8 Ω with a high pass at 650 Hz.
    fn way() -> (PadLoad, PadSource) {
        let mut load = PadLoad::resistor(8.0);
        load.crossovers = vec![(650.0, Side::Rising)];
        load.band_hz = [650.0, 20_000.0];
        load.filter_band_hz = [325.0, 20_000.0];
        let feed = PadSource::textbook(&load, &SourceImpedance::NONE, 8.0);
        (load, feed)
    }

    /// Where a driver begins, only a rising voltage is its flank, though a falling one may pass the same level
    /// nearer by; and one that is nearly flat has none.
    #[test]
    fn a_flank_rises_or_falls_as_the_driver_begins_or_ends() {
        let (load, _) = way();
        let hump = |f: f64| -6.0 * (f / 900.0).log2().abs();
        let shape: Vec<f64> = load.grid.f_hz().iter().map(|f| hump(*f)).collect();
        let at = |side| flank(&load, &shape, hump(1200.0), 1150.0, side).unwrap();
        assert!(
            (at(Side::Falling) / 1200.0 - 1.0).abs() < 0.01,
            "{}",
            at(Side::Falling)
        );
        // 900²/1200.
        assert!(
            (at(Side::Rising) / 675.0 - 1.0).abs() < 0.01,
            "{}",
            at(Side::Rising)
        );
        let gentle: Vec<f64> = shape.iter().map(|level| 0.2 * level).collect();
        assert!(steep(&load, &shape, 400.0) && !steep(&load, &gentle, 400.0));
    }

    #[test]
    fn a_constant_impedance_pad_moves_nothing() {
        let (load, feed) = way();
        let pad = Pad::size(PadKind::LPad, 9.0, 8.0).unwrap();
        let plain = level_on_resistor_db(8.0, 0.0, &load, &feed);
        let change = DriveChange::new(&plain, &driver_level_db(Some(pad), &load, &feed), &load);
        assert!((change.level_db + 9.0).abs() < 1e-9);
        assert!(change.crossovers.iter().all(|c| c.change_db.abs() < 1e-9));
        assert!(change.largest_db.abs() < 1e-9);
        assert!(change.crossovers[0].shift_hz.unwrap().abs() < 1e-6);
        // Butterworth: 3 dB down at the crossover.
        let (mean, at) = (
            load.mean_over(load.band(), |i| plain[i]),
            load.read(&plain, 650.0),
        );
        assert!(at < mean - 2.0 && at > mean - 3.2, "{at} {mean}");
    }

    #[test]
    fn a_series_resistor_undamps_a_high_pass() {
        let (load, feed) = way();
        let pad = Pad::size(PadKind::Series, 9.0, 8.0).unwrap();
        let plain = level_on_resistor_db(8.0, 0.0, &load, &feed);
        let change = DriveChange::new(&plain, &driver_level_db(Some(pad), &load, &feed), &load);
        // Q is R/(ωL): 2.8 times as high, so that the level at the crossover rises by about 9 dB less
        // what the mean over the band has risen by.
        assert!(change.crossovers[0].change_db > 5.0, "{change:?}");
        assert!(change.crossovers[0].shift_hz.unwrap() < -50.0, "{change:?}");
        assert!(change.peak_db > change.peak_before_db + 3.0, "{change:?}");
    }
}

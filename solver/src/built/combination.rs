//! Which drivers a measured response was of, as drawn and with wires swapped.

use num_complex::Complex64;
use serde::Serialize;

use crate::grid::Grid;
use crate::sound::level_db;
use crate::spectrum::Spectrum;

/// The sum against the aim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SumHeard {
    /// Band in which it was judged, Hz.
    pub from_hz: f64,
    /// Its upper end, Hz.
    pub to_hz: f64,
    /// rms off the aim, dB, its level free.
    pub rms_db: f64,
    /// Furthest off, dB.
    pub max_db: f64,
    /// Where, Hz.
    pub max_at_hz: f64,
    /// rms off the aim after the steps below, as far as the ways are as fitted, dB.
    pub after_rms_db: f64,
    /// Steps of the pads that bring it nearest, only those that are not 0.
    pub steps: Vec<PadStep>,
}

/// One way's pad, so many dB louder or softer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PadStep {
    /// Driver of the way.
    pub driver: String,
    /// Louder, dB.
    pub step_db: f64,
}

/// The drawn ways at points of a measured response, and its level there.
pub(super) struct Drawn {
    pub(super) grid: Grid,
    pub(super) ways: Vec<Spectrum>,
    /// Measured level, dB.
    pub(super) at: Vec<f64>,
}

/// A combination of polarities, fitted.
#[derive(Debug, Clone)]
pub(super) struct Combination {
    pub(super) reversed: Vec<bool>,
    pub(super) levels_db: Vec<f64>,
    pub(super) flights_s: Vec<f64>,
    pub(super) share: f64,
}

impl Combination {
    pub(super) fn none(ways: usize) -> Self {
        Self {
            reversed: vec![false; ways],
            levels_db: vec![0.0; ways],
            flights_s: vec![0.0; ways],
            share: 1.0,
        }
    }

    /// Level of the sum, with steps on top, dB.
    pub(super) fn level_db(&self, drawn: &Drawn, steps_db: &[f64]) -> Vec<f64> {
        (0..drawn.grid.len())
            .map(|i| {
                let omega = drawn.grid.omega()[i];
                let sum: Complex64 = (0..drawn.ways.len())
                    .map(|way| {
                        let db = self.levels_db[way] + steps_db[way];
                        let sign = if self.reversed[way] { -1.0 } else { 1.0 };
                        let turn = Complex64::from_polar(1.0, -omega * self.flights_s[way]);
                        drawn.ways[way].at(i) * turn * (sign * 10f64.powf(db / 20.0))
                    })
                    .sum();
                level_db(sum)
            })
            .collect()
    }
}

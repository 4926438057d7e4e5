//! A modelled driver and how another sample of it may differ: in the data that it is modelled from.
//!
//! What differs by a logarithm `d` has `e^d` times its number. The impedance is computed anew, its slopes
//! by forward differences: a woofer's peaks are too sharp for a shift by 5 % to be taken as linear.

use netlist::project::{Driver, LossyInductance, Source};
use num_complex::Complex64;

use super::over::{DriverCurve, SIGMA_ALL, SIGMA_SHIFT};
use crate::grid::Grid;
use crate::load::{Conditions, driver_load};

/// Deviation of a suspension's loss and of the height of a horn's resonance, as logarithms (judgement, as
/// all below: samples of one driver and boxes of one drawing).
const SIGMA_LOSS: f64 = 0.12;
/// The same for the electrical Q beyond what moves all of the impedance.
const SIGMA_QES: f64 = 0.05;
/// The same for the stiffness of the air in the box against that of the suspension.
const SIGMA_STIFFNESS: f64 = 0.08;
/// The same for what leaks.
const SIGMA_LEAK: f64 = 0.25;
/// The same for the Q of a horn's resonance.
const SIGMA_Q: f64 = 0.05;
/// The same for the lossy inductance of the voice coil.
const SIGMA_INDUCTANCE: f64 = 0.04;
/// Step of the slopes, over a logarithm.
const STEP: f64 = 1e-6;

/// A number of a driver's data that may differ.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Datum {
    /// All of the impedance.
    All,
    Inductance,
    Fs,
    Qms,
    Qes,
    /// Volume of the box.
    Volume,
    Tuning,
    Leak,
    /// Frequency, height and Q of a horn's resonance.
    Frequency(usize),
    Height(usize),
    Q(usize),
}

impl Datum {
    fn sigma(self) -> f64 {
        match self {
            Datum::All => SIGMA_ALL,
            Datum::Inductance => SIGMA_INDUCTANCE,
            Datum::Fs | Datum::Tuning | Datum::Frequency(_) => SIGMA_SHIFT,
            Datum::Qms | Datum::Height(_) => SIGMA_LOSS,
            Datum::Qes => SIGMA_QES,
            Datum::Volume => SIGMA_STIFFNESS,
            Datum::Leak => SIGMA_LEAK,
            Datum::Q(_) => SIGMA_Q,
        }
    }

    /// Takes a difference into a driver.
    fn differ(self, driver: &mut Driver, by: f64) {
        let times = by.exp();
        match (&mut driver.source, self) {
            (Source::Cone(cone), Datum::Inductance) => inductance(&mut cone.inductance, times),
            (Source::Cone(cone), Datum::Fs) => cone.fs.0 *= times,
            (Source::Cone(cone), Datum::Qms) => cone.qms *= times,
            (Source::Cone(cone), Datum::Qes) => cone.qes *= times,
            (Source::Cone(cone), box_datum) => {
                let Some(enclosure) = &mut cone.enclosure else {
                    return;
                };
                match box_datum {
                    Datum::Volume => enclosure.volume.0 *= times,
                    Datum::Tuning => enclosure.tuning.iter_mut().for_each(|t| t.0 *= times),
                    Datum::Leak => enclosure.ql = Some(enclosure.leakage_q() * times),
                    _ => {}
                }
            }
            (Source::Compression(horn), Datum::Inductance) => {
                inductance(&mut horn.inductance, times);
            }
            (Source::Horn(horn), Datum::Inductance) => inductance(&mut horn.inductance, times),
            (Source::Horn(horn), Datum::Fs) => horn.fs.0 *= times,
            (Source::Horn(horn), Datum::Qms) => horn.qms *= times,
            // Qes = ωs·Mms·Re/Bl²
            (Source::Horn(horn), Datum::Qes) => horn.bl.0 /= times.sqrt(),
            (Source::Compression(horn), Datum::Frequency(k)) => horn.resonances[k].f.0 *= times,
            (Source::Compression(horn), Datum::Height(k)) => horn.resonances[k].r.0 *= times,
            (Source::Compression(horn), Datum::Q(k)) => horn.resonances[k].q *= times,
            _ => {}
        }
    }
}

fn inductance(inductance: &mut LossyInductance, times: f64) {
    match inductance {
        LossyInductance::SeriesParallel { l1, l2, r2 } => {
            (l1.0, l2.0, r2.0) = (l1.0 * times, l2.0 * times, r2.0 * times);
        }
        LossyInductance::Power { k, .. } => *k *= times,
    }
}

/// A modelled driver with the ways in which a sample of it may differ.
#[derive(Debug, Clone)]
pub(super) struct DataModel {
    driver: Driver,
    lead_ohm: f64,
    data: Vec<Datum>,
}

impl DataModel {
    /// The driver behind a lead of that resistance, in ohm.
    pub(super) fn new(driver: &Driver, lead_ohm: f64) -> Self {
        let mut data = vec![Datum::All, Datum::Inductance];
        match &driver.source {
            Source::Cone(cone) => {
                data.extend([Datum::Fs, Datum::Qms, Datum::Qes]);
                if let Some(enclosure) = &cone.enclosure {
                    data.push(Datum::Volume);
                    if enclosure.tuning.is_some() {
                        data.extend([Datum::Tuning, Datum::Leak]);
                    }
                }
            }
            Source::Compression(horn) => data.extend(
                (0..horn.resonances.len())
                    .flat_map(|k| [Datum::Frequency(k), Datum::Height(k), Datum::Q(k)]),
            ),
            Source::Horn(_) => data.extend([Datum::Fs, Datum::Qms, Datum::Qes]),
            Source::Measured(_) => {}
        }
        Self {
            driver: driver.clone(),
            lead_ohm,
            data,
        }
    }

    pub(super) fn sigmas(&self) -> Vec<f64> {
        self.data.iter().map(|datum| datum.sigma()).collect()
    }

    pub(super) fn tuning(&self) -> Option<usize> {
        self.data.iter().position(|datum| *datum == Datum::Tuning)
    }

    /// The driver over a grid for these differences.
    pub(super) fn over(&self, grid: &Grid, differences: &[f64]) -> DriverCurve {
        let z = |differing: &dyn Fn(usize) -> f64| -> Vec<Complex64> {
            let mut driver = self.driver.clone();
            for (k, datum) in self.data.iter().enumerate() {
                datum.differ(&mut driver, differing(k));
            }
            let all = differing(0).exp();
            let load = driver_load(&driver, grid, &Conditions::default());
            let lead_ohm = self.lead_ohm;
            load.z_ohm.iter().map(|z| z * all + lead_ohm).collect()
        };
        let z_ohm = z(&|k| differences[k]);
        let size = self.data.len();
        let mut slopes = vec![Complex64::ZERO; size * z_ohm.len()];
        for (i, z) in z_ohm.iter().enumerate() {
            slopes[i * size] = z - self.lead_ohm;
        }
        for number in 1..size {
            let moved = z(&|k| differences[k] + if k == number { STEP } else { 0.0 });
            for (i, (moved, z)) in moved.iter().zip(&z_ohm).enumerate() {
                slopes[i * size + number] = (moved - z) / STEP;
            }
        }
        DriverCurve { z_ohm, slopes }
    }
}

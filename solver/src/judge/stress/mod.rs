//! What every part and driver must survive.
//!
//! Two signals, both with the open-circuit voltage at which the amplifier gives its rated power to its
//! rated load: noise that stands for programme (IEC 60268-1, crest factor 2), and a sine, for every
//! quantity at the frequency where that quantity is largest. The noise is the long-term load, which
//! heats; the sine is what a steady organ note, a howl or a test tone can do.
//!
//! The noise has a crest factor of 2 at the amplifier only. Its peaks at a part are those of the clipped wave
//! behind the part's own transfer function (see [`crate::programme::Noise`]), 2 to 5 times the rms value.
//!
//! Voice coils are taken as cold, which is the side of caution: a hot one takes less.

mod driver;
mod findings;
mod part;
mod pieces;
pub(in crate::judge) mod rating;
#[cfg(test)]
mod tests;

pub use driver::{DriverLimits, DriverStress, Excursion, KeptFrom, PlaysFrom};
pub(crate) use part::resistor_rated_w;
pub use part::{PartStress, Rating, StressedKind};
pub use rating::resistor_w;

pub(super) use findings::{findings, hot_resistors};

use std::collections::BTreeSet;

use netlist::network::{Part, PartKind};
use netlist::project::Project;
use rayon::prelude::*;
use serde::Serialize;

use crate::grid::Grid;
use crate::load::REFERENCE_V;
use crate::loudspeaker::Loudspeaker;
use crate::nodal::{Flow, PlanError};
use crate::programme::{CREST_FACTOR, Loudness, Noise, SECONDS, power_weights};
use crate::spectrum::Spectrum;

/// Frequencies more on each side of one at which something is largest: a resonance of Q 200 is met at its
/// top.
const BETWEEN: usize = 15;
/// Peak of a sine over its rms value.
const SINE_CREST: f64 = std::f64::consts::SQRT_2;
/// Voltage, current and power under noise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NoiseStress {
    /// Rms voltage, V.
    pub rms_v: f64,
    /// Peak voltage, V: of some seconds of the clipped noise behind the part's own transfer function.
    pub peak_v: f64,
    /// Rms current, A.
    pub rms_a: f64,
    /// Peak current, A, likewise.
    pub peak_a: f64,
    /// Power, W.
    pub power_w: f64,
}

/// The most that a sine can do, each at its own frequency.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SineStress {
    /// Rms voltage.
    pub rms_v: Worst,
    /// Peak voltage, V.
    pub peak_v: f64,
    /// Rms current.
    pub rms_a: Worst,
    /// Peak current, A.
    pub peak_a: f64,
    /// Power, W.
    pub power_w: Worst,
}

/// A largest value with its frequency.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Worst {
    /// The value.
    pub most: f64,
    /// Where it is, Hz.
    pub at_hz: f64,
}

/// Where the peaks of the noise come from: the largest in so many seconds of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Peaks {
    /// Peak over rms at the amplifier, open circuit.
    pub crest_factor: f64,
    /// Length of the noise, s.
    pub seconds: f64,
}

/// What everything must survive.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stress {
    /// How loud.
    pub loudness: Loudness,
    /// Where the peaks of the noise come from.
    pub peaks: Peaks,
    /// Power of the noise that parts and drivers take, W.
    pub noise_power_w: f64,
    /// Power of the noise that the amplifier gives, W: the same, by its current.
    pub noise_given_w: f64,
    /// Parts in the builder's order, cable and leads included.
    pub parts: Vec<PartStress>,
    /// Drivers in the order of the parts.
    pub drivers: Vec<DriverStress>,
}

/// Stress on the parts and drivers of a project; `None` for a brief.
///
/// # Errors
/// If the network cannot be solved.
pub fn stress(project: &Project) -> Result<Option<Stress>, PlanError> {
    let coarse = Grid::audio_band();
    let Some(system) = Loudspeaker::new(project, coarse.clone())? else {
        return Ok(None);
    };
    let (solution, _) = system.solve()?;
    let finer = (coarse.finer(&peaks(&system.flows(&solution)), BETWEEN))
        .with(&asked_for(project, &coarse));
    let Some(system) = Loudspeaker::new(project, finer)? else {
        return Ok(None);
    };
    let meter = Meter::new(&system)?;
    let (parts, drivers) = of_parts(project, &system, &meter);
    let noise_power_w = parts.iter().map(|part| part.noise.power_w).sum::<f64>()
        + drivers.iter().map(|d| d.noise.power_w).sum::<f64>();
    Ok(Some(Stress {
        loudness: system.loudness,
        peaks: Peaks {
            crest_factor: CREST_FACTOR,
            seconds: SECONDS,
        },
        noise_power_w,
        noise_given_w: meter.noise_given_w,
        parts,
        drivers,
    }))
}

/// Stress on every part and on every driver, both in the builder's order. Each is worked out by itself, so
/// that it is the same on any number of threads.
fn of_parts(
    project: &Project,
    system: &Loudspeaker,
    meter: &Meter<'_>,
) -> (Vec<PartStress>, Vec<DriverStress>) {
    enum One {
        Part(PartStress),
        Driver(DriverStress),
    }
    let named: Vec<(usize, (&String, &Part))> = system.network.parts().iter().enumerate().collect();
    let all: Vec<Option<One>> = (named.into_par_iter())
        .map(|(number, (name, part))| {
            let flows: Vec<&Flow> = meter.flows.iter().filter(|f| f.part == number).collect();
            let first = flows.first()?;
            Some(match &part.kind {
                PartKind::Driver { driver, .. } => {
                    One::Driver(driver::driver_stress(project, driver, meter, first))
                }
                _ => One::Part(part::part_stress(project, name, part, meter, &flows)?),
            })
        })
        .collect();
    let (mut parts, mut drivers) = (Vec::new(), Vec::new());
    for one in all.into_iter().flatten() {
        match one {
            One::Part(part) => parts.push(part),
            One::Driver(driver) => drivers.push(driver),
        }
    }
    (parts, drivers)
}

/// Frequencies of the audio band at which a driver's voltage is asked for, Hz.
fn asked_for(project: &Project, band: &Grid) -> Vec<f64> {
    let (from_hz, to_hz) = (band.f_hz()[0], band.f_hz()[band.len() - 1]);
    (project.drivers.iter())
        .filter_map(|(name, driver)| DriverLimits::of(project, name, driver))
        .flat_map(|limits| limits.asked_hz())
        .filter(|f_hz| (from_hz..=to_hz).contains(f_hz))
        .collect()
}

/// Positions of the frequencies at which a voltage, a current or a power is largest, and of their
/// neighbours: the top may be on either side.
fn peaks(flows: &[Flow]) -> BTreeSet<usize> {
    let top = |value: &dyn Fn(usize) -> f64, points: usize| {
        (0..points).max_by(|&a, &b| value(a).total_cmp(&value(b)))
    };
    (flows.iter())
        .flat_map(|flow| {
            let points = flow.voltage_v.len();
            [
                top(&|i| flow.voltage_v.at(i).norm(), points),
                top(&|i| flow.current_a.at(i).norm(), points),
                top(&|i| flow.power_w(i), points),
            ]
        })
        .flatten()
        .collect()
}

/// A solved loudspeaker, and what its voltages must be multiplied by.
struct Meter<'a> {
    grid: &'a Grid,
    flows: Vec<Flow>,
    weights: Vec<f64>,
    /// Open-circuit voltage of the signals over that of the solution.
    gain: f64,
    /// Whether the project states the amplifier's power.
    stated: bool,
    /// Power that the amplifier gives of the noise, W.
    noise_given_w: f64,
}

impl<'a> Meter<'a> {
    fn new(system: &'a Loudspeaker) -> Result<Self, PlanError> {
        let (solution, _) = system.solve()?;
        let source = &system.drive.output_impedance_ohm;
        let gain = system.loudness.open_circuit_v(system.nominal_output_ohm) / REFERENCE_V;
        let weights = power_weights(&system.grid);
        let given_w = |i: usize| {
            let z_ohm = solution.input_impedance_at(i)?;
            Some((REFERENCE_V / (z_ohm + source.at(i)).norm()).powi(2) * z_ohm.re)
        };
        let given = (weights.iter().enumerate()).map(|(i, w)| w * given_w(i).unwrap_or(0.0));
        Ok(Self {
            grid: &system.grid,
            flows: system.flows(&solution),
            noise_given_w: gain * gain * given.sum::<f64>(),
            weights,
            gain,
            stated: system.loudness.stated,
        })
    }

    /// Rms value of something under noise.
    fn noise_rms(&self, spectrum: &Spectrum) -> f64 {
        let mean: f64 = (spectrum.iter().zip(&self.weights))
            .map(|(value, weight)| weight * value.norm_sqr())
            .sum();
        self.gain * mean.sqrt()
    }

    /// Peaks of a voltage and of the currents under noise.
    fn noise_peaks(&self, voltage_v: &Spectrum, flows: &[&Flow]) -> [f64; 2] {
        let currents: Vec<&Spectrum> = flows.iter().map(|flow| &flow.current_a).collect();
        let noise = Noise::get();
        let [peak_v, mut peak_a] = noise.peaks(self.grid, voltage_v, currents.first().copied());
        for pair in currents.get(1..).unwrap_or_default().chunks(2) {
            let found = noise.peaks(self.grid, pair[0], pair.get(1).copied());
            peak_a = peak_a.max(found[0]).max(found[1]);
        }
        [peak_v, peak_a].map(|peak| self.gain * peak)
    }

    /// The largest of something over the frequencies, in the units of the solution.
    fn worst(&self, value: impl Fn(usize) -> f64) -> Worst {
        let mut worst = Worst {
            most: f64::NEG_INFINITY,
            at_hz: 0.0,
        };
        for (i, &at_hz) in self.grid.f_hz().iter().enumerate() {
            let most = value(i);
            if most > worst.most {
                worst = Worst { most, at_hz };
            }
        }
        worst
    }

    /// Stress of what has this voltage, and these flows.
    fn measure(&self, voltage_v: &Spectrum, flows: &[&Flow]) -> (NoiseStress, SineStress) {
        let rms_v = self.noise_rms(voltage_v);
        let rms_a = (flows.iter())
            .map(|flow| self.noise_rms(&flow.current_a))
            .fold(0.0, f64::max);
        let [peak_v, peak_a] = self.noise_peaks(voltage_v, flows);
        let power_at = |i: usize| -> f64 {
            let power: f64 = flows.iter().map(|flow| flow.power_w(i)).sum();
            self.gain * self.gain * power
        };
        let noise = NoiseStress {
            rms_v,
            peak_v,
            rms_a,
            peak_a,
            power_w: (0..self.grid.len())
                .map(|i| self.weights[i] * power_at(i))
                .sum(),
        };
        let sine_v = self.worst(|i| self.gain * voltage_v.at(i).norm());
        let sine_a = self.worst(|i| {
            let currents = flows.iter().map(|flow| flow.current_a.at(i).norm());
            self.gain * currents.fold(0.0, f64::max)
        });
        let sine = SineStress {
            rms_v: sine_v,
            peak_v: SINE_CREST * sine_v.most,
            rms_a: sine_a,
            peak_a: SINE_CREST * sine_a.most,
            power_w: self.worst(power_at),
        };
        (noise, sine)
    }
}

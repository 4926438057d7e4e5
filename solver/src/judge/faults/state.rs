//! A network, sound or faulty, under programme noise and steady sines.

use netlist::network::Network;
use netlist::quantity::Quantity;
use num_complex::Complex64;

use super::super::judged_loudspeaker::JudgedLoudspeaker;
use super::zoom::Zoom;
use crate::load::LeastImpedance;
use crate::load::REFERENCE_V;
use crate::loudspeaker::LoudspeakerDriver;
use crate::nodal::{Closer, Plan, PlanError, Values};
use crate::programme::power_weights;
use crate::sound::{FLOOR_DB, power_level_db};
use crate::spectrum::Spectrum;

/// What does not change from fault to fault.
#[derive(Debug)]
pub(super) struct FaultBench<'a> {
    pub(super) speaker: &'a JudgedLoudspeaker,
    /// Share of the programme's power that each frequency stands for.
    weights: Vec<f64>,
    /// Positions of the frequencies in the aim's band.
    pub(super) judged: Vec<usize>,
}

/// A driver at the reference voltage, noise or sine.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct DriverState {
    /// Power from programme noise, W.
    pub(super) power_w: f64,
    /// Voltage of programme noise at its terminals, V rms.
    pub(super) volts: f64,
    /// Mean square of its diaphragm's travel, in units that belong to the driver; 0 where its resonance
    /// is not known.
    pub(super) travel: f64,
    /// Largest power from a steady sine, W.
    pub(super) sine_w: f64,
    /// Where, Hz.
    pub(super) sine_at_hz: f64,
}

/// A network at the reference voltage.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// Least load from the lowest to the highest frequency; `None` where no current flows.
    pub(super) least: Option<LeastImpedance>,
    /// Each driver of the loudspeaker; all 0 where it is out of the network.
    pub(super) drivers: Vec<DriverState>,
    /// Level of the sum where it is judged, at the judged frequencies, dB.
    pub(super) sum_db: Vec<f64>,
    /// The compiled network, where there is one to look into.
    pub(super) zoom: Option<Zoom>,
}

/// Voltage that is only rounding, as a share of the amplifier's.
const ROUNDING: f64 = 1e-9;

impl DriverState {
    /// Whether it gets no voltage.
    pub(super) fn is_silent(&self) -> bool {
        self.volts < ROUNDING * REFERENCE_V
    }
}

impl<'a> FaultBench<'a> {
    pub(super) fn new(speaker: &'a JudgedLoudspeaker) -> Self {
        let grid = &speaker.loudspeaker.grid;
        Self {
            weights: power_weights(grid),
            judged: grid.within(speaker.aim.from.si(), speaker.aim.to.si()),
            speaker,
        }
    }

    /// No driver has any voltage.
    pub(super) fn silent(&self, least: Option<LeastImpedance>) -> State {
        State {
            least,
            drivers: vec![DriverState::default(); self.speaker.loudspeaker.drivers.len()],
            sum_db: vec![FLOOR_DB; self.judged.len()],
            zoom: None,
        }
    }

    /// Solves `network`, which holds drivers of the loudspeaker, all or some.
    pub(super) fn state(&self, network: &Network) -> Result<State, PlanError> {
        let grid = &self.speaker.loudspeaker.grid;
        let plan = Plan::compile(network)?;
        // Each driver of the network among those of the loudspeaker.
        let who: Vec<usize> = (plan.drivers().iter())
            .filter_map(|name| {
                self.speaker
                    .loudspeaker
                    .drivers
                    .iter()
                    .position(|d| d.name == *name)
            })
            .collect();
        let loads: Vec<&Spectrum> = (who.iter())
            .map(|&driver| &self.speaker.loudspeaker.drivers[driver].z_ohm)
            .collect();
        let values = Values::of(network);
        let drive = self.speaker.loudspeaker.drive.clone();
        let closer = Closer {
            plan: &plan,
            values: &values,
            drive: &drive,
            grid,
            loads: &loads,
        };
        let solution = closer.on_grid()?;
        let mut drivers = vec![DriverState::default(); self.speaker.loudspeaker.drivers.len()];
        let mut fed = Vec::with_capacity(who.len());
        for (&driver, (output, inverted)) in who.iter().zip(plan.driver_outputs()) {
            let found = &self.speaker.loudspeaker.drivers[driver];
            let volts = solution.output(output);
            drivers[driver] = self.driver(found, &volts);
            fed.push((driver, if inverted { -1.0 } else { 1.0 }, volts));
        }
        let zoom = Zoom {
            loads: loads.into_iter().cloned().collect(),
            admittance: Spectrum::from_fn(grid.len(), |i| {
                let (re, im) = solution.input_admittance();
                Complex64::new(re[i], im[i])
            }),
            network: network.clone(),
            plan,
            values,
            drive,
        };
        Ok(State {
            least: zoom.least(grid, |_| true)?,
            drivers,
            sum_db: self.sum_db(&fed),
            zoom: Some(zoom),
        })
    }

    /// Level of the sum where it is judged, of drivers with their polarity and their voltage.
    fn sum_db(&self, fed: &[(usize, f64, Spectrum)]) -> Vec<f64> {
        let drivers = &self.speaker.loudspeaker.drivers;
        let mut sounds = vec![Complex64::ZERO; drivers.len()];
        let levels = self.judged.iter().map(|&i| {
            sounds.fill(Complex64::ZERO);
            for (driver, sign, volts) in fed {
                sounds[*driver] += *sign * volts.at(i) * drivers[*driver].sound_pa_per_v.at(i);
            }
            power_level_db(self.speaker.judged_square(i, &sounds))
        });
        levels.collect()
    }

    /// A driver with a voltage at its terminals.
    fn driver(&self, driver: &LoudspeakerDriver, volts: &Spectrum) -> DriverState {
        let mut state = DriverState::default();
        for (i, &f_hz) in self.speaker.loudspeaker.grid.f_hz().iter().enumerate() {
            let square = volts.at(i).norm_sqr();
            let power_w = square * driver.z_ohm.at(i).inv().re;
            state.power_w += self.weights[i] * power_w;
            state.volts += self.weights[i] * square;
            let moves = driver.resonance_hz.map_or(0.0, |f0| travel(f_hz / f0));
            state.travel += self.weights[i] * square * moves;
            if power_w > state.sine_w {
                state.sine_w = power_w;
                state.sine_at_hz = f_hz;
            }
        }
        state.volts = state.volts.sqrt();
        if state.is_silent() {
            return DriverState::default();
        }
        state
    }
}

/// Square of the travel of a diaphragm at constant voltage against that at low frequencies, at
/// `ratio` of its resonance: a system of second order, here with a Q of 1. Far above the resonance it
/// falls by 12 dB per octave.
fn travel(ratio: f64) -> f64 {
    let square = ratio * ratio;
    1.0 / ((1.0 - square).powi(2) + square)
}

#[cfg(test)]
mod tests {
    use super::travel;

    /// A low pass of second order, |1/(1 − x² + jx/Q)|² with a Q of 1: as much at the resonance as far below
    /// it, the most, 4/3, where x² is 1/2, 1/13 an octave above, and x⁻⁴ far above.
    #[test]
    fn travel_is_that_of_a_second_order_system_with_a_q_of_1() {
        for (ratio, expected) in [
            (1e-6, 1.0),
            (1.0, 1.0),
            (std::f64::consts::FRAC_1_SQRT_2, 4.0 / 3.0),
            (2.0, 1.0 / 13.0),
        ] {
            let found = travel(ratio);
            assert!((found - expected).abs() < 1e-9, "{ratio}: {found}");
        }
        assert!((travel(1000.0) * 1e12 - 1.0).abs() < 1e-5);
    }
}

//! A driver's electrical load and sound: measured, or modelled from its data sheet.
//!
//! [`driver_load`] gives, over a grid, the impedance between the driver's terminals and the pressure in
//! pascal per volt at those terminals at 1 m. Both are for the driver alone: its place and the
//! listener's are added in `sound`. Several of the same driver in one way are one load.
//!
//! # Time reference
//!
//! A modelled driver has no flight time: its phase is that of the driver itself, on a horn of stated shape that of
//! the sound at the mouth. A measured phase is
//! kept as written: neither the flight time over the measuring distance nor anything else is taken out
//! or put in. Measure (or export) all drivers with one common time reference; then the phases hold what
//! differs between them, and `position.back` says only what they do not hold already.
//!
//! # Hot voice coil
//!
//! Copper gains 0.393 % per kelvin. The sound of a moving coil follows its current, so when the coil's
//! resistance grows by ΔR the pressure per volt falls by Z/(Z + ΔR), exactly, at every frequency. For
//! a measured driver ΔR is taken from an estimate of Re: the least real part of the measured impedance.
//! All other terms of a driver's impedance have positive real parts, so that this is the tightest upper
//! bound a measurement gives.

mod baffle;
mod compression;
mod cone;
mod curve;
mod figures;
mod flank;
mod horn;
mod measured;
pub mod minimum_phase;
mod near_field;
mod resonance;
mod several;
mod table_curve;
mod table_end;
mod tail;
mod voice_coil;
mod waveguide;

pub use baffle::step_hz;
pub use cone::ConeMechanics;
pub(crate) use curve::fitted_slope;
pub use figures::{LeastImpedance, least_impedance, main_resonance};
pub use measured::{
    PhaseDoubt, measured_impedance, minimum_phase_deg, phase_doubt, response_pa_per_v,
};
pub use near_field::{Join, measured_response, near_field_to_hz};
pub use resonance::{DELICATE_FROM_HZ, driver_resonance, horn_cutoff, is_delicate};
pub use voice_coil::lossy_inductance_ohm;
pub use waveguide::{ThroatLoad, Waveguide};

use netlist::project::{Driver, Source};

use crate::air::Air;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// The voltage to which levels refer, in volt rms: 1 W into 8 Ω, rounded as the trade does.
pub const REFERENCE_V: f64 = 2.83;

/// Circumstances under which a driver is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditions {
    /// Temperature rise of the voice coil, in kelvin, on top of the driver's own `coil_rise`.
    pub coil_rise_k: f64,
    /// The air; 20 °C by default.
    pub air: Air,
}

/// A driver over a grid, or several of the same as one.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverLoad {
    /// Impedance between the terminals, in ohm; the real part is above 0.
    pub z_ohm: Spectrum,
    /// Pressure at 1 m, in pascal per volt at the terminals, in the driver's own time reference.
    pub pressure_pa_per_v: Spectrum,
    /// Resistance of the voice coil, hot where it is, between the terminals: that of all of several; for a
    /// measured driver an estimate from above.
    pub re_ohm: f64,
    /// What the builder must know about where the curves come from.
    pub notes: Vec<Note>,
}

impl DriverLoad {
    /// The driver seen through a lead of that resistance: the impedance grows by it, and the pressure
    /// per volt before the lead falls by Z/(Z + R), exactly.
    #[must_use]
    pub fn behind_lead(mut self, lead_ohm: f64) -> Self {
        if lead_ohm > 0.0 {
            for i in 0..self.z_ohm.len() {
                let z_ohm = self.z_ohm.at(i);
                let pressure = self.pressure_pa_per_v.at(i);
                self.z_ohm.set(i, z_ohm + lead_ohm);
                (self.pressure_pa_per_v).set(i, pressure * z_ohm / (z_ohm + lead_ohm));
            }
        }
        self
    }
}

/// Which of a driver's two curves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Curve {
    /// The impedance.
    Impedance,
    /// The response.
    Response,
}

impl Curve {
    /// Largest slope that is held beyond an end of a table: d ln magnitude / d ln f, unsigned. An impedance is passive and
    /// without delay.
    fn steepest(self) -> f64 {
        match self {
            Self::Impedance => 1.0,
            Self::Response => 8.0,
        }
    }
}

/// Something the builder must know about a driver's curves.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[serde(tag = "note", rename_all = "snake_case")]
pub enum Note {
    /// The table has no phase: the minimum phase was reconstructed, its ends continued.
    PhaseReconstructed {
        /// Which curve.
        curve: Curve,
    },
    /// The grid reaches beyond the table, where it is continued from its end slopes.
    OutsideTable {
        /// Which curve.
        curve: Curve,
        /// Lowest frequency of the table.
        table_from_hz: f64,
        /// Highest frequency of the table.
        table_to_hz: f64,
        /// Lowest frequency asked for.
        asked_from_hz: f64,
        /// Highest frequency asked for.
        asked_to_hz: f64,
        /// Fitted slope of its lower end, positive when it rises with frequency.
        slope_below_db_per_octave: f64,
        /// Fitted slope of its upper end, positive when it rises with frequency.
        slope_above_db_per_octave: f64,
    },
    /// The impedance's phase was limited so that the real part stays at least 1 % of the magnitude.
    PhaseLimited {
        /// Lowest frequency at which that happened.
        from_hz: f64,
        /// Highest frequency at which that happened.
        to_hz: f64,
        /// Largest phase found, in degrees, unsigned.
        worst_deg: f64,
    },
    /// The phase turns by more than 120° between two rows: too few rows to follow it. Usually the flight
    /// time of the measurement is still in the phase.
    PhaseTooCoarse {
        /// Which curve.
        curve: Curve,
        /// Frequency of the first such row.
        at_hz: f64,
    },
    /// The response is of the near field below and of the far field above.
    NearFieldJoined(Join),
    /// The voice coil's resistance was estimated from the measured impedance, to warm it.
    ReEstimated {
        /// The estimate, cold, for one driver.
        re_ohm: f64,
    },
}

/// Impedance and sound of a driver over the grid; of all of them where `count` says that there are several.
///
/// Tables and parameters are taken to be valid, as the project file's reader leaves them.
#[must_use]
pub fn driver_load(driver: &Driver, grid: &Grid, conditions: &Conditions) -> DriverLoad {
    let one = match &driver.source {
        Source::Measured(measured) => {
            measured::measured_load(measured, driver.baffle.as_ref(), grid, conditions)
        }
        Source::Cone(cone) => {
            let mut load = cone::cone_load(cone, grid, conditions);
            if let Some(front) = &driver.baffle {
                let radius_m = (cone.sd.0 / std::f64::consts::PI).sqrt();
                let c_m_per_s = conditions.air.c_m_per_s;
                let factor = baffle::factor(front, radius_m, grid, c_m_per_s);
                for i in 0..grid.len() {
                    let pressure = load.pressure_pa_per_v.at(i) * factor.at(i);
                    load.pressure_pa_per_v.set(i, pressure);
                }
            }
            load
        }
        Source::Compression(compression) => {
            compression::compression_load(compression, grid, conditions)
        }
        Source::Horn(horn) => horn::horn_load(horn, driver.coverage, grid, conditions),
    };
    several::together(one, driver.count, driver.wired)
}

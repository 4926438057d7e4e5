//! The amplifier's output impedance over frequency.

use std::f64::consts::TAU;
use std::sync::Arc;

use netlist::project::{Amplifier, OutputImpedance};
use netlist::quantity::Quantity;
use num_complex::Complex64;

use crate::grid::Grid;
use crate::load::measured_impedance;
use crate::nodal::SourceImpedance;
use crate::spectrum::Spectrum;

/// Solid-state amplifiers are below this output impedance, valve amplifiers mostly above (common
/// practice), ohm.
pub(crate) const VALVE_OHM: f64 = 0.5;

/// Frequency at which one number stands for an output impedance, Hz: the usual reference frequency of amplifier
/// data (common practice).
pub const NOMINAL_HZ: f64 = 1e3;

/// The output impedance over a grid.
///
/// A transformer is `(r ∥ jωM) + jωl`, with M the magnetising inductance; the open-circuit voltage is that of the
/// terminals and stays what it is.
#[must_use]
pub fn source_impedance(amplifier: &Amplifier, grid: &Grid) -> SourceImpedance {
    match &amplifier.output_impedance {
        OutputImpedance::Resistance(r) => SourceImpedance::Resistance(r.si()),
        OutputImpedance::Transformer { r, l, parallel } => {
            let z_ohm = Spectrum::from_fn(grid.len(), |i| {
                let omega = TAU * grid.f_hz()[i];
                let resistance = Complex64::from(r.si());
                let bridged = parallel.map_or(resistance, |across| {
                    let across = Complex64::new(0.0, omega * across.si());
                    resistance * across / (resistance + across)
                });
                bridged + Complex64::new(0.0, omega * l.si())
            });
            SourceImpedance::Over(Arc::new(z_ohm))
        }
        OutputImpedance::Measured(table) => {
            SourceImpedance::Over(Arc::new(measured_impedance(table, grid)))
        }
    }
}

/// The output impedance at [`NOMINAL_HZ`], ohm: what goes into voltages for a stated power, and what is said of it in
/// one number.
#[must_use]
pub fn nominal_output_ohm(amplifier: &Amplifier) -> Complex64 {
    let grid = Grid::new(vec![NOMINAL_HZ]).expect("one positive frequency");
    source_impedance(amplifier, &grid).at(0)
}

/// Open-circuit voltage, rms, of an amplifier that gives this power to this load through its output impedance:
/// `√(P·R)·|R + Z₀|/R`.
#[must_use]
pub fn open_circuit_v(power_w: f64, load_ohm: f64, output_ohm: Complex64) -> f64 {
    (power_w * load_ohm).sqrt() * (load_ohm + output_ohm).norm() / load_ohm
}

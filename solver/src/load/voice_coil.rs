//! Lossy inductance of a voice coil.

use std::f64::consts::FRAC_PI_2;

use netlist::project::LossyInductance;
use num_complex::Complex64;

/// Impedance of the lossy inductance at ω, in ohm; the coil's resistance is not in it.
///
/// - `SeriesParallel`: jωL1 + (R2 ∥ jωL2).
/// - `Power`: K·(jω)ⁿ = K·ωⁿ·e^(jnπ/2) (W. M. Leach, J. Audio Eng. Soc. 50(6), 2002): the phase is
///   n·90° at all frequencies.
#[must_use]
pub fn lossy_inductance_ohm(inductance: &LossyInductance, omega: f64) -> Complex64 {
    match *inductance {
        LossyInductance::SeriesParallel { l1, l2, r2 } => {
            let series = Complex64::new(0.0, omega * l1.0);
            let x2 = omega * l2.0;
            if x2 > 0.0 && r2.0 > 0.0 {
                // R·jX/(R + jX), written with X/R so that neither extreme overflows.
                let ratio = x2 / r2.0;
                series + x2 * Complex64::new(ratio, 1.0) / (1.0 + ratio * ratio)
            } else {
                series
            }
        }
        LossyInductance::Power { k, n } => Complex64::from_polar(k * omega.powf(n), n * FRAC_PI_2),
    }
}

//! A driver that differs from its data, and how much it may.

use num_complex::Complex64;

/// Standard deviation of all of the impedance: ± 5 %, evenly spread.
pub(super) const SIGMA_ALL: f64 = 0.05 * EVENLY;

/// The same for the frequency of a resonance.
pub(super) const SIGMA_SHIFT: f64 = 0.05 * EVENLY;

/// Standard deviation of what is evenly spread from −1 to 1.
const EVENLY: f64 = 0.577_350_269;

/// A driver over a grid.
#[derive(Debug, Clone, Default)]
pub(super) struct DriverCurve {
    /// Impedance, ohm.
    pub(super) z_ohm: Vec<Complex64>,
    /// Its slopes in each difference, point by point, ohm.
    pub(super) slopes: Vec<Complex64>,
}

//! Decibels and degrees of complex pressures.

use num_complex::Complex64;

use crate::air::REFERENCE_PRESSURE_PA;
use crate::spectrum::Spectrum;

/// Level that silence is given, dB: far below anything audible, and still a number.
pub const FLOOR_DB: f64 = -400.0;

/// Sound pressure level of a complex rms pressure in pascal, dB re 20 µPa.
///
/// Never below [`FLOOR_DB`], which is also the level of zero and of a value that is no number.
#[must_use]
pub fn level_db(pressure_pa: Complex64) -> f64 {
    // The square spares a root.
    power_level_db(pressure_pa.norm_sqr())
}

/// The same of a mean square pressure, pascal².
#[must_use]
pub fn power_level_db(square_pa2: f64) -> f64 {
    let square = square_pa2 / (REFERENCE_PRESSURE_PA * REFERENCE_PRESSURE_PA);
    // `f64::max` passes over NaN.
    (10.0 / std::f64::consts::LN_10 * square.ln()).max(FLOOR_DB)
}

/// Decibels of a factor (a ratio of voltages or pressures), never below [`FLOOR_DB`].
#[must_use]
pub fn gain_db(factor: f64) -> f64 {
    (20.0 * factor.abs().log10()).max(FLOOR_DB)
}

/// [`level_db`] at every frequency.
#[must_use]
pub fn level_db_series(pressure_pa: &Spectrum) -> Vec<f64> {
    pressure_pa.iter().map(level_db).collect()
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    #[test]
    fn levels_stay_numbers() {
        for silent in [
            Complex64::ZERO,
            Complex64::new(1e-300, 0.0),
            Complex64::new(f64::NAN, 0.0),
        ] {
            assert_abs_diff_eq!(level_db(silent), FLOOR_DB);
        }
        assert_abs_diff_eq!(level_db(Complex64::new(0.0, -20e-6)), 0.0, epsilon = 1e-12);
    }
}

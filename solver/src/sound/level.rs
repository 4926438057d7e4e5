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

/// Phase at every frequency, degrees in (−180, 180]; 0 for silence.
#[must_use]
pub fn phase_deg_series(pressure_pa: &Spectrum) -> Vec<f64> {
    pressure_pa.iter().map(phase_deg).collect()
}

fn phase_deg(value: Complex64) -> f64 {
    if value == Complex64::ZERO {
        return 0.0;
    }
    let degrees = value.arg().to_degrees();
    // A negative real number whose imaginary part is −0 would come out as −180.
    if degrees <= -180.0 { 180.0 } else { degrees }
}

/// The same phases with whole turns added, so that no step is larger than half a turn.
///
/// The first value stays. Right as long as the true phase turns by less than 180° from one
/// frequency to the next.
#[must_use]
pub fn unwrap_deg(phase_deg: &[f64]) -> Vec<f64> {
    let mut phase = phase_deg.to_vec();
    crate::spectrum::unwrap(&mut phase, 360.0);
    phase
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

    #[test]
    fn half_a_turn_is_positive() {
        let values = [
            Complex64::new(-1.0, -0.0),
            Complex64::new(-1.0, 0.0),
            Complex64::new(0.0, -1.0),
            Complex64::new(-0.0, 0.0),
        ];
        let phases = phase_deg_series(&Spectrum::from_fn(4, |i| values[i]));
        for (phase, expected) in phases.iter().zip([180.0, 180.0, -90.0, 0.0]) {
            assert_abs_diff_eq!(*phase, expected);
        }
    }

    #[test]
    fn unwrapping_gives_back_a_delay() {
        let straight: Vec<f64> = (0..100).map(|i| 30.0 - 47.0 * f64::from(i)).collect();
        let wrapped: Vec<f64> = straight
            .iter()
            .map(|p| p - 360.0 * (p / 360.0).round())
            .collect();
        assert!(wrapped.iter().all(|p| p.abs() <= 180.0));
        for (back, expected) in unwrap_deg(&wrapped).iter().zip(&straight) {
            assert_abs_diff_eq!(*back, *expected, epsilon = 1e-9);
        }
        assert!(unwrap_deg(&[]).is_empty());
    }
}

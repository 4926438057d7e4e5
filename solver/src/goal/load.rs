//! What the amplifier sees.

use num_complex::Complex64;
use serde::Serialize;

use crate::nodal::{Closer, PlanError, Solution};
use crate::spectrum::phase_deg;

/// The load on the amplifier.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LoadFigures {
    /// Least |Z|, ohm.
    pub least_ohm: f64,
    /// Where, Hz.
    pub at_hz: f64,
    /// Phase there, degrees.
    pub phase_deg: f64,
    /// Least equivalent peak dissipation resistance, ohm.
    pub least_epdr_ohm: f64,
    /// Where, Hz.
    pub least_epdr_at_hz: f64,
}

/// Equivalent peak dissipation resistance of a load on a class-B stage: the resistor that heats one
/// output device as much at its worst moment, `|Z| / (8 sin³(30° + |φ|/3))`.
///
/// The idea is E. Benjamin's (J. Audio Eng. Soc. 42(9), 1994); the closed form follows from the
/// largest value of `(1 − sin t) sin(t − φ)`.
#[must_use]
pub fn epdr_ohm(z_ohm: Complex64) -> f64 {
    let angle = std::f64::consts::FRAC_PI_6 + z_ohm.arg().abs() / 3.0;
    z_ohm.norm() / (8.0 * angle.sin().powi(3))
}

impl LoadFigures {
    /// Of a network through a cable of `cable_ohm`, between the frequencies of its grid as well; `None`
    /// where no current flows at any of them.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn of(closer: &Closer<'_>, cable_ohm: f64) -> Result<Option<Self>, PlanError> {
        let z_ohm = |solution: &Solution, i: usize| {
            let (re, im) = solution.input_admittance();
            Complex64::new(re[i], im[i]).inv() + cable_ohm
        };
        let whole = closer.on_grid()?;
        let least_by = |measure: fn(Complex64) -> f64| {
            let least = (0..whole.len())
                .filter(|&i| z_ohm(&whole, i).is_finite())
                .min_by(|&a, &b| measure(z_ohm(&whole, a)).total_cmp(&measure(z_ohm(&whole, b))));
            let Some(least) = least else {
                return Ok(None);
            };
            let look = closer.look(least, |solution, i| -measure(z_ohm(solution, i)))?;
            Ok(Some((
                look.grid.f_hz()[look.at],
                z_ohm(&look.solution, look.at),
            )))
        };
        let (least, heats) = (least_by(Complex64::norm)?, least_by(epdr_ohm)?);
        Ok(least
            .zip(heats)
            .map(|(least, heats)| Self::of_two(least, heats)))
    }

    /// Of the least impedance and that of the least equivalent peak dissipation resistance, each with its
    /// frequency.
    fn of_two((at_hz, least): (f64, Complex64), (heats_at_hz, heats): (f64, Complex64)) -> Self {
        Self {
            least_ohm: least.norm(),
            at_hz,
            phase_deg: phase_deg(least),
            least_epdr_ohm: epdr_ohm(heats),
            least_epdr_at_hz: heats_at_hz,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form recomputed from the definition to eight digits; 45° and 90° are exact:
    /// √2/4 and 1/(3√3).
    #[test]
    fn a_reactive_load_heats_a_class_b_stage_more() {
        for (phase_deg, ratio) in [
            (0.0, 1.000_000_00),
            (5.0, 0.863_953_21),
            (10.0, 0.753_330_65),
            (15.0, 0.662_424_08),
            (20.0, 0.587_003_86),
            (25.0, 0.523_890_08),
            (30.0, 0.470_660_25),
            (35.0, 0.425_446_63),
            (40.0, 0.386_793_19),
            (45.0, 0.353_553_39),
            (50.0, 0.324_815_94),
            (55.0, 0.299_850_29),
            (60.0, 0.278_066_14),
            (65.0, 0.258_982_99),
            (70.0, 0.242_207_06),
            (75.0, 0.227_413_61),
            (80.0, 0.214_333_30),
            (85.0, 0.202_741_53),
            (90.0, 0.192_450_09),
            (45.0, std::f64::consts::SQRT_2 / 4.0),
            (90.0, 1.0 / (3.0 * 3f64.sqrt())),
        ] {
            for sign in [-1.0, 1.0] {
                let z = Complex64::from_polar(7.0, sign * f64::to_radians(phase_deg));
                assert!((epdr_ohm(z) / 7.0 - ratio).abs() < 1e-8, "{phase_deg}");
            }
        }
    }

    /// The definition itself: the worst moment of a device, `(V²/|Z|) (1 − sin t) sin(t − φ)`,
    /// against that of a resistor, `V²/(4R)`.
    #[test]
    fn the_closed_form_is_the_worst_moment() {
        for phase_deg in [5.0, 25.0, 50.0, 75.0] {
            let phase = f64::to_radians(phase_deg);
            let worst = (0..200_000)
                .map(|i| std::f64::consts::TAU * f64::from(i) / 200_000.0)
                .map(|t| (1.0 - t.sin()) * (t - phase).sin())
                .fold(0.0, f64::max);
            let z = Complex64::from_polar(8.0, phase);
            assert!((epdr_ohm(z) - 8.0 / (4.0 * worst)).abs() < 1e-6);
        }
    }
}

//! Minimum phase from a magnitude that is piecewise linear in log-log.
//!
//! For a minimum-phase G with L(u) = ln|G|, u = ln(f/f₀) (Bode 1945):
//!
//! ```text
//! arg G(f₀) = (1/π) ∫ (dL/du) · ln coth(|u|/2) du ,   u from −∞ to ∞
//! ```
//!
//! Where L is piecewise linear its slope is a step function, and with
//! F(u) = ∫₀ᵘ ln coth(|v|/2) dv = sgn(u)·(π²/4 − 2·χ₂(e^−|u|)) the integral is a sum over the corners:
//!
//! ```text
//! arg G(f₀) = (π/4)·(s_first + s_last) + (1/π) Σ (s_before − s_after) · F(u_corner)
//! ```
//!
//! χ₂(r) = Σ r^(2k+1)/(2k+1)² is Legendre's chi function. The tails below the first and above the last
//! corner have constant slope to all infinity and are integrated exactly, as everything else is.

use std::f64::consts::{FRAC_PI_4, PI};

/// A magnitude that is piecewise linear in ln f against ln |G|, with straight tails.
#[derive(Debug, Clone, PartialEq)]
pub struct LogLogCurve {
    /// ln f of the corners, rising.
    x: Vec<f64>,
    /// What the slope loses at each corner: before minus after.
    bend: Vec<f64>,
    /// Slope of the lower plus slope of the upper tail.
    tails: f64,
}

impl LogLogCurve {
    /// A curve through the corners (`ln_f`, `ln_magnitude`), with tails of slope `below` and `above`:
    /// d ln|G| / d ln f, so 1 is 6.02 dB per octave.
    ///
    /// # Panics
    /// If there is no corner or the two lists differ in length.
    #[must_use]
    pub fn new(ln_f: &[f64], ln_magnitude: &[f64], below: f64, above: f64) -> Self {
        assert!(!ln_f.is_empty(), "a curve needs a corner");
        assert_eq!(ln_f.len(), ln_magnitude.len(), "one magnitude a frequency");
        let mut before = below;
        let mut bend = Vec::with_capacity(ln_f.len());
        for i in 0..ln_f.len() {
            let after = match i + 1 < ln_f.len() {
                true => (ln_magnitude[i + 1] - ln_magnitude[i]) / (ln_f[i + 1] - ln_f[i]),
                false => above,
            };
            bend.push(before - after);
            before = after;
        }
        Self {
            x: ln_f.to_vec(),
            bend,
            tails: below + above,
        }
    }

    /// Minimum phase at `ln_f`, in radian, exact for the piecewise-linear curve.
    #[must_use]
    pub fn phase_rad(&self, ln_f: f64) -> f64 {
        let corners = self.x.iter().zip(&self.bend);
        let sum: f64 = corners.map(|(x, bend)| bend * kernel(x - ln_f)).sum();
        FRAC_PI_4 * self.tails + sum / PI
    }
}

/// F(u) = ∫₀ᵘ ln coth(|v|/2) dv; odd, ±π²/4 at ±∞.
fn kernel(u: f64) -> f64 {
    const QUARTER: f64 = PI * PI / 4.0;
    let distance = u.abs();
    // Near 0 the reflected series keeps F → 0 without a difference of nearly equal numbers.
    let value = if distance < REFLECT_BELOW {
        let t = (distance / 2.0).tanh();
        if t > 0.0 {
            2.0 * chi_2_series(t) - distance * t.ln()
        } else {
            0.0
        }
    } else {
        QUARTER - 2.0 * chi_2_series((-distance).exp())
    };
    value.copysign(u)
}

/// −ln(√2 − 1): there e^(−u) and tanh(u/2) are equal.
const REFLECT_BELOW: f64 = 0.881_373_587_019_543;

/// χ₂ by its series; good for r up to √2 − 1, where 22 terms reach rounding.
fn chi_2_series(r: f64) -> f64 {
    let square = r * r;
    let mut power = r;
    let mut sum = 0.0;
    let mut odd = 1.0;
    while power > 1e-18 * r && power > 0.0 {
        sum += power / (odd * odd);
        power *= square;
        odd += 2.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_has_90_degrees_a_slope_of_one() {
        let line = LogLogCurve::new(&[1.0, 2.0, 7.0], &[3.0, 4.0, 9.0], 1.0, 1.0);
        for x in [-30.0, 0.0, 1.0, 1.5, 2.0, 40.0] {
            assert!((line.phase_rad(x) - PI / 2.0).abs() < 1e-14);
        }
    }

    #[test]
    fn kernel_agrees_with_midpoint_quadrature() {
        for u in [1e-9, 0.1, 0.8, 0.881, 0.882, 1.0, 3.0, 20.0] {
            // v = u·w³ takes the logarithmic singularity away.
            let steps = 20_000;
            let sum: f64 = (0..steps)
                .map(|i| {
                    let w = (i as f64 + 0.5) / steps as f64;
                    let v: f64 = u * w.powi(3);
                    -(v / 2.0).tanh().ln() * 3.0 * u * w * w
                })
                .sum::<f64>()
                / steps as f64;
            assert!(
                (kernel(u) - sum).abs() < 1e-7 * sum,
                "{u}: {} {sum}",
                kernel(u)
            );
            assert!((kernel(-u) + kernel(u)).abs() < 1e-18);
        }
        assert!(kernel(0.0).abs() < 1e-18);
    }

    #[test]
    fn a_corner_between_two_tails_is_symmetric() {
        // Flat below, 6.02 dB per octave above: 45° at the corner, mirrored about it.
        let corner = LogLogCurve::new(&[0.0], &[0.0], 0.0, 1.0);
        assert!((corner.phase_rad(0.0) - FRAC_PI_4).abs() < 1e-15);
        for x in [0.01, 0.5, 2.0] {
            let pair = corner.phase_rad(x) + corner.phase_rad(-x);
            assert!((pair - PI / 2.0).abs() < 1e-14);
        }
    }
}

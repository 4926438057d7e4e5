//! Bessel's and Struve's functions of order 1.
//!
//! Power series where they lose nothing to cancellation, Hankel's asymptotic series beyond (NIST Digital
//! Library of Mathematical Functions, 10.2.2, 10.17.3, 10.17.4, 11.2.1, 11.6.1).

use std::f64::consts::{FRAC_2_PI, PI};

/// From here on the asymptotic series are the better ones: 2·10⁻⁹ and less.
const FAR: f64 = 20.0;

/// J₁(x) for x ≥ 0, within 2·10⁻⁸.
#[must_use]
pub fn bessel_j1(x: f64) -> f64 {
    if x > FAR {
        return hankel(x).0;
    }
    let quarter = 0.25 * x * x;
    let (mut term, mut sum) = (0.5 * x, 0.5 * x);
    for k in 1..80 {
        let k = f64::from(k);
        term *= -quarter / (k * (k + 1.0));
        sum += term;
    }
    sum
}

/// H₁(x) for x ≥ 0, within 2·10⁻⁸.
#[must_use]
pub fn struve_h1(x: f64) -> f64 {
    if x > FAR {
        // H₁ − Y₁ = (2/π)(1 + 1/x² − 3/x⁴ + 45/x⁶ − …), down to the least term.
        let (mut term, mut sum) = (1.0, 1.0);
        for k in 1..=(x as i32 / 2).min(40) {
            let k = f64::from(k);
            term *= -(2.0 * k - 1.0) * (2.0 * k - 3.0) / (x * x);
            sum += term;
        }
        return hankel(x).1 + FRAC_2_PI * sum;
    }
    // (2/π)(x²/3 − x⁴/45 + …)
    let mut term = FRAC_2_PI * x * x / 3.0;
    let mut sum = term;
    for k in 1..80 {
        let k = f64::from(k);
        term *= -x * x / ((2.0 * k + 1.0) * (2.0 * k + 3.0));
        sum += term;
    }
    sum
}

/// J₁ and Y₁ far from 0: √(2/πx)·(P cos χ − Q sin χ) and the same with P sin χ + Q cos χ, χ = x − 3π/4.
fn hankel(x: f64) -> (f64, f64) {
    let (mut p, mut q) = (0.0, 0.0);
    let mut term = 1.0;
    for k in 0..20 {
        match k % 4 {
            0 => p += term,
            1 => q += term,
            2 => p -= term,
            _ => q -= term,
        }
        let odd = f64::from(2 * k + 1);
        term *= (4.0 - odd * odd) / (8.0 * f64::from(k + 1) * x);
    }
    let (sin, cos) = (x - 0.75 * PI).sin_cos();
    let size = (FRAC_2_PI / x).sqrt();
    (size * (p * cos - q * sin), size * (p * sin + q * cos))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz and Stegun (1964), tables 9.1 and 12.1: from memory, and the same to 12 digits by
    /// numerical integration of Bessel's and Struve's integrals below.
    #[test]
    fn printed_values() {
        for (x, j1, h1) in [
            (1.0, 0.440_050_585_7, 0.198_457_3),
            (2.0, 0.576_724_807_8, 0.646_763_7),
            (4.0, -0.066_043_328_0, 1.069_727),
        ] {
            assert!((bessel_j1(x) - j1).abs() < 1e-10, "{x}: {}", bessel_j1(x));
            assert!((struve_h1(x) - h1).abs() < 5e-7, "{x}: {}", struve_h1(x));
        }
        assert!(bessel_j1(0.0).abs() + struve_h1(0.0).abs() < 1e-300);
    }

    /// J₁ = (1/π)∫cos(θ − x sin θ)dθ over 0 to π, H₁ = (2x/π)∫sin(x cos θ) sin²θ dθ over 0 to π/2, by
    /// Simpson's rule; on both sides of the change of series.
    #[test]
    fn integrals() {
        let simpson = |f: &dyn Fn(f64) -> f64, to: f64| {
            let n = 20_000;
            let h = to / f64::from(n);
            let sum: f64 = (0..=n)
                .map(|i| {
                    let weight = match i {
                        _ if i == 0 || i == n => 1.0,
                        i if i % 2 == 1 => 4.0,
                        _ => 2.0,
                    };
                    weight * f(f64::from(i) * h)
                })
                .sum();
            sum * h / 3.0
        };
        for x in [0.01, 0.5, 3.0, 9.0, 15.0, 19.9, 20.1, 27.0, 60.0, 150.0] {
            let j1 = simpson(&|t| (t - x * t.sin()).cos(), PI) / PI;
            let h1 = 2.0 * x / PI * simpson(&|t| (x * t.cos()).sin() * t.sin().powi(2), PI / 2.0);
            assert!(
                (bessel_j1(x) - j1).abs() < 2e-8,
                "{x}: {} {j1}",
                bessel_j1(x)
            );
            assert!(
                (struve_h1(x) - h1).abs() < 2e-8,
                "{x}: {} {h1}",
                struve_h1(x)
            );
        }
    }
}

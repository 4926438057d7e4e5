//! A flat piston in an infinite baffle.
//!
//! After L. E. Kinsler, A. R. Frey, *Fundamentals of Acoustics* (the equations from memory; the values in the
//! tests recomputed).

use num_complex::Complex64;

use super::special::{bessel_j1, struve_h1};
use crate::air::Air;

/// Acoustic radiation impedance of a round piston of that radius, one side, in Pa·s/m³:
/// ρc/S·(R₁ + jX₁), R₁ = 1 − J₁(2ka)/ka, X₁ = H₁(2ka)/ka.
#[must_use]
pub fn radiation_impedance(radius_m: f64, omega: f64, air: Air) -> Complex64 {
    let ka = omega * radius_m / air.c_m_per_s;
    let (resistance, reactance) = if ka < 1e-3 {
        // The first terms: 1 − J₁(2x)/x would be a difference of nearly equal numbers.
        (0.5 * ka * ka, 8.0 * ka / (3.0 * std::f64::consts::PI))
    } else {
        let x = 2.0 * ka;
        (1.0 - bessel_j1(x) / ka, struve_h1(x) / ka)
    };
    let area_m2 = std::f64::consts::PI * radius_m * radius_m;
    air.rho_kg_per_m3 * air.c_m_per_s / area_m2 * Complex64::new(resistance, reactance)
}

/// Pressure off the axis against that on it far from a round piston, 2J₁(x)/x, x = ka·sin θ.
#[must_use]
pub fn circle_directivity(x: f64) -> f64 {
    let x = x.abs();
    if x < 1e-3 {
        return 1.0 - x * x / 8.0;
    }
    2.0 * bessel_j1(x) / x
}

/// The same across one side of a rectangle, sin(x)/x, x = k·(side/2)·sin θ.
#[must_use]
pub fn slit_directivity(x: f64) -> f64 {
    if x.abs() < 1e-3 {
        return 1.0 - x * x / 6.0;
    }
    x.sin() / x
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kinsler and Frey's table of the piston's functions over 2ka, four decimals: R₁ = 1 − 2J₁(x)/x and
    /// X₁ = 2H₁(x)/x with the printed J₁ and H₁ of Abramowitz and Stegun; recomputed.
    #[test]
    fn functions_of_the_piston() {
        let air = Air::default();
        for (two_ka, resistance, reactance) in [
            (1.0, 0.1199, 0.3969),
            (2.0, 0.4233, 0.6468),
            (4.0, 1.0330, 0.5349),
        ] {
            let radius_m = 0.1;
            let omega = 0.5 * two_ka * air.c_m_per_s / radius_m;
            let unit = air.rho_kg_per_m3 * air.c_m_per_s / (std::f64::consts::PI * 0.01);
            let z = radiation_impedance(radius_m, omega, air) / unit;
            assert!((z.re - resistance).abs() < 6e-5, "{two_ka}: {z}");
            assert!((z.im - reactance).abs() < 6e-5, "{two_ka}: {z}");
        }
    }

    /// Small pistons join the series smoothly.
    #[test]
    fn small_pistons() {
        let air = Air::default();
        let at = |ka: f64| radiation_impedance(0.01, ka * air.c_m_per_s / 0.01, air);
        let (below, above) = (at(0.999_9e-3), at(1.000_1e-3));
        assert!(
            (above.re / below.re - 1.0).abs() < 1e-3 && (above.im / below.im - 1.0).abs() < 1e-3
        );
        assert!((circle_directivity(0.999e-3) - circle_directivity(1.001e-3)).abs() < 1e-9);
    }

    /// The first null of the circle is at x = 3.8317, of the rectangle at π; half pressure at 2.2151 and 1.8955.
    #[test]
    fn nulls_and_half_pressure() {
        assert!(circle_directivity(3.831_706).abs() < 1e-6);
        assert!(slit_directivity(std::f64::consts::PI).abs() < 1e-12);
        assert!((circle_directivity(2.2151) - 0.5).abs() < 3e-5);
        assert!((slit_directivity(1.8955) - 0.5).abs() < 3e-5);
    }
}

//! Denominators of all-pole filters as real polynomials.

use std::f64::consts::PI;

use netlist::project::{Alignment, Family};
use num_complex::Complex64;

use super::SynthesisError;
use super::error::within;

/// A real polynomial in the complex frequency s, coefficients in rising powers.
#[derive(Debug, Clone, PartialEq)]
pub struct Polynomial {
    coefficients: Vec<f64>,
}

impl Polynomial {
    /// The polynomial 1.
    fn one() -> Self {
        Self {
            coefficients: vec![1.0],
        }
    }

    /// Product with another polynomial.
    fn times(&self, factor: &[f64]) -> Self {
        let mut coefficients = vec![0.0; self.coefficients.len() + factor.len() - 1];
        for (i, a) in self.coefficients.iter().enumerate() {
            for (j, b) in factor.iter().enumerate() {
                coefficients[i + j] += a * b;
            }
        }
        Self { coefficients }
    }

    /// The polynomial in s·`factor`: its roots move down by that factor.
    fn with_scaled_variable(mut self, factor: f64) -> Self {
        let mut power = 1.0;
        for coefficient in &mut self.coefficients {
            *coefficient *= power;
            power *= factor;
        }
        self
    }

    /// Coefficients, of s⁰ first.
    #[must_use]
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Value at a complex frequency.
    #[must_use]
    pub fn at(&self, s: Complex64) -> Complex64 {
        self.coefficients
            .iter()
            .rev()
            .fold(Complex64::ZERO, |sum, c| sum * s + c)
    }
}

/// An all-pole low pass, normalised to 1 rad/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prototype {
    /// Butterworth, order 1 to 8: −3.01 dB at 1 rad/s.
    Butterworth {
        /// Order.
        order: u8,
    },
    /// Bessel, order 1 to 8, scaled so that it too is −3.01 dB at 1 rad/s.
    Bessel {
        /// Order.
        order: u8,
    },
    /// Linkwitz–Riley, order 2, 4, 6 or 8: a Butterworth filter of half the order, squared;
    /// −6.02 dB at 1 rad/s. Linkwitz (1976).
    LinkwitzRiley {
        /// Order.
        order: u8,
    },
    /// Chebyshev, order 1 to 8: the ripple band ends at 1 rad/s.
    Chebyshev {
        /// Order.
        order: u8,
        /// Ripple, 0.001 dB to 3 dB.
        ripple_db: f64,
    },
}

impl From<Alignment> for Prototype {
    fn from(alignment: Alignment) -> Self {
        let order = alignment.order;
        match alignment.family {
            Family::LinkwitzRiley => Self::LinkwitzRiley { order },
            Family::Butterworth => Self::Butterworth { order },
            Family::Bessel => Self::Bessel { order },
        }
    }
}

impl Prototype {
    /// The denominator D(s); the filter is D(0)/D(s), which is 1 at zero frequency for even
    /// Chebyshev orders too, as it is in a ladder without source resistance.
    ///
    /// # Errors
    /// If the family has no filter of that order, or the ripple is outside 0.001 dB to 3 dB.
    pub fn denominator(self) -> Result<Polynomial, SynthesisError> {
        match self {
            Self::Butterworth { order } => {
                one_to_eight("Butterworth", order)?;
                Ok(butterworth(order))
            }
            Self::LinkwitzRiley { order } => {
                if !matches!(order, 2 | 4 | 6 | 8) {
                    return Err(SynthesisError::Order {
                        family: "Linkwitz–Riley",
                        order,
                        allowed: "2, 4, 6 or 8",
                    });
                }
                let half = butterworth(order / 2);
                Ok(half.times(half.coefficients()))
            }
            Self::Bessel { order } => {
                one_to_eight("Bessel", order)?;
                let by_delay = bessel_by_delay(order);
                let half_power = half_power_omega(&by_delay);
                Ok(by_delay.with_scaled_variable(half_power))
            }
            Self::Chebyshev { order, ripple_db } => {
                one_to_eight("Chebyshev", order)?;
                let ripple_db = within("ripple in dB", ripple_db, 0.001, 3.0)?;
                Ok(chebyshev(order, ripple_db))
            }
        }
    }
}

fn one_to_eight(family: &'static str, order: u8) -> Result<(), SynthesisError> {
    if (1..=8).contains(&order) {
        return Ok(());
    }
    Err(SynthesisError::Order {
        family,
        order,
        allowed: "1 to 8",
    })
}

/// Product over the pole pairs of a filter whose poles lie at
/// −`across`·sin θ ± j·`along`·cos θ, θ = (2k−1)π/2n: a circle or an ellipse.
fn poles_on_ellipse(order: u8, across: f64, along: f64) -> Polynomial {
    let n = f64::from(order);
    let mut product = Polynomial::one();
    for k in 1..=order / 2 {
        let theta = (2.0 * f64::from(k) - 1.0) * PI / (2.0 * n);
        let (sigma, omega) = (across * theta.sin(), along * theta.cos());
        product = product.times(&[sigma * sigma + omega * omega, 2.0 * sigma, 1.0]);
    }
    if order % 2 == 1 {
        product = product.times(&[across, 1.0]);
    }
    product
}

fn butterworth(order: u8) -> Polynomial {
    poles_on_ellipse(order, 1.0, 1.0)
}

/// Poles on the ellipse with half axes sinh and cosh of asinh(1/ε)/n, ε² = 10^(ripple/10) − 1.
fn chebyshev(order: u8, ripple_db: f64) -> Polynomial {
    let epsilon = (10f64.powf(ripple_db / 10.0) - 1.0).sqrt();
    let angle = (1.0 / epsilon).asinh() / f64::from(order);
    poles_on_ellipse(order, angle.sinh(), angle.cosh())
}

/// Reverse Bessel polynomial, delay 1 s at zero frequency: by the recurrence
/// θₙ = (2n−1)·θₙ₋₁ + s²·θₙ₋₂ from θ₀ = 1, θ₁ = s + 1.
fn bessel_by_delay(order: u8) -> Polynomial {
    let (mut before, mut current) = (vec![1.0], vec![1.0, 1.0]);
    for n in 2..=usize::from(order) {
        let factor = (2 * n - 1) as f64;
        let mut next = vec![0.0; n + 1];
        for (i, c) in current.iter().enumerate() {
            next[i] += factor * c;
        }
        for (i, c) in before.iter().enumerate() {
            next[i + 2] += c;
        }
        (before, current) = (current, next);
    }
    Polynomial {
        coefficients: current,
    }
}

/// Frequency at which a falling all-pole filter has lost half its power, by bisection to the last
/// bit. Printed tables of this factor are rounded and put poles off by up to 1 %.
fn half_power_omega(denominator: &Polynomial) -> f64 {
    let at_zero = denominator.coefficients()[0];
    let (mut low, mut high) = (0.5, 8.0);
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        let loss = denominator.at(Complex64::new(0.0, middle)).norm_sqr();
        if loss < 2.0 * at_zero * at_zero {
            low = middle;
        } else {
            high = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    fn power_at_corner(prototype: Prototype) -> f64 {
        let d = prototype.denominator().unwrap();
        (d.at(Complex64::ZERO) / d.at(Complex64::I)).norm_sqr()
    }

    #[test]
    fn every_family_has_its_level_at_the_corner() {
        for order in 1..=8 {
            for prototype in [
                Prototype::Butterworth { order },
                Prototype::Bessel { order },
            ] {
                assert_relative_eq!(power_at_corner(prototype), 0.5, max_relative = 1e-12);
            }
            if order % 2 == 0 {
                let prototype = Prototype::LinkwitzRiley { order };
                assert_relative_eq!(power_at_corner(prototype), 0.25, max_relative = 1e-12);
            }
            // Even orders start at the bottom of the ripple and end there; odd orders start at the top.
            let prototype = Prototype::Chebyshev {
                order,
                ripple_db: 0.5,
            };
            let expected = if order % 2 == 0 {
                1.0
            } else {
                10f64.powf(-0.05)
            };
            assert_relative_eq!(power_at_corner(prototype), expected, max_relative = 1e-12);
        }
    }

    #[test]
    fn bessel_coefficients_follow_the_factorial_form() {
        // Coefficient of s^k: (2n−k)! / (2^(n−k) k! (n−k)!).
        let factorial = |n: u8| (1..=n).map(f64::from).product::<f64>();
        for n in 1..=8u8 {
            for (k, c) in (0..=n).zip(bessel_by_delay(n).coefficients()) {
                let power = 2f64.powi(i32::from(n - k));
                let expected = factorial(2 * n - k) / (power * factorial(k) * factorial(n - k));
                assert_relative_eq!(*c, expected, max_relative = 1e-14);
            }
        }
    }

    #[test]
    fn orders_and_ripples_that_do_not_exist_are_refused() {
        for prototype in [
            Prototype::Butterworth { order: 0 },
            Prototype::Bessel { order: 9 },
            Prototype::LinkwitzRiley { order: 3 },
            Prototype::LinkwitzRiley { order: 0 },
        ] {
            assert!(matches!(
                prototype.denominator(),
                Err(SynthesisError::Order { .. })
            ));
        }
        for ripple_db in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let prototype = Prototype::Chebyshev {
                order: 3,
                ripple_db,
            };
            assert!(matches!(
                prototype.denominator(),
                Err(SynthesisError::OutOfRange { .. })
            ));
        }
    }
}

//! Complete elliptic integrals by the arithmetic–geometric mean.
//!
//! Arguments are the complementary modulus k′ = √(1 − k²): it is what geometry gives without
//! cancellation where two conductors are near each other.

use std::f64::consts::FRAC_PI_2;

/// K and Σ 2^(n−1)·cₙ² for n from 1 of the arithmetic–geometric mean of 1 and k′.
///
/// NIST Digital Library of Mathematical Functions, 19.8(i): K = π/(2·a), E = K·(1 − Σ 2^(n−1)·cₙ²)
/// from n = 0, c₀ = k (given apart, since k′ alone loses the digits of a small k). cₙ₊₁ = cₙ²/(4·aₙ₊₁) keeps small cₙ exact.
pub(super) fn mean(k: f64, k_complement: f64) -> (f64, f64) {
    let (mut a, mut b, mut c) = (1.0, k_complement, k);
    let (mut power, mut sum) = (1.0, 0.0);
    // Convergence is quadratic: k′ of 10⁻³⁰⁰ takes 13 steps.
    for _ in 0..24 {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
        c = c * c / (4.0 * a);
        sum += power * c * c;
        power *= 2.0;
        if c < 1e-18 * a {
            break;
        }
    }
    (FRAC_PI_2 / a, sum)
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn legendres_relation_holds() {
        // E·K' + E'·K − K·K' = π/2: NIST Digital Library of Mathematical Functions, 19.7.1.
        let both = |k: f64, k_complement: f64| {
            let (big_k, sum) = mean(k, k_complement);
            (big_k, big_k * (1.0 - 0.5 * k * k - sum))
        };
        for k in [0.01_f64, 0.3, 0.5, 0.8, 0.99] {
            let k_complement = ((1.0 - k) * (1.0 + k)).sqrt();
            let ((k1, e1), (k2, e2)) = (both(k, k_complement), both(k_complement, k));
            assert_relative_eq!(e1 * k2 + e2 * k1 - k1 * k2, FRAC_PI_2, max_relative = 1e-13);
        }
        assert_relative_eq!(mean(0.0, 1.0).0, FRAC_PI_2);
    }
}

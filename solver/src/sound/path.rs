//! Delay and spreading from a driver to the listener.

use num_complex::Complex64;

use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Delay and spreading from a driver to the listener.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// Delay against a driver at the origin heard straight from the front, s; may be negative.
    pub delay_s: f64,
    /// Distance by whose inverse the pressure at 1 m is multiplied, m.
    pub distance_m: f64,
}

impl Path {
    /// e^(−jω·delay) / distance at every frequency, with the distance as a number of metres.
    #[must_use]
    pub fn factor(&self, grid: &Grid) -> Spectrum {
        let level = 1.0 / self.distance_m;
        Spectrum::from_fn(grid.len(), |i| {
            Complex64::from_polar(level, -grid.omega()[i] * self.delay_s)
        })
    }
}

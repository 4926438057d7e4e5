//! The way of the sound from a driver to the listener.

use netlist::project::{Listener, Position};
use num_complex::Complex64;

use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// No listener is taken to be nearer than this, m: the 1/distance law has no meaning there.
const LEAST_DISTANCE_M: f64 = 1e-3;

/// Delay and spreading from a driver to the listener.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// Delay against a driver at the origin heard straight from the front, s; may be negative.
    pub delay_s: f64,
    /// Distance by whose inverse the pressure at 1 m is multiplied, m.
    pub distance_m: f64,
}

/// Path from the acoustic centre of a driver at `position` to the listener.
///
/// Without a listener he is far away on the axis: only the depth counts, as a delay of back/c, and
/// the level is that at 1 m. With one, the straight line from driver to listener is `distance_m`,
/// and the delay is what this line is longer than the listener's distance from the plane of the
/// origin: a delay that all drivers share does not turn the phases, and the levels are the real ones.
///
/// A driver is taken as a point that radiates alike in the directions in question.
#[must_use]
pub fn path(position: &Position, listener: Option<&Listener>) -> Path {
    let Some(listener) = listener else {
        return Path {
            delay_s: position.back.0 / SPEED_OF_SOUND_M_PER_S,
            distance_m: 1.0,
        };
    };
    let right_m = listener.right.0 - position.right.0;
    let up_m = listener.up.0 - position.up.0;
    let forward_m = listener.distance.0 + position.back.0;
    let length_m = right_m.hypot(up_m).hypot(forward_m);
    Path {
        delay_s: (length_m - listener.distance.0) / SPEED_OF_SOUND_M_PER_S,
        distance_m: length_m.max(LEAST_DISTANCE_M),
    }
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

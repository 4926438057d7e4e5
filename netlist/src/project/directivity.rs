//! Where a driver sends its sound, as far as the builder knows it.

use crate::quantity::Degrees;
use crate::table::Table;

/// The angle between the two directions in which a source is 6 dB down, in each plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    /// From left to right.
    pub horizontal: Degrees,
    /// From bottom to top.
    pub vertical: Degrees,
}

/// A plane through the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Plane {
    /// Angles above 0 are to the right, seen by the listener.
    Horizontal,
    /// Angles above 0 are upwards.
    Vertical,
}

/// A response measured off the axis, with the drive and the distance of that on it.
#[derive(Debug, Clone)]
pub struct OffAxis {
    /// From the driver's axis, −180 to 180 and not 0.
    pub angle: Degrees,
    /// In which plane.
    pub plane: Plane,
    /// dB SPL and, where the table has it, degrees.
    pub response: Table,
}

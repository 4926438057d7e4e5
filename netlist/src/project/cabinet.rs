//! The cabinet that the drivers are built into.

use crate::quantity::Metres;

/// A box, and where it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cabinet {
    /// Width of the front.
    pub width: Metres,
    /// Height of the front.
    pub height: Metres,
    /// From front to back.
    pub depth: Metres,
    /// Radius to which the edges of the front are rounded; 0 when not said.
    pub edge: Metres,
    /// What it stands at; nothing when not said.
    pub room: RoomLoading,
}

/// Planes next to a cabinet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RoomLoading {
    /// None: far from everything.
    #[default]
    Free,
    /// It stands on a floor.
    Floor,
    /// It stands on a floor with its back at a wall.
    Wall,
    /// It stands on a floor in a corner, its back at one wall and a side at the other.
    Corner,
}

/// The front of the cabinet as one driver has it around itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baffle {
    /// The cabinet.
    pub cabinet: Cabinet,
    /// The middle of the driver, to the right of the middle of the front.
    pub right: Metres,
    /// The same above the lower edge.
    pub up: Metres,
}

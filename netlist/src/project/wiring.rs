//! The wire between amplifier and drivers.

use indexmap::IndexMap;

use crate::quantity::{Metres, SquareMetres};

/// The wire of a loudspeaker; nothing said means wire without resistance.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wiring {
    /// From the amplifier to the loudspeaker.
    pub cable: Option<Wire>,
    /// From the network to each driver, by the driver's name, in file order.
    pub internal: IndexMap<String, Wire>,
}

impl Wiring {
    /// Whether nothing is said of any wire.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cable.is_none() && self.internal.is_empty()
    }
}

/// A pair of copper conductors, there and back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wire {
    /// Length of the pair: from one end to the other, not there and back.
    pub length: Metres,
    /// Nominal section of one conductor.
    pub gauge: SquareMetres,
}

//! What was measured close to a diaphragm.

use super::horn::Opening;
use crate::quantity::{Hertz, SquareMetres, Volts};
use crate::table::Table;

/// How a response of the near field becomes one at a distance.
#[derive(Debug, Clone)]
pub struct NearField {
    /// Area of the diaphragm, from which the level at a distance follows.
    pub sd: SquareMetres,
    /// The vent, measured as close; `None` for a closed box, or where it is left out.
    pub port: Option<NearPort>,
    /// The table of the near field where there is one of the far field too; `None` where the driver's response is
    /// that of the near field.
    pub joined: Option<NearJoin>,
}

/// A near field that gives way to the far field.
#[derive(Debug, Clone)]
pub struct NearJoin {
    /// Level and phase close to the middle of the diaphragm.
    pub response: Table,
    /// Voltage at the driver's terminals during that measurement; that of the far field when not said.
    pub drive: Volts,
    /// Where the one takes over from the other; within both tables.
    pub at: Hertz,
}

/// A vent, or several alike.
#[derive(Debug, Clone)]
pub struct NearPort {
    /// Level and phase in the middle of one mouth, with the voltage of the near field.
    pub response: Table,
    /// One mouth.
    pub size: Opening,
    /// How many there are; 1 when not said.
    pub count: u32,
}

//! A driver of which nothing is said but its data.

use netlist::project::{Driver, Position, Source, Wired};

/// One driver with these data.
#[must_use]
pub fn driver_of(source: Source) -> Driver {
    Driver {
        baffle: None,
        stands_in: None,
        source,
        count: 1,
        wired: Wired::Parallel,
        usable: None,
        resonance: None,
        power: None,
        position: Position::default(),
        instead_of: None,
        size: None,
        coverage: None,
    }
}

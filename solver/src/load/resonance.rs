//! Where a driver resonates, and whether its diaphragm bears it.

use netlist::project::{Driver, Source};
use netlist::quantity::{Hertz, Quantity};

use super::{Conditions, driver_load, main_resonance};
use crate::grid::Grid;

/// A diaphragm that resonates above this is a dome or that of a compression driver, with little room to
/// move (common practice): below its resonance it breaks, where a cone only distorts.
pub const DELICATE_FROM_HZ: f64 = 300.0;

/// Frequencies over which a resonance is looked for.
const POINTS: usize = 600;

/// The main resonance of a driver: as stated, as its data sheet says, or read off its impedance.
///
/// Of a compression driver's resonances the one with the highest peak; of a measured impedance only what
/// is within its table, for beyond it slopes are only held. `None` where nothing stands out.
#[must_use]
pub fn driver_resonance(driver: &Driver) -> Option<Hertz> {
    if driver.resonance.is_some() {
        return driver.resonance;
    }
    let (from_hz, to_hz) = match &driver.source {
        Source::Compression(compression) => {
            return (compression.resonances.iter())
                .max_by(|a, b| a.r.si().total_cmp(&b.r.si()))
                .map(|resonance| resonance.f);
        }
        Source::Measured(measured) => (
            *measured.impedance.f_hz.first()?,
            *measured.impedance.f_hz.last()?,
        ),
        Source::Cone(_) => (5.0, 20_000.0),
    };
    let grid = Grid::log_spaced(from_hz, to_hz, POINTS).ok()?;
    main_resonance(&grid, &driver_load(driver, &grid, &Conditions::default()))
}

/// Whether a driver's diaphragm is made for a short travel: a compression driver, or any other whose
/// resonance, or the band it is usable in where no resonance is known, begins too high for bass.
#[must_use]
pub fn is_delicate(driver: &Driver) -> bool {
    let usable_from = driver.usable.map(|[from, _]| from);
    let lowest = driver_resonance(driver).or(usable_from);
    matches!(driver.source, Source::Compression(_))
        || lowest.is_some_and(|f| f.si() >= DELICATE_FROM_HZ)
}

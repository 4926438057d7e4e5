//! Where a driver resonates, and whether its diaphragm bears it.

use netlist::project::{Driver, Flare, Source};
use netlist::quantity::{Hertz, Quantity};

use super::horn::diaphragm_resonance_hz;
use super::{Conditions, driver_load, main_resonance};
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::grid::Grid;

/// A diaphragm that resonates above this is a dome or that of a compression driver, with little room to
/// move (common practice): below its resonance it breaks, where a cone only distorts.
pub const DELICATE_FROM_HZ: f64 = 300.0;

/// Frequencies over which a resonance is looked for.
const POINTS: usize = 600;

/// The main resonance of a driver: as stated, as its data sheet says, or read off its impedance.
///
/// Of a compression driver's resonances the one with the highest peak; of one with its horn the diaphragm's off the
/// horn, which below its cut-off holds it no longer; of a measured impedance only what
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
        Source::Horn(horn) => return Some(Hertz(diaphragm_resonance_hz(horn))),
        Source::Measured(measured) => (
            *measured.impedance.f_hz.first()?,
            *measured.impedance.f_hz.last()?,
        ),
        Source::Cone(_) => (5.0, 20_000.0),
    };
    let grid = Grid::log_spaced(from_hz, to_hz, POINTS).ok()?;
    main_resonance(&grid, &driver_load(driver, &grid, &Conditions::default()))
}

/// Lower limit of a driver's horn: as stated, or that of its shape; `None` where there is no horn, or a cone,
/// which has none.
///
/// Exponential and hyperbolic: m·c/2π. Tractrix: c/(2π·rim radius).
#[must_use]
pub fn horn_cutoff(driver: &Driver) -> Option<Hertz> {
    let shape = match &driver.source {
        Source::Compression(compression) => return Some(compression.horn.cutoff),
        Source::Horn(driver) => &driver.horn,
        Source::Measured(_) | Source::Cone(_) => return None,
    };
    let per_m = match shape.flare {
        Flare::Exponential | Flare::Hyperbolic { .. } => shape.flare_constant_per_m(),
        Flare::Tractrix => shape.tractrix_rim_m().recip(),
        Flare::Conical => return None,
    };
    Some(Hertz(
        per_m * SPEED_OF_SOUND_M_PER_S / std::f64::consts::TAU,
    ))
}

/// Whether a driver's diaphragm is made for a short travel: a compression driver, or any other whose
/// resonance, or the band it is usable in where no resonance is known, begins too high for bass.
#[must_use]
pub fn is_delicate(driver: &Driver) -> bool {
    let usable_from = driver.usable.map(|[from, _]| from);
    let lowest = driver_resonance(driver).or(usable_from);
    matches!(driver.source, Source::Compression(_) | Source::Horn(_))
        || lowest.is_some_and(|f| f.si() >= DELICATE_FROM_HZ)
}

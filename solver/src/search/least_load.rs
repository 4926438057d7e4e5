//! The least load that a loudspeaker is held to: what is asked for, or else what the amplifier is rated
//! for as far as the drivers themselves allow it.

use netlist::project::{Driver, LEAST_SHARE_OF_RATED_LOAD, Project};
use netlist::quantity::Quantity;

use super::way::Way;
use crate::grid::{AUDIO_BAND_HZ, Grid};
use crate::load::{Conditions, LeastImpedance, driver_load, least_impedance};

/// Who sets the least load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LeastLoadFrom {
    /// `minimum_load` of the aim.
    Asked,
    /// [`LEAST_SHARE_OF_RATED_LOAD`] of the amplifier's rated load.
    RatedLoad,
    /// A driver of less impedance, which has no level to spare for a series resistance.
    Driver {
        /// Its way.
        way: usize,
        /// Its own least impedance in its band.
        own: LeastImpedance,
    },
    /// Nobody: no limit.
    Nobody,
}

/// The least load of ways that are ready, their bands and the level that they are brought to, ohm; 0 where nothing limits it.
pub(super) fn settle(
    project: &Project,
    ways: &[Way],
    bands_hz: &[(f64, f64)],
    reference_db: f64,
) -> (f64, LeastLoadFrom) {
    if let Some(asked) = project.aim.minimum_load {
        return (asked.si(), LeastLoadFrom::Asked);
    }
    let Some(rated_ohm) = rated_share_ohm(project) else {
        return (0.0, LeastLoadFrom::Nobody);
    };
    let mut least = (rated_ohm, LeastLoadFrom::RatedLoad);
    for (number, way) in ways.iter().enumerate() {
        let driver = &project.drivers[way.name.as_str()];
        let Some(own) = least_in_band(driver, bands_hz, number) else {
            continue;
        };
        // What it has to spare may go into a resistance in series.
        let spare_db = (way.level_db - reference_db).max(0.0);
        let reached_ohm = own.magnitude_ohm * 10f64.powf(spare_db / 20.0);
        if reached_ohm < least.0 {
            least = (reached_ohm, LeastLoadFrom::Driver { way: number, own });
        }
    }
    least
}

/// The least load that suits the amplifier, after IEC 60268-5, 16.1, ohm.
pub(super) fn rated_share_ohm(project: &Project) -> Option<f64> {
    let rated = project.amplifier.rated_load?;
    Some(LEAST_SHARE_OF_RATED_LOAD * rated.si())
}

/// Least impedance in the band of a way, which for the load goes to the ends of the audio band. In its own
/// band a filter lets a driver through, so that the amplifier sees no more than the driver and what is in
/// series with it.
pub(crate) fn least_in_band(
    driver: &Driver,
    bands_hz: &[(f64, f64)],
    way: usize,
) -> Option<LeastImpedance> {
    let (mut low, mut high) = bands_hz[way];
    if way == 0 {
        low = low.min(AUDIO_BAND_HZ[0]);
    }
    if way + 1 == bands_hz.len() {
        high = high.max(AUDIO_BAND_HZ[1]);
    }
    let grid = Grid::log_spaced(low, high, 400).ok()?;
    let load = driver_load(driver, &grid, &Conditions::default());
    least_impedance(&grid, &load.z_ohm, low, high)
}

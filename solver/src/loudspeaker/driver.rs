//! A driver of a project over a grid.

use netlist::project::Project;
use netlist::quantity::Quantity;

use crate::grid::Grid;
use crate::load::{Conditions, DriverLoad, Note, driver_load, driver_resonance, is_delicate};
use crate::sound::{Ear, way_to};
use crate::spectrum::Spectrum;
use crate::wiring::lead_ohm;

/// A driver of a loudspeaker.
#[derive(Debug, Clone)]
pub struct LoudspeakerDriver {
    /// Name of the driver in the project.
    pub name: String,
    /// Impedance at its terminals over the grid, ohm.
    pub z_ohm: Spectrum,
    /// What direct current sees, ohm.
    pub re_ohm: f64,
    /// Sound at 1 m on its axis for one volt at its terminals, pascal; polarity is the network's.
    pub pressure_pa_per_v: Spectrum,
    /// The same at the listener.
    pub sound_pa_per_v: Spectrum,
    /// What had to be supplied where its data have gaps.
    pub notes: Vec<Note>,
    /// Rated power, W; of several together.
    pub rated_w: Option<f64>,
    /// Main resonance, Hz.
    pub resonance_hz: Option<f64>,
    /// Whether its diaphragm is made for a short travel: a compression driver, or any other with a
    /// resonance too high for bass.
    pub delicate: bool,
}

impl LoudspeakerDriver {
    /// The driver of a project that is called `name`, heard from the listener's place.
    ///
    /// # Panics
    /// If the project has no such driver.
    #[must_use]
    pub fn new(project: &Project, name: &str, grid: &Grid, conditions: &Conditions) -> Self {
        let driver = &project.drivers[name];
        let load = driver_load(driver, grid, conditions);
        let path = way_to(driver, &Ear::of(project.listener.as_ref()), grid);
        Self {
            name: name.to_owned(),
            z_ohm: load.z_ohm,
            re_ohm: load.re_ohm,
            sound_pa_per_v: load.pressure_pa_per_v.times(&path),
            pressure_pa_per_v: load.pressure_pa_per_v,
            notes: load.notes,
            rated_w: driver.rated_power().map(Quantity::si),
            resonance_hz: driver_resonance(driver).map(Quantity::si),
            delicate: is_delicate(driver),
        }
    }
}

/// A driver of a project as the filter sees it: behind its lead, the voice coil cold.
///
/// # Panics
/// If the project has no such driver.
#[must_use]
pub fn driver_behind_lead(project: &Project, name: &str, grid: &Grid) -> DriverLoad {
    driver_load(&project.drivers[name], grid, &Conditions::default())
        .behind_lead(lead_ohm(project, name))
}

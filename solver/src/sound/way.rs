//! The way of the sound from a driver to the listener.

use netlist::project::{Aim, Driver, Listener, Position, Project};
use netlist::quantity::Decibels;

use super::directivity::Directivity;
use super::ear::{Ear, plays};
use super::path::Path;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Path from the acoustic centre of a driver at `position` to the listener.
///
/// Without a listener he is far away on the axis: only the depth counts, as a delay of back/c, and
/// the level is that at 1 m. With one, the straight line from driver to listener is `distance_m`,
/// and the delay is what this line is longer than the listener's distance from the plane of the
/// origin: a delay that all drivers share does not turn the phases, and the levels are the real ones.
///
/// What leaves the driver in that direction is apart, see [`way_to`].
#[must_use]
pub fn path(position: &Position, listener: Option<&Listener>) -> Path {
    Ear::of(listener).from(position).0
}

/// What the way to the listener takes of the level that a loudspeaker has at 1 m, dB: 20·lg of the
/// geometric mean of the distances of its drivers, in metres. 0 without a listener.
///
/// The drivers are those that the crossovers name, or all where there is no crossover.
#[must_use]
pub fn spreading_db(project: &Project) -> f64 {
    let Some(listener) = project.listener.as_ref() else {
        return 0.0;
    };
    let lg: Vec<f64> = (project.drivers.iter())
        .filter(|(name, _)| plays(project, name))
        .map(|(_, driver)| path(&driver.position, Some(listener)).distance_m.log10())
        .collect();
    20.0 * lg.iter().sum::<f64>() / lg.len().max(1) as f64
}

/// What becomes of a driver's sound at 1 m on its axis on the way to the ear: delay, distance, and the direction in
/// which it leaves.
#[must_use]
pub fn way_to(driver: &Driver, ear: &Ear, grid: &Grid) -> Spectrum {
    let (path, direction) = ear.from(&driver.position);
    match direction[2] >= 1.0 {
        // What leaves to the front needs no table of other directions.
        true => path.factor(grid),
        false => way_of(&driver.position, &Directivity::of(driver, grid), ear, grid),
    }
}

/// The same of a driver whose directivity over the grid is at hand.
#[must_use]
pub fn way_of(position: &Position, directivity: &Directivity, ear: &Ear, grid: &Grid) -> Spectrum {
    let (path, direction) = ear.from(position);
    path.factor(grid).times(&directivity.towards(direction))
}

/// The aim as the listener hears it: its level is stated for 1 m, and all sound is computed at the
/// listener's place.
#[must_use]
pub fn aim_at_listener(project: &Project) -> Aim {
    let spreading_db = spreading_db(project);
    let mut aim = project.aim.clone();
    aim.level = aim.level.map(|level| Decibels(level.0 - spreading_db));
    aim
}

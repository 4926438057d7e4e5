//! Stress on one driver, and how well its filter keeps it from its resonance.

use netlist::project::Project;
use netlist::quantity::Quantity;
use serde::Serialize;

use super::{Meter, NoiseStress, SineStress};
use crate::judge::margins::resonance;
use crate::nodal::Flow;
use crate::search::below_resonance;

/// Stress on one driver.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriverStress {
    /// Name of the driver.
    pub driver: String,
    /// Under noise.
    pub noise: NoiseStress,
    /// Under the worst sine.
    pub sine: SineStress,
    /// Its rated power, W, where stated.
    pub rated_w: Option<f64>,
    /// What it gets at and below its resonance; `None` for the lowest way, and where no resonance or no
    /// crossover is known.
    pub excursion: Option<Excursion>,
}

/// Voltage at and below the resonance of a driver against that at its lower crossover.
///
/// Below its resonance, where a horn no longer loads it, a diaphragm moves about as far at every frequency
/// for one voltage; so the largest voltage there says how far it moves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Excursion {
    /// The crossover, Hz.
    pub crossover_hz: f64,
    /// The driver's main resonance, Hz.
    pub resonance_hz: f64,
    /// Voltage at the resonance against that at the crossover, dB.
    pub at_resonance_db: f64,
    /// The largest voltage at or below the resonance against that at the crossover, dB.
    pub most_db: f64,
    /// Where that is, Hz.
    pub most_at_hz: f64,
}

/// Stress on a driver through which this flows.
pub(super) fn driver_stress(
    project: &Project,
    name: &str,
    meter: &Meter<'_>,
    flow: &Flow,
) -> DriverStress {
    let (noise, sine) = meter.measure(&flow.voltage_v, &[flow]);
    let driver = &project.drivers[name];
    DriverStress {
        driver: name.to_owned(),
        noise,
        sine,
        rated_w: driver.power.map(Quantity::si),
        excursion: excursion(project, name, meter, flow),
    }
}

fn excursion(project: &Project, name: &str, meter: &Meter<'_>, flow: &Flow) -> Option<Excursion> {
    let crossover = (project.crossovers.iter()).find(|crossover| crossover.between[1] == name)?;
    let crossover_hz = crossover.frequency.si();
    let resonance_hz = resonance(&project.drivers[name])?.si();
    let voltage = |i: usize| flow.voltage_v.at(i).norm();
    let found = below_resonance(meter.grid.f_hz(), voltage, resonance_hz, crossover_hz)?;
    Some(Excursion {
        crossover_hz,
        resonance_hz,
        at_resonance_db: found.at_resonance_db,
        most_db: found.most_db,
        most_at_hz: found.most_at_hz,
    })
}

//! Stress on one driver, and how well its filter keeps it from its resonance.

use netlist::project::{Driver, Project};
use netlist::quantity::Quantity;
use serde::Serialize;

use super::{Meter, NoiseStress, SineStress};
use crate::load::{driver_resonance, horn_cutoff, is_delicate};
use crate::nodal::Flow;
use crate::search::{BelowResonance, below_resonance};

/// Stress on one driver.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriverStress {
    /// Name of the driver.
    pub driver: String,
    /// Under noise.
    pub noise: NoiseStress,
    /// Under the worst sine.
    pub sine: SineStress,
    /// Its rated power, W, where stated; of several together.
    pub rated_w: Option<f64>,
    /// What it gets at and below its resonance; `None` for the lowest way, and where no resonance is known.
    pub excursion: Option<Excursion>,
}

/// Voltage at and below the resonance of a driver against that where it begins to play.
///
/// Below its resonance, where a horn no longer loads it, a diaphragm moves about as far at every frequency
/// for one voltage; so the largest voltage there says how far it moves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Excursion {
    /// What the driver must be kept from.
    #[serde(flatten)]
    pub limits: DriverLimits,
    /// What it gets there.
    #[serde(flatten)]
    pub gets: BelowResonance,
}

/// What a driver must be kept from, and where it begins to play.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DriverLimits {
    /// Where it begins to play, Hz: its lower crossover; where it has none the lower end of its usable
    /// band, or else an octave above its resonance.
    pub crossover_hz: f64,
    /// What that is.
    pub begins: PlaysFrom,
    /// The driver's main resonance, or what stands for it, Hz.
    pub resonance_hz: f64,
    /// What that is.
    pub below: KeptFrom,
    /// Whether the diaphragm has little room to move.
    pub delicate: bool,
}

/// What a driver must be kept from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KeptFrom {
    /// Its resonance.
    Resonance,
    /// Its horn's cut-off, where no resonance is known.
    HornCutoff,
    /// What is below its usable band, where nothing else is known.
    UsableBand,
}

/// Where a driver begins to play.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PlaysFrom {
    /// At its lower crossover.
    Crossover,
    /// At the lower end of its usable band.
    UsableBand,
    /// An octave above its resonance.
    OctaveAboveResonance,
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
        rated_w: driver.rated_power().map(Quantity::si),
        excursion: excursion(project, name, meter, flow),
    }
}

impl DriverLimits {
    /// Of a driver of a project; `None` for the lowest way, and where nothing is known.
    pub(super) fn of(project: &Project, name: &str, driver: &Driver) -> Option<Self> {
        let usable = driver.usable.map(|[from, _]| from.si());
        let known = [
            (
                KeptFrom::Resonance,
                driver_resonance(driver).map(Quantity::si),
            ),
            (KeptFrom::HornCutoff, horn_cutoff(driver).map(Quantity::si)),
            (KeptFrom::UsableBand, usable),
        ];
        let (below, resonance_hz) =
            (known.into_iter()).find_map(|(below, f_hz)| Some((below, f_hz?)))?;
        let crossover = (project.crossovers.iter()).find(|crossover| crossover.between[1] == name);
        let lowest = (project.crossovers.iter()).any(|crossover| crossover.between[0] == name);
        if crossover.is_none() && lowest {
            return None;
        }
        let (begins, crossover_hz) = match (crossover, usable) {
            (Some(crossover), _) => (PlaysFrom::Crossover, crossover.frequency.si()),
            (None, Some(from_hz)) if from_hz > resonance_hz => (PlaysFrom::UsableBand, from_hz),
            _ => (PlaysFrom::OctaveAboveResonance, 2.0 * resonance_hz),
        };
        Some(Self {
            below,
            resonance_hz,
            begins,
            crossover_hz,
            delicate: is_delicate(driver),
        })
    }

    /// Frequencies at which its voltage is asked for, Hz.
    pub(super) fn asked_hz(&self) -> [f64; 3] {
        [
            0.5 * self.resonance_hz,
            self.resonance_hz,
            self.crossover_hz,
        ]
    }
}

/// The grid of the meter has the frequencies that are asked for, so that none is read off a neighbour.
fn excursion(project: &Project, name: &str, meter: &Meter<'_>, flow: &Flow) -> Option<Excursion> {
    let limits = DriverLimits::of(project, name, &project.drivers[name])?;
    let voltage = |i: usize| flow.voltage_v.at(i).norm();
    let (resonance_hz, crossover_hz) = (limits.resonance_hz, limits.crossover_hz);
    let found = below_resonance(meter.grid.f_hz(), voltage, resonance_hz, crossover_hz)?;
    // Outside of the audio band the nearest frequency may be a little above.
    let most_at_hz = found.most_at_hz.min(resonance_hz);
    let gets = BelowResonance {
        most_at_hz,
        ..found
    };
    Some(Excursion { limits, gets })
}

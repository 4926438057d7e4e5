//! A loudspeaker made ready to be judged: network, drivers and amplifier over one grid.

use netlist::network::{Network, PartKind};
use netlist::project::{Aim, Driver, Project, Stock};
use netlist::quantity::Quantity;
use num_complex::Complex64;

use crate::amplifier::{nominal_output_ohm, open_circuit_v, source_impedance};
use crate::directions::judged_over;
use crate::grid::{Grid, GridError};
use crate::load::{Conditions, driver_load, driver_resonance, is_delicate};
use crate::nodal::{Drive, PlanError, SourceImpedance};
use crate::search::{REFERENCE_V, least_load_ohm};
use crate::sound::{Coherence, Ear, aim_at_listener, way_to};
use crate::spectrum::Spectrum;

/// A loudspeaker made ready to be judged.
#[derive(Debug, Clone)]
pub struct Speaker {
    /// The network.
    pub network: Network,
    /// Frequencies of everything here.
    pub grid: Grid,
    /// The drivers that the network feeds, in the order of its parts.
    pub drivers: Vec<SpeakerDriver>,
    /// Output impedance of the amplifier, ohm.
    pub output_impedance_ohm: SourceImpedance,
    /// The same in one number, ohm: that at [`NOMINAL_HZ`](crate::amplifier::NOMINAL_HZ).
    pub nominal_output_ohm: Complex64,
    /// Power for which the amplifier is rated, W.
    pub rated_power_w: Option<f64>,
    /// Load for which the amplifier is rated, ohm.
    pub rated_load_ohm: Option<f64>,
    /// The least load that is held, ohm; `None` where nothing limits it.
    pub least_load_ohm: Option<f64>,
    /// What is asked for, its level at the listener.
    pub aim: Aim,
    /// How the drivers add where that judges their sum; `None` on the axis.
    pub window: Option<Coherence>,
    /// What can be bought.
    pub stock: Stock,
}

/// A driver of a [`Speaker`].
#[derive(Debug, Clone)]
pub struct SpeakerDriver {
    /// Name of the driver in the project.
    pub name: String,
    /// Impedance over the grid, ohm.
    pub z_ohm: Spectrum,
    /// Sound at the listener for one volt at the driver, pascal; polarity is the network's.
    pub sound: Spectrum,
    /// Rated power, W; of several together.
    pub rated_w: Option<f64>,
    /// Main resonance, Hz.
    pub resonance_hz: Option<f64>,
    /// Whether its diaphragm is made for a short travel: a compression driver, or any other with a
    /// resonance too high for bass.
    pub delicate: bool,
}

impl SpeakerDriver {
    /// A driver of a project over a grid, heard from the listener's place.
    #[must_use]
    pub fn new(project: &Project, name: &str, driver: &Driver, grid: &Grid) -> Self {
        let load = driver_load(driver, grid, &Conditions::default());
        let path = way_to(driver, &Ear::of(project.listener.as_ref()), grid);
        Self {
            name: name.to_owned(),
            z_ohm: load.z_ohm,
            sound: Spectrum::from_fn(grid.len(), |i| load.pressure_pa_per_v.at(i) * path.at(i)),
            rated_w: driver.rated_power().map(Quantity::si),
            resonance_hz: driver_resonance(driver).map(Quantity::si),
            delicate: is_delicate(driver),
        }
    }
}

impl Speaker {
    /// Makes `network` ready, with the drivers and the amplifier of `project`, over `grid`.
    ///
    /// The network is given apart so that it may differ from the project's, by the resistance of its
    /// wiring for example.
    ///
    /// # Errors
    /// If the network feeds a driver that the project has not.
    pub fn new(project: &Project, network: Network, grid: Grid) -> Result<Self, PlanError> {
        let fed: Vec<&str> = network.driver_names().collect();
        let drivers: Vec<SpeakerDriver> = (fed.iter())
            .filter_map(|name| Some((*name, project.drivers.get(*name)?)))
            .map(|(name, driver)| SpeakerDriver::new(project, name, driver, &grid))
            .collect();
        if drivers.len() != fed.len() {
            return Err(PlanError::WrongLoads {
                given: drivers.len(),
                drivers: fed.len(),
                points: grid.len(),
                expected: grid.len(),
            });
        }
        let amplifier = &project.amplifier;
        let rated_load_ohm = amplifier.rated_load.map(Quantity::si);
        Ok(Self {
            drivers,
            output_impedance_ohm: source_impedance(amplifier, &grid),
            nominal_output_ohm: nominal_output_ohm(amplifier),
            rated_power_w: amplifier.rated_power.map(Quantity::si),
            rated_load_ohm,
            least_load_ohm: least_load_ohm(project),
            aim: aim_at_listener(project),
            window: judged_over(project, &fed, &grid),
            stock: project.stock.clone(),
            network,
            grid,
        })
    }

    /// The grid on which the sum and the load are judged: 200 points over the aim's band, and the rest
    /// of the audio band more thinly.
    ///
    /// # Errors
    /// If the aim's band is no band.
    pub fn aim_grid(aim: &Aim) -> Result<Grid, GridError> {
        crate::search::aim_grid(aim.from.si(), aim.to.si())
    }

    /// The amplifier at [`REFERENCE_V`] open circuit.
    #[must_use]
    pub fn reference_drive(&self) -> Drive {
        Drive {
            open_circuit_v: REFERENCE_V,
            output_impedance_ohm: self.output_impedance_ohm.clone(),
        }
    }

    /// The amplifier at rated power into its rated load; `None` where the project does not state both.
    #[must_use]
    pub fn rated_drive(&self) -> Option<Drive> {
        let (power_w, load_ohm) = self.rated_power_w.zip(self.rated_load_ohm)?;
        Some(Drive {
            open_circuit_v: open_circuit_v(power_w, load_ohm, self.nominal_output_ohm),
            output_impedance_ohm: self.output_impedance_ohm.clone(),
        })
    }

    /// Impedances of the drivers, in the order of the parts.
    pub(super) fn loads(&self) -> Vec<&Spectrum> {
        self.drivers.iter().map(|driver| &driver.z_ohm).collect()
    }

    /// Sound of each driver for one volt, polarity included, in the order of the parts.
    pub(super) fn signed_sounds(&self) -> Vec<Spectrum> {
        let inverted = self
            .network
            .parts()
            .values()
            .filter_map(|part| match part.kind {
                PartKind::Driver { inverted, .. } => Some(inverted),
                _ => None,
            });
        (self.drivers.iter().zip(inverted))
            .map(|(driver, inverted)| {
                let sign = if inverted { -1.0 } else { 1.0 };
                Spectrum::from_fn(self.grid.len(), |i| driver.sound.at(i) * sign)
            })
            .collect()
    }
}

//! The whole loudspeaker: compiled, solved, its curves and load.

use std::sync::Arc;

use netlist::network::{GND_NAME, Network, NodeId};
use netlist::project::Project;
use num_complex::Complex64;

use super::{Circumstances, LoudspeakerDriver};
use crate::amplifier::{nominal_output_ohm, source_impedance};
use crate::goal::LoadFigures;
use crate::grid::Grid;
use crate::load::{Conditions, Note, REFERENCE_V};
use crate::nodal::{Closer, Drive, Flow, Plan, PlanError, RunReport, Solution, Values};
use crate::programme::Loudness;
use crate::sound::{sign, sum, way_pressure};
use crate::spectrum::Spectrum;
use crate::wiring::wired;

/// A network with the drivers and the amplifier of a project over one grid, ready to be computed.
#[derive(Debug, Clone)]
pub struct Loudspeaker {
    /// The network, its wire included.
    pub network: Network,
    /// The network compiled.
    pub plan: Plan,
    /// Values of its parts.
    pub values: Values,
    /// The amplifier at [`REFERENCE_V`] open circuit.
    pub drive: Drive,
    /// Its output impedance in one number, ohm: that at [`NOMINAL_HZ`](crate::amplifier::NOMINAL_HZ).
    pub nominal_output_ohm: Complex64,
    /// Frequencies of everything here.
    pub grid: Grid,
    /// The drivers that the network feeds, in the order of its parts.
    pub drivers: Arc<[LoudspeakerDriver]>,
    /// Voice coils and air under which they were computed.
    pub conditions: Conditions,
    /// How loud the amplifier is at its rated power.
    pub loudness: Loudness,
}

/// What a loudspeaker does, at [`REFERENCE_V`] open circuit, at the listener.
#[derive(Debug, Clone)]
pub struct Curves {
    /// Driver and sound of each way, in pascal, in the order of the parts.
    pub ways: Vec<(String, Spectrum)>,
    /// Their sum, in pascal.
    pub system: Spectrum,
    /// Impedance that the amplifier sees, in ohm; `None` where no current flows.
    pub load: Vec<Option<Complex64>>,
    /// Voltage of every node but `gnd`, in volt.
    pub nodes: Vec<(String, Spectrum)>,
    /// How the run went.
    pub report: RunReport,
}

impl Loudspeaker {
    /// A project with its own network, wire included; `None` for a brief.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn new(project: &Project, grid: Grid) -> Result<Option<Self>, PlanError> {
        let as_written = Circumstances::default();
        own_network(project, &as_written)
            .map(|network| Self::of(project, network, grid, &as_written))
            .transpose()
    }

    /// Any network, in which its wire is already, with the drivers and the amplifier of `project`.
    ///
    /// # Errors
    /// If the network cannot be solved, or feeds a driver that the project has not.
    pub fn of(
        project: &Project,
        network: Network,
        grid: Grid,
        circumstances: &Circumstances,
    ) -> Result<Self, PlanError> {
        let fed: Vec<&str> = network.driver_names().collect();
        let known: Vec<&str> = (fed.iter().copied())
            .filter(|name| project.drivers.contains_key(*name))
            .collect();
        if known.len() != fed.len() {
            return Err(PlanError::WrongLoads {
                given: known.len(),
                drivers: fed.len(),
                points: grid.len(),
                expected: grid.len(),
            });
        }
        let conditions = &circumstances.conditions;
        let drivers = (known.iter())
            .map(|name| LoudspeakerDriver::new(project, name, &grid, conditions))
            .collect();
        Self::with_drivers(project, network, grid, circumstances, drivers)
    }

    /// A project's own network under other circumstances; the drivers are computed anew only where these touch them.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn changed(
        &self,
        project: &Project,
        circumstances: &Circumstances,
    ) -> Result<Option<Self>, PlanError> {
        let Some(network) = own_network(project, circumstances) else {
            return Ok(None);
        };
        let grid = self.grid.clone();
        if circumstances.conditions != self.conditions {
            return Self::of(project, network, grid, circumstances).map(Some);
        }
        let drivers = Arc::clone(&self.drivers);
        Self::with_drivers(project, network, grid, circumstances, drivers).map(Some)
    }

    fn with_drivers(
        project: &Project,
        network: Network,
        grid: Grid,
        circumstances: &Circumstances,
        drivers: Arc<[LoudspeakerDriver]>,
    ) -> Result<Self, PlanError> {
        let amplifier = &project.amplifier;
        let (source, nominal_output_ohm) = match circumstances.output_impedance_ohm {
            Some(ohm) => (ohm.into(), ohm.into()),
            None => (
                source_impedance(amplifier, &grid),
                nominal_output_ohm(amplifier),
            ),
        };
        Ok(Self {
            plan: Plan::compile(&network)?,
            values: Values::of(&network),
            network,
            drive: Drive {
                open_circuit_v: REFERENCE_V,
                output_impedance_ohm: source,
            },
            nominal_output_ohm,
            grid,
            drivers,
            conditions: circumstances.conditions,
            loudness: Loudness::of(amplifier),
        })
    }

    /// What had to be supplied where the drivers' data have gaps, with the driver's name.
    pub fn notes(&self) -> impl Iterator<Item = (&str, &Note)> {
        self.drivers
            .iter()
            .flat_map(|driver| driver.notes.iter().map(|note| (driver.name.as_str(), note)))
    }

    /// Impedances of the drivers, in the order of the parts, ohm.
    #[must_use]
    pub fn loads_z_ohm(&self) -> Vec<&Spectrum> {
        self.drivers.iter().map(|driver| &driver.z_ohm).collect()
    }

    fn closer<'a>(&'a self, loads: &'a [&'a Spectrum]) -> Closer<'a> {
        Closer {
            plan: &self.plan,
            values: &self.values,
            drive: &self.drive,
            grid: &self.grid,
            loads,
        }
    }

    /// Solves the network.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`Loudspeaker::of`] rules out.
    pub fn solve(&self) -> Result<(Solution, RunReport), PlanError> {
        self.closer(&self.loads_z_ohm()).run()
    }

    /// Figures of the load, looked for between the frequencies of the grid too; `None` where no current flows.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`Loudspeaker::of`] rules out.
    pub fn load_figures(&self) -> Result<Option<LoadFigures>, PlanError> {
        LoadFigures::of(&self.closer(&self.loads_z_ohm()), 0.0)
    }

    /// What flows in every part, at [`REFERENCE_V`] open circuit.
    #[must_use]
    pub fn flows(&self, solution: &Solution) -> Vec<Flow> {
        (self.plan).flows(&self.values, &self.grid, &self.loads_z_ohm(), solution)
    }

    /// Computes everything.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`Loudspeaker::of`] rules out.
    pub fn curves(&self) -> Result<Curves, PlanError> {
        let (solution, report) = self.solve()?;
        let ways = self.at_drivers(&solution, |driver| &driver.sound_pa_per_v);
        let nodes = (self.plan.node_names().iter().enumerate())
            .filter(|(_, name)| *name != GND_NAME)
            .map(|(node, name)| {
                let (re, im) = solution.node(NodeId(node));
                let volts = Spectrum {
                    re: re.to_vec(),
                    im: im.to_vec(),
                };
                (name.clone(), volts)
            })
            .collect();
        Ok(Curves {
            system: sum(ways.iter().map(|(_, sound)| sound)),
            ways,
            load: (0..self.grid.len())
                .map(|i| solution.input_impedance_at(i))
                .collect(),
            nodes,
            report,
        })
    }

    /// Sound of each driver at the listener for one volt at its terminals, with the polarity of the network, in
    /// pascal; in the order of the parts.
    #[must_use]
    pub fn signed_sounds_pa_per_v(&self) -> Vec<Spectrum> {
        let signs = self
            .plan
            .driver_outputs()
            .map(|(_, inverted)| sign(inverted));
        (self.drivers.iter().zip(signs))
            .map(|(driver, sign)| {
                let sound = &driver.sound_pa_per_v;
                Spectrum::from_fn(sound.len(), |i| sound.at(i) * sign)
            })
            .collect()
    }

    /// What each driver gives at 1 m on its own axis at [`REFERENCE_V`], polarity included, in pascal; in the order of
    /// the parts.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`Loudspeaker::of`] rules out.
    pub fn radiated(&self) -> Result<Vec<(String, Spectrum)>, PlanError> {
        let (solution, _) = self.solve()?;
        Ok(self.at_drivers(&solution, |driver| &driver.pressure_pa_per_v))
    }

    /// Names of the drivers and what each gives with its voltage, polarity included.
    fn at_drivers(
        &self,
        solution: &Solution,
        per_volt: impl Fn(&LoudspeakerDriver) -> &Spectrum,
    ) -> Vec<(String, Spectrum)> {
        (self.drivers.iter().zip(self.plan.driver_outputs()))
            .map(|(driver, (output, inverted))| {
                let volts = solution.output(output);
                let given = way_pressure(&volts, inverted, per_volt(driver));
                (driver.name.clone(), given)
            })
            .collect()
    }
}

/// The network of a project under given circumstances; `None` for a brief.
fn own_network(project: &Project, circumstances: &Circumstances) -> Option<Network> {
    let bare = project.network.as_ref()?;
    Some(match circumstances.without_wiring {
        true => bare.clone(),
        false => wired(bare, &project.wiring),
    })
}

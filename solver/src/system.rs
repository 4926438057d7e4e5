//! A project with its network over a grid: from the file to curves.

use netlist::network::Network;
use netlist::project::Project;
use num_complex::Complex64;

use crate::amplifier::{nominal_output_ohm, source_impedance};
use crate::grid::Grid;
use crate::load::{Conditions, Note, driver_load};
use crate::nodal::{Drive, Flow, Plan, PlanError, RunReport, Solution, Values, Workspace};
use crate::search::REFERENCE_V;
use crate::sound::{Ear, sum, way_pressure, way_to};
use crate::spectrum::Spectrum;
use crate::wiring::wired;

/// Under what a loudspeaker is looked at; by default as the project says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Circumstances {
    /// Voice coils and air.
    pub conditions: Conditions,
    /// Output impedance in the place of the amplifier's own, ohm.
    pub output_impedance_ohm: Option<f64>,
    /// As if cable and leads had no resistance.
    pub without_wiring: bool,
}

/// A loudspeaker ready to be computed.
#[derive(Debug, Clone)]
pub struct System {
    network: Network,
    plan: Plan,
    values: Values,
    drive: Drive,
    nominal_output_ohm: Complex64,
    grid: Grid,
    ways: Vec<SystemWay>,
}

#[derive(Debug, Clone)]
struct SystemWay {
    driver: String,
    z_ohm: Spectrum,
    pressure_pa_per_v: Spectrum,
    path: Spectrum,
    notes: Vec<Note>,
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

impl System {
    /// Makes a project with a network ready, its wire included; `None` for a brief.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn new(project: &Project, grid: Grid) -> Result<Option<Self>, PlanError> {
        Self::under(project, grid, &Circumstances::default())
    }

    /// The same under given circumstances.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn under(
        project: &Project,
        grid: Grid,
        circumstances: &Circumstances,
    ) -> Result<Option<Self>, PlanError> {
        let Some(bare) = &project.network else {
            return Ok(None);
        };
        let network = if circumstances.without_wiring {
            bare.clone()
        } else {
            wired(bare, &project.wiring)
        };
        let plan = Plan::compile(&network)?;
        let ways = plan
            .drivers()
            .iter()
            .map(|name| {
                let driver = &project.drivers[name.as_str()];
                let load = driver_load(driver, &grid, &circumstances.conditions);
                SystemWay {
                    driver: name.clone(),
                    z_ohm: load.z_ohm,
                    pressure_pa_per_v: load.pressure_pa_per_v,
                    path: way_to(driver, &Ear::of(project.listener.as_ref()), &grid),
                    notes: load.notes,
                }
            })
            .collect();
        let amplifier = &project.amplifier;
        let (source, nominal_output_ohm) = match circumstances.output_impedance_ohm {
            Some(ohm) => (ohm.into(), ohm.into()),
            None => (
                source_impedance(amplifier, &grid),
                nominal_output_ohm(amplifier),
            ),
        };
        Ok(Some(Self {
            values: Values::of(&network),
            network,
            plan,
            drive: Drive {
                open_circuit_v: REFERENCE_V,
                output_impedance_ohm: source,
            },
            nominal_output_ohm,
            grid,
            ways,
        }))
    }

    /// What had to be supplied where the drivers' data have gaps, with the driver's name.
    pub fn notes(&self) -> impl Iterator<Item = (&str, &Note)> {
        self.ways
            .iter()
            .flat_map(|way| way.notes.iter().map(|note| (way.driver.as_str(), note)))
    }

    /// Impedances of the drivers, in the order of the parts.
    #[must_use]
    pub fn loads_z_ohm(&self) -> Vec<&Spectrum> {
        self.ways.iter().map(|way| &way.z_ohm).collect()
    }

    /// Solves the network.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`System::new`] rules out.
    pub fn solve(&self) -> Result<(Solution, RunReport), PlanError> {
        let mut workspace = Workspace::new(&self.plan, &self.grid, &self.loads_z_ohm())?;
        let mut solution = Solution::new(&self.plan, &workspace);
        let report = self
            .plan
            .run(&self.values, &self.drive, &mut workspace, &mut solution);
        Ok((solution, report))
    }

    /// What flows in every part, at [`REFERENCE_V`] open circuit.
    #[must_use]
    pub fn flows(&self, solution: &Solution) -> Vec<Flow> {
        (self.plan).flows(&self.values, &self.grid, &self.loads_z_ohm(), solution)
    }

    /// Computes everything.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`System::new`] rules out.
    pub fn curves(&self) -> Result<Curves, PlanError> {
        let (solution, report) = self.solve()?;
        let ways: Vec<(String, Spectrum)> = self
            .ways
            .iter()
            .zip(self.plan.driver_outputs())
            .map(|(way, (output, inverted))| {
                let volts = solution.output(output);
                let sound = way_pressure(&volts, inverted, &way.pressure_pa_per_v, &way.path);
                (way.driver.clone(), sound)
            })
            .collect();
        let nodes = (self.plan.node_names().iter().enumerate())
            .filter(|(_, name)| *name != netlist::network::GND_NAME)
            .map(|(node, name)| {
                let (re, im) = solution.node(netlist::network::NodeId(node));
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

    /// The frequencies.
    #[must_use]
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// The network with its wire.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The network compiled.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Values of the parts, wire included.
    #[must_use]
    pub fn values(&self) -> &Values {
        &self.values
    }

    /// Sound of each driver at the listener for one volt at its terminals, polarity left out, in pascal; in the
    /// order of the parts.
    #[must_use]
    pub fn sounds_pa_per_v(&self) -> Vec<Spectrum> {
        let per_volt = |way: &SystemWay| {
            let ones = Spectrum::from_fn(self.grid.len(), |_| 1.0.into());
            way_pressure(&ones, false, &way.pressure_pa_per_v, &way.path)
        };
        self.ways.iter().map(per_volt).collect()
    }

    /// What each driver gives at 1 m on its own axis at [`REFERENCE_V`], polarity included, in pascal; in the order of
    /// the parts.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`System::new`] rules out.
    pub fn radiated(&self) -> Result<Vec<(String, Spectrum)>, PlanError> {
        let (solution, _) = self.solve()?;
        let straight = Spectrum::from_fn(self.grid.len(), |_| 1.0.into());
        let ways = self.ways.iter().zip(self.plan.driver_outputs());
        Ok(ways
            .map(|(way, (output, inverted))| {
                let volts = solution.output(output);
                let sound = way_pressure(&volts, inverted, &way.pressure_pa_per_v, &straight);
                (way.driver.clone(), sound)
            })
            .collect())
    }

    /// The amplifier.
    #[must_use]
    pub fn drive(&self) -> &Drive {
        &self.drive
    }

    /// Its output impedance in one number, ohm: that at [`NOMINAL_HZ`](crate::amplifier::NOMINAL_HZ).
    #[must_use]
    pub fn nominal_output_ohm(&self) -> Complex64 {
        self.nominal_output_ohm
    }
}

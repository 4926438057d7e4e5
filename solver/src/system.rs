//! A project with its network over a grid: from the file to curves.

use netlist::project::Project;
use netlist::quantity::Quantity;

use crate::grid::Grid;
use crate::load::{Conditions, Note, driver_load};
use crate::nodal::{Drive, Plan, PlanError, RunReport, Solution, Values, Workspace};
use crate::search::REFERENCE_V;
use crate::sound::{path, sum, way_pressure};
use crate::spectrum::Spectrum;

/// A loudspeaker ready to be computed.
#[derive(Debug)]
pub struct System {
    plan: Plan,
    values: Values,
    drive: Drive,
    grid: Grid,
    ways: Vec<SystemWay>,
}

#[derive(Debug)]
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
    pub load: Vec<Option<num_complex::Complex64>>,
    /// Voltage of every node but `gnd`, in volt.
    pub nodes: Vec<(String, Spectrum)>,
    /// How the run went.
    pub report: RunReport,
}

impl System {
    /// Makes a project with a network ready; `None` for a brief.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn new(project: &Project, grid: Grid) -> Result<Option<Self>, PlanError> {
        let Some(network) = &project.network else {
            return Ok(None);
        };
        let plan = Plan::compile(network)?;
        let ways = plan
            .drivers()
            .iter()
            .map(|name| {
                let driver = &project.drivers[name.as_str()];
                let load = driver_load(driver, &grid, &Conditions::default());
                SystemWay {
                    driver: name.clone(),
                    z_ohm: load.z_ohm,
                    pressure_pa_per_v: load.pressure_pa_per_v,
                    path: path(&driver.position, project.listener.as_ref()).factor(&grid),
                    notes: load.notes,
                }
            })
            .collect();
        Ok(Some(Self {
            values: Values::of(network),
            plan,
            drive: Drive {
                open_circuit_v: REFERENCE_V,
                output_impedance_ohm: project.amplifier.output_impedance.si(),
            },
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

    /// Computes everything.
    ///
    /// # Errors
    /// If a load does not fit the network, which [`System::new`] rules out.
    pub fn curves(&self) -> Result<Curves, PlanError> {
        let loads: Vec<&Spectrum> = self.ways.iter().map(|way| &way.z_ohm).collect();
        let mut workspace = Workspace::new(&self.plan, &self.grid, &loads)?;
        let mut solution = Solution::new(&self.plan, &workspace);
        let report = self
            .plan
            .run(&self.values, self.drive, &mut workspace, &mut solution);
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
}

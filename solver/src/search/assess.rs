//! Figures of merit of a network of a job.

use std::collections::BTreeMap;

use netlist::network::Network;
use netlist::project::Project;

use super::job::Job;
use crate::goal::{Figures, LoadFigures, Targets, figures};
use crate::grid::Grid;
use crate::loudspeaker::driver_behind_lead;
use crate::nodal::{Closer, Plan, PlanError, STIFF, Values};
use crate::sound::sign;
use crate::spectrum::Spectrum;

/// Figures of merit of a network of this job, whose drivers may stand in any order.
#[must_use]
pub fn judge(
    job: &Job,
    network: &Network,
    targets: &Targets,
    audio: &AudioLoads,
) -> Option<(Figures, LoadFigures)> {
    let ways = sounds(job, network)?;
    let level_db = job.aim.level.map(|level| level.0);
    let figures = figures(job.grid.f_hz(), &ways, targets, level_db);
    let load = audio.load(job, network).ok().flatten()?;
    Some((figures, load))
}

/// Sound of every way at the listener, polarity included, pascal; `None` where the network cannot be solved or feeds a
/// driver that is no way.
pub(crate) fn sounds(job: &Job, network: &Network) -> Option<Vec<Spectrum>> {
    SolvedWays::of(job, network)
        .ok()
        .map(|solved| solved.pressure)
}

/// What a network of a job makes of its ways.
#[derive(Debug, Clone)]
pub(crate) struct SolvedWays {
    /// Voltage at the driver of each way, volt.
    pub(crate) voltage: Vec<Spectrum>,
    /// Sound of each way at the listener, polarity included, pascal.
    pub(crate) pressure: Vec<Spectrum>,
    /// Size of the load, ohm.
    pub(crate) load_ohm: Vec<f64>,
}

impl SolvedWays {
    /// With the ways' own impedances.
    ///
    /// # Errors
    /// If the network cannot be solved or feeds a driver that is no way.
    pub(crate) fn of(job: &Job, network: &Network) -> Result<Self, PlanError> {
        Self::with(job, network, |name| {
            let way = job.ways.iter().find(|way| way.name == name)?;
            Some(&way.z_ohm)
        })
    }

    /// With the impedance of every driver over the job's grid, ohm. A driver that is no way is not heard, a way without a
    /// driver is silent.
    ///
    /// # Errors
    /// If the network cannot be solved, or a driver has no impedance.
    pub(crate) fn with<'a>(
        job: &'a Job,
        network: &Network,
        z_ohm: impl Fn(&str) -> Option<&'a Spectrum>,
    ) -> Result<Self, PlanError> {
        let plan = Plan::compile(network)?;
        let names = plan.drivers();
        let closer = Closer {
            plan: &plan,
            values: &Values::of(network),
            drive: &job.drive,
            grid: &job.grid,
            // One load too few is an error of the solver.
            loads: &names
                .iter()
                .filter_map(|name| z_ohm(name))
                .collect::<Vec<_>>(),
        };
        let solution = closer.on_grid()?;
        let points = job.grid.len();
        let silence = vec![Spectrum::zeros(points); job.ways.len()];
        let (mut voltage, mut pressure) = (silence.clone(), silence);
        for (name, (output, inverted)) in names.iter().zip(plan.driver_outputs()) {
            let Some(way) = job.ways.iter().position(|way| way.name == *name) else {
                continue;
            };
            let sign = sign(inverted);
            let sound = &job.ways[way].sound;
            voltage[way] = Spectrum::from_fn(points, |i| solution.output_at(output, i));
            pressure[way] = Spectrum::from_fn(points, |i| voltage[way].at(i) * sound.at(i) * sign);
        }
        let (g, b) = solution.input_admittance();
        let load_ohm = (g.iter().zip(b))
            .map(|(g, b)| g.hypot(*b).max(f64::MIN_POSITIVE).recip())
            .collect();
        Ok(Self {
            voltage,
            pressure,
            load_ohm,
        })
    }
}

/// Impedances of the drivers of a project over the audio band.
#[derive(Debug, Clone)]
pub struct AudioLoads {
    grid: Grid,
    /// By name of the driver, ohm.
    z_ohm: BTreeMap<String, Spectrum>,
}

impl AudioLoads {
    /// What the amplifier sees of a network of these drivers and of the job's cable; its own impedance is no part of
    /// that. `None` where no current flows.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn load(&self, job: &Job, network: &Network) -> Result<Option<LoadFigures>, PlanError> {
        let plan = Plan::compile(network)?;
        let of_driver = |name: &String| self.z_ohm.get(name);
        let closer = Closer {
            plan: &plan,
            values: &Values::of(network),
            // The load is the same whatever drives it.
            drive: &STIFF,
            grid: &self.grid,
            loads: &plan
                .drivers()
                .iter()
                .filter_map(of_driver)
                .collect::<Vec<_>>(),
        };
        LoadFigures::of(&closer, job.cable_ohm)
    }
}

/// Impedances of all drivers of a project over the audio band, leads included, for the load.
#[must_use]
pub fn audio_loads(project: &Project) -> AudioLoads {
    let grid = Grid::audio_band();
    let z_ohm = (project.drivers.keys())
        .map(|name| (name.clone(), driver_behind_lead(project, name, &grid).z_ohm))
        .collect();
    AudioLoads { grid, z_ohm }
}

//! What a change of pad does to the whole loudspeaker.

use std::collections::BTreeMap;

use netlist::network::Network;
use netlist::project::{Driver, Project};

use crate::goal::{Figures, LoadFigures, Targets, figures};
use crate::grid::Grid;
use crate::load::{Conditions, driver_load};
use crate::nodal::{Closer, Plan, PlanError, STIFF, Values};
use crate::search::{Job, choose_alignments};
use crate::sound::{level_db, sum};
use crate::spectrum::Spectrum;
use crate::wiring::lead_ohm;

/// A loudspeaker in figures, with the level of its sum.
#[derive(Debug, Clone)]
pub struct LoudspeakerFigures {
    /// Figures of merit.
    pub figures: Figures,
    /// Load on the amplifier; `None` where it takes no current at all.
    pub load: Option<LoadFigures>,
    /// Level of each way of the job against its target, as the mean where the target counts: what the aim's
    /// level would be if the way were right; dB SPL.
    pub way_level_db: Vec<f64>,
    /// Level of the sum, one a frequency of the job's grid, in dB SPL.
    sum_db: Vec<f64>,
    judged: Vec<bool>,
    f_hz: Vec<f64>,
}

/// Two loudspeakers compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoudspeakerChange {
    /// Rms change of the sum over the aim's band, in dB.
    pub rms_db: f64,
    /// Largest change of the sum, in dB with its sign.
    pub largest_db: f64,
    /// Where, in hertz.
    pub largest_at_hz: f64,
}

impl LoudspeakerFigures {
    /// From `self` to `after`, both of one job.
    #[must_use]
    pub fn change_to(&self, after: &Self) -> LoudspeakerChange {
        let mut change = LoudspeakerChange {
            rms_db: 0.0,
            largest_db: 0.0,
            largest_at_hz: self.f_hz[0],
        };
        let mut count = 0;
        for i in (0..self.f_hz.len()).filter(|&i| self.judged[i]) {
            let db = after.sum_db[i] - self.sum_db[i];
            change.rms_db += db * db;
            count += 1;
            if db.abs() > change.largest_db.abs() {
                (change.largest_db, change.largest_at_hz) = (db, self.f_hz[i]);
            }
        }
        change.rms_db = (change.rms_db / f64::from(count.max(1))).sqrt();
        change
    }
}

/// A project's drivers, ready to be tried in one network after the other.
#[derive(Debug)]
pub struct Loudspeaker<'a> {
    job: &'a Job,
    targets: Targets,
    audio: Grid,
    /// Impedance of every driver of the project behind its lead, by name: over the job's grid and over the audio
    /// band, ohm.
    z_ohm: BTreeMap<&'a str, [Spectrum; 2]>,
}

impl<'a> Loudspeaker<'a> {
    /// The drivers of `project`, which `job` was made from.
    #[must_use]
    pub fn new(project: &'a Project, job: &'a Job) -> Self {
        let audio = Grid::audio_band();
        let behind_lead = |name: &str, driver: &Driver, grid: &Grid| {
            driver_load(driver, grid, &Conditions::default())
                .behind_lead(lead_ohm(project, name))
                .z_ohm
        };
        let z_ohm = (project.drivers.iter())
            .map(|(name, driver)| {
                let way = job.ways.iter().find(|way| way.name == *name);
                let on_grid = match way {
                    Some(way) => way.z_ohm.clone(),
                    None => behind_lead(name, driver, &job.grid),
                };
                (name.as_str(), [on_grid, behind_lead(name, driver, &audio)])
            })
            .collect();
        Self {
            job,
            targets: job.targets(&choose_alignments(job)),
            audio,
            z_ohm,
        }
    }

    /// The job.
    #[must_use]
    pub fn job(&self) -> &'a Job {
        self.job
    }

    /// Figures with a network of these drivers; one that the network does not feed is silent.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn figures(&self, network: &Network) -> Result<LoudspeakerFigures, PlanError> {
        let job = self.job;
        let plan = Plan::compile(network)?;
        let loads = |over: usize| -> Vec<&Spectrum> {
            let names = plan.drivers().iter();
            names.map(|name| &self.z_ohm[name.as_str()][over]).collect()
        };
        let values = Values::of(network);
        let closer = Closer {
            plan: &plan,
            values: &values,
            drive: &job.drive,
            grid: &job.grid,
            loads: &loads(0),
        };
        let solution = closer.on_grid()?;
        let mut ways: Vec<Spectrum> = (job.ways.iter())
            .map(|_| Spectrum::zeros(job.grid.len()))
            .collect();
        for (name, (output, inverted)) in plan.drivers().iter().zip(plan.driver_outputs()) {
            let Some(way) = job.ways.iter().position(|way| way.name == *name) else {
                continue;
            };
            let sign = if inverted { -1.0 } else { 1.0 };
            for i in 0..job.grid.len() {
                let sound = solution.output_at(output, i) * job.ways[way].sound.at(i) * sign;
                let before = ways[way].at(i);
                ways[way].set(i, before + sound);
            }
        }
        let targets = &self.targets;
        let total = sum(&ways);
        let way_level_db = (ways.iter().zip(&targets.ways))
            .map(|(way, target)| {
                let (mut sum, mut weights) = (0.0, f64::MIN_POSITIVE);
                for i in 0..job.grid.len() {
                    sum += target.weight[i] * (level_db(way.at(i)) - target.level_db[i]);
                    weights += target.weight[i];
                }
                sum / weights
            })
            .collect();
        // What the amplifier sees, as `check` has it; its own impedance is no part of that.
        let load = Closer {
            plan: &plan,
            values: &values,
            drive: &STIFF,
            grid: &self.audio,
            loads: &loads(1),
        };
        let level = job.aim.level.map(|level| level.0);
        Ok(LoudspeakerFigures {
            figures: figures(job.grid.f_hz(), &ways, targets, level),
            load: LoadFigures::of(&load, job.cable_ohm)?,
            way_level_db,
            sum_db: total.iter().map(level_db).collect(),
            judged: targets.judged.clone(),
            f_hz: job.grid.f_hz().to_vec(),
        })
    }
}

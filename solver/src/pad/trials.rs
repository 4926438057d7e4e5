//! What a change of pad does to the whole loudspeaker.

use std::collections::BTreeMap;

use netlist::network::Network;
use netlist::project::Project;
use serde::Serialize;

use crate::goal::{Figures, LoadFigures, Targets, figures};
use crate::loudspeaker::driver_behind_lead;
use crate::nodal::PlanError;
use crate::search::{AudioLoads, Job, SolvedWays, audio_loads, choose_alignments};
use crate::sound::level_db;
use crate::spectrum::Spectrum;

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
}

/// Two loudspeakers compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LoudspeakerChange {
    /// Rms change of the sum over the aim's band, in dB.
    pub rms_db: f64,
    /// Largest change of the sum, in dB with its sign.
    pub largest_db: f64,
    /// Where, in hertz.
    pub largest_at_hz: f64,
}

/// A project's drivers, ready to be tried in one network after the other.
#[derive(Debug)]
pub struct PadTrials<'a> {
    job: &'a Job,
    targets: Targets,
    audio: AudioLoads,
    /// Impedance over the job's grid of the drivers that are no way of it, behind their leads, by name; ohm.
    others_z_ohm: BTreeMap<&'a str, Spectrum>,
}

impl<'a> PadTrials<'a> {
    /// The drivers of `project`, which `job` was made from.
    #[must_use]
    pub fn new(project: &'a Project, job: &'a Job) -> Self {
        let is_way = |name: &str| job.ways.iter().any(|way| way.name == name);
        let others = project.drivers.keys().filter(|name| !is_way(name));
        Self {
            job,
            targets: job.targets(&choose_alignments(job)),
            audio: audio_loads(project),
            others_z_ohm: others
                .map(|name| {
                    (
                        name.as_str(),
                        driver_behind_lead(project, name, &job.grid).z_ohm,
                    )
                })
                .collect(),
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
        let (job, targets) = (self.job, &self.targets);
        let ways = SolvedWays::with(job, network, |name| {
            let way = job.ways.iter().find(|way| way.name == name);
            way.map(|way| &way.z_ohm)
                .or_else(|| self.others_z_ohm.get(name))
        })?
        .pressure;
        let way_level_db = (ways.iter().zip(&targets.ways))
            .map(|(way, target)| {
                let off_db = |i: usize| level_db(way.at(i)) - target.level_db[i];
                mean_and_rms(&target.weight, off_db).0
            })
            .collect();
        let level = job.aim.level.map(|level| level.0);
        Ok(LoudspeakerFigures {
            figures: figures(job.grid.f_hz(), &ways, targets, level),
            load: self.audio.load(job, network)?,
            way_level_db,
            sum_db: (0..job.grid.len())
                .map(|i| targets.sum_db(i, &ways))
                .collect(),
        })
    }

    /// From one loudspeaker to another, both of these drivers.
    #[must_use]
    pub fn change(
        &self,
        before: &LoudspeakerFigures,
        after: &LoudspeakerFigures,
    ) -> LoudspeakerChange {
        let f_hz = self.job.grid.f_hz();
        let mut change = LoudspeakerChange {
            rms_db: 0.0,
            largest_db: 0.0,
            largest_at_hz: f_hz[0],
        };
        let mut count = 0;
        for i in (0..f_hz.len()).filter(|&i| self.targets.judged[i]) {
            let db = after.sum_db[i] - before.sum_db[i];
            change.rms_db += db * db;
            count += 1;
            if db.abs() > change.largest_db.abs() {
                (change.largest_db, change.largest_at_hz) = (db, f_hz[i]);
            }
        }
        change.rms_db = (change.rms_db / f64::from(count.max(1))).sqrt();
        change
    }
}

/// Mean over the frequencies where a target counts, and rms about it.
pub(super) fn mean_and_rms(weights: &[f64], of: impl Fn(usize) -> f64) -> (f64, f64) {
    let (mut sum, mut square, mut all) = (0.0, 0.0, f64::MIN_POSITIVE);
    for (i, weight) in weights.iter().enumerate() {
        let value = of(i);
        sum += weight * value;
        square += weight * value * value;
        all += weight;
    }
    let mean = sum / all;
    (mean, (square / all - mean * mean).max(0.0).sqrt())
}

//! What a loudspeaker is held against when its values move: the aim, or itself as it was.

use std::collections::BTreeMap;

use netlist::network::Network;
use num_complex::Complex64;

use crate::goal::{Targets, WayTarget, allowed_volt_db, match_weight, protection_scale};
use crate::nodal::PlanError;
use crate::search::assess::SolvedWays;
use crate::search::grow::{JOINT_WEIGHTS, LOAD_MARGIN};
use crate::search::job::Job;
use crate::sound::{gain_db, level_db};
use crate::spectrum::Spectrum;

/// What the values are chosen for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SnapGoal {
    /// The loudspeaker changes least: its sum, its ways, their phase and its load stay what they are.
    #[default]
    LeastChange,
    /// The loudspeaker comes as near to the aim as it can.
    Aim,
}

/// Voltage that a delicate driver may have.
#[derive(Debug, Clone)]
pub(super) struct Protection {
    /// Residual for one dB more, one a frequency.
    pub(super) scale: Vec<f64>,
    /// Most voltage, dB re 1 V.
    pub(super) most_db: Vec<f64>,
}

/// The curves that are held to.
#[derive(Debug, Clone)]
pub(super) struct Reference {
    /// Levels of ways and sum relative to `level_db`, with their weights.
    pub(super) targets: Targets,
    pub(super) level_db: f64,
    pub(super) level_is_free: bool,
    /// For each crossover what turns the product of the lower way with the conjugate of the upper one to
    /// where it should be, 0 degrees.
    pub(super) turn: Vec<Spectrum>,
    /// Load that is not to be fallen below, ohm.
    pub(super) least_load_ohm: f64,
    /// The load itself, ohm, where it should stay what it is.
    pub(super) load_ohm: Option<Vec<f64>>,
    /// Delicate drivers by their ways.
    pub(super) protection: BTreeMap<usize, Protection>,
}

impl Reference {
    /// For a loudspeaker with `network`; `level_db` is about the level of the aim.
    pub(super) fn new(
        job: &Job,
        targets: &Targets,
        network: &Network,
        level_db: f64,
        goal: SnapGoal,
    ) -> Result<Self, PlanError> {
        let level_db = job.aim.level.map_or(level_db, |level| level.0);
        let present = SolvedWays::of(job, network)?;
        let near = |c: usize| (0..job.grid.len()).filter(move |&i| targets.near_crossover[c][i]);
        let turn = (targets.between.iter().enumerate())
            .map(|(c, reference)| {
                let between = |i: usize| present.between(c, i);
                // Snapping swaps no wires: the polarity stays.
                reference.turns[reference.nearest(near(c), between)].clone()
            })
            .collect();
        let protection = (job.protected().iter())
            .map(|protected| {
                let sound = &job.ways[protected.way].sound;
                let most_db = level_db + allowed_volt_db(&job.grid, targets, sound, protected);
                let acceptable_db = JOINT_WEIGHTS.protection_db;
                let protection = Protection {
                    scale: protection_scale(protected, job.grid.f_hz(), acceptable_db),
                    most_db: vec![most_db; job.grid.len()],
                };
                (protected.way, protection)
            })
            .collect();
        let aim = Self {
            targets: targets.clone(),
            level_db,
            level_is_free: job.aim.level.is_none(),
            turn,
            // The cable helps, and where the load is least it is nearly a resistance, as the cable is.
            least_load_ohm: (LOAD_MARGIN * job.least_load_ohm - job.cable_ohm).max(0.0),
            load_ohm: None,
            protection,
        };
        Ok(match goal {
            SnapGoal::Aim => aim,
            SnapGoal::LeastChange => aim.made_itself(job, &present),
        })
    }

    /// The loudspeaker as it is in place of the aim. What breaks a limit already may go on doing so, and no
    /// more.
    fn made_itself(self, job: &Job, present: &SolvedWays) -> Self {
        let points = job.grid.len();
        let relative = |p: &Spectrum, i: usize| level_db(p.at(i)) - self.level_db;
        let held = |sound: &Spectrum| {
            let level_db: Vec<f64> = (0..points).map(|i| relative(sound, i)).collect();
            let weight = (0..points)
                .map(|i| {
                    let weight = match_weight(level_db[i] - self.targets.tilt_db[i]);
                    if self.targets.judged[i] { weight } else { 0.0 }
                })
                .collect();
            WayTarget { level_db, weight }
        };
        let turn = (0..self.turn.len())
            .map(|c| {
                Spectrum::from_fn(points, |i| {
                    let back = present.between(c, i).conj();
                    if back.norm() > 0.0 {
                        back / back.norm()
                    } else {
                        Complex64::ONE
                    }
                })
            })
            .collect();
        let protection = (self.protection.into_iter())
            .map(|(way, of)| {
                let volts = &present.voltage[way];
                let most_db = (of.most_db.iter().enumerate())
                    .map(|(i, most_db)| most_db.max(gain_db(volts.at(i).norm())));
                let most_db = most_db.collect();
                (way, Protection { most_db, ..of })
            })
            .collect();
        let lowest_ohm = present
            .load_ohm
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min);
        Self {
            turn,
            protection,
            level_is_free: false,
            least_load_ohm: self.least_load_ohm.min(lowest_ohm),
            load_ohm: Some(present.load_ohm.clone()),
            targets: Targets {
                ways: present.pressure.iter().map(held).collect(),
                tilt_db: (0..points)
                    .map(|i| self.targets.sum_db(i, &present.pressure) - self.level_db)
                    .collect(),
                ..self.targets.clone()
            },
            level_db: self.level_db,
        }
    }
}

impl SolvedWays {
    /// The lower way of a crossover times the conjugate of the upper one.
    pub(super) fn between(&self, crossover: usize, i: usize) -> Complex64 {
        self.pressure[crossover].at(i) * self.pressure[crossover + 1].at(i).conj()
    }
}

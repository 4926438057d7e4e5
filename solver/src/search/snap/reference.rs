//! What a loudspeaker is held against when its values move: the aim, or itself as it was.

use netlist::network::Network;
use num_complex::Complex64;

use crate::goal::{Targets, WayTarget, match_weight};
use crate::nodal::{Closer, Plan, PlanError, Values};
use crate::search::job::Job;
use crate::search::joint::LOAD_MARGIN;
use crate::sound::level_db;
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

/// Levels below this are silence, dB.
const SILENCE_DB: f64 = -300.0;

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
}

/// The least load that the network may show, ohm: the cable helps, and where the load is least it is
/// nearly a resistance, as the cable is.
fn least_load_ohm(job: &Job) -> f64 {
    (LOAD_MARGIN * job.least_load_ohm - job.cable_ohm).max(0.0)
}

impl Reference {
    /// The aim, whose level is about `level_db` where it is free.
    pub(super) fn aim(job: &Job, targets: &Targets, level_db: f64) -> Self {
        let ones = Spectrum::from_fn(job.grid.len(), |_| Complex64::ONE);
        Self {
            targets: targets.clone(),
            level_db: job.aim.level.map_or(level_db, |level| level.0),
            level_is_free: job.aim.level.is_none(),
            turn: vec![ones; targets.near_crossover.len()],
            least_load_ohm: least_load_ohm(job),
            load_ohm: None,
        }
    }

    /// The loudspeaker with `network` as it is. A load that is too low already may stay so.
    pub(super) fn itself(
        job: &Job,
        network: &Network,
        targets: &Targets,
        level_db_aimed: f64,
    ) -> Result<Self, PlanError> {
        let plan = Plan::compile(network)?;
        let way = |name: &str| job.ways.iter().position(|way| way.name == name);
        let order: Vec<usize> = plan.drivers().iter().filter_map(|name| way(name)).collect();
        let values = Values::of(network);
        let closer = Closer {
            plan: &plan,
            values: &values,
            drive: job.drive,
            grid: &job.grid,
            loads: &(order.iter().map(|&way| &job.ways[way].z_ohm)).collect::<Vec<_>>(),
        };
        let solution = closer.on_grid()?;
        let points = job.grid.len();
        let mut ways = vec![Spectrum::zeros(points); job.ways.len()];
        for (&way, (output, inverted)) in order.iter().zip(plan.driver_outputs()) {
            let sign = if inverted { -1.0 } else { 1.0 };
            let sound = &job.ways[way].sound;
            ways[way] = Spectrum::from_fn(points, |i| {
                solution.output_at(output, i) * sound.at(i) * sign
            });
        }
        let relative = |p: Complex64| (level_db(p) - level_db_aimed).max(SILENCE_DB);
        let total = crate::sound::sum(&ways);
        let tilt_db: Vec<f64> = (0..points).map(|i| relative(total.at(i))).collect();
        let held = |(sound, target): (&Spectrum, &WayTarget)| {
            let level_db: Vec<f64> = (0..points).map(|i| relative(sound.at(i))).collect();
            let weight = (0..points)
                .map(|i| match targets.judged[i] {
                    true => match_weight(level_db[i] - targets.tilt_db[i]),
                    false => 0.0,
                })
                .collect();
            WayTarget {
                level_db,
                weight,
                ..target.clone()
            }
        };
        let turn = (ways.windows(2))
            .map(|pair| {
                Spectrum::from_fn(points, |i| {
                    let by = pair[0].at(i).conj() * pair[1].at(i);
                    if by.norm() > 0.0 { by / by.norm() } else { Complex64::ONE }
                })
            })
            .collect();
        let (g, b) = solution.input_admittance();
        let load_ohm: Vec<f64> = (g.iter().zip(b))
            .map(|(g, b)| g.hypot(*b).max(f64::MIN_POSITIVE).recip())
            .collect();
        let lowest_ohm = load_ohm.iter().copied().fold(f64::INFINITY, f64::min);
        Ok(Self {
            targets: Targets {
                ways: ways.iter().zip(&targets.ways).map(held).collect(),
                tilt_db,
                ..targets.clone()
            },
            level_db: level_db_aimed,
            level_is_free: false,
            turn,
            least_load_ohm: least_load_ohm(job).min(lowest_ohm),
            load_ohm: Some(load_ohm),
        })
    }
}

//! What the goal needs of a loudspeaker and its aim, in lanes of frequencies.

use num_complex::Complex64;

use super::goal::GoalTables;
use super::reference::Reference;
use crate::air::REFERENCE_PRESSURE_PA;
use crate::grid::Grid;
use crate::nodal::lanes::{LANES, Lanes, Real};
use crate::search::grow::JOINT_WEIGHTS;
use crate::search::job::Job;
use crate::sound::{gain_db, sign};
use crate::spectrum::Spectrum;

/// Change of the load that is just acceptable where it should stay what it is, dB: an eighth.
const LOAD_CHANGE_DB: f64 = 1.0;

/// Which frequencies are in which lane of which chunk: every chunk runs through the whole band.
struct Order(Vec<Vec<usize>>);

impl Order {
    fn new(points: usize) -> Self {
        let chunks = points.div_ceil(LANES);
        let chunk = |chunk| (chunk..points).step_by(chunks).collect();
        Self((0..chunks).map(chunk).collect())
    }

    /// A value a frequency; 0 in lanes without one.
    fn lanes(&self, value: impl Fn(usize) -> f64) -> Vec<Real> {
        (self.0.iter())
            .map(|order| std::array::from_fn(|lane| order.get(lane).map_or(0.0, |&i| value(i))))
            .collect()
    }

    /// A complex value a frequency; the last once more in lanes without one.
    fn complex_lanes(&self, value: impl Fn(usize) -> Complex64) -> Vec<Lanes> {
        (self.0.iter())
            .map(|order| {
                let mut out = Lanes::ZERO;
                for lane in 0..LANES {
                    out.set_lane(lane, value(order[lane.min(order.len() - 1)]));
                }
                out
            })
            .collect()
    }

    /// Lanes near each crossover, with what turns the phase there to 0.
    fn near(&self, reference: &Reference) -> Vec<Vec<(usize, usize, Complex64)>> {
        let near = &reference.targets.near_crossover;
        (self.0.iter())
            .map(|order| {
                let crossovers = 0..near.len();
                (crossovers.flat_map(|c| {
                    (0..order.len())
                        .filter(move |&lane| near[c][order[lane]])
                        .map(move |lane| (lane, c, reference.turn[c].at(order[lane])))
                }))
                .collect()
            })
            .collect()
    }
}

/// How many count, at least one.
fn count(counts: &[bool]) -> f64 {
    counts.iter().filter(|&&counts| counts).count().max(1) as f64
}

/// All weight of the level up to and with each chunk.
fn level_weight(begin: f64, sum_weight: &[Real], weight: &[Vec<Real>]) -> Vec<f64> {
    let mut total = begin;
    let chunks = 0..sum_weight.len();
    chunks
        .map(|chunk| {
            total += sum_weight[chunk].iter().sum::<f64>();
            let ways = weight.iter().map(|way| way[chunk].iter().sum::<f64>());
            total += ways.sum::<f64>();
            total
        })
        .collect()
}

impl GoalTables {
    pub(super) fn new(job: &Job, reference: &Reference, inverted: &[bool]) -> Self {
        let Reference {
            targets, level_db, ..
        } = reference;
        let points = job.grid.len();
        let order = Order::new(points);
        let weights = JOINT_WEIGHTS;
        let loudness_weight = match reference.level_is_free {
            true => weights.level_db.powi(-2),
            false => 0.0,
        };
        let sound_db = 20.0 * (job.drive.open_circuit_v / REFERENCE_PRESSURE_PA).log10();
        let volt_db = 20.0 * job.drive.open_circuit_v.log10();
        let sound = (job.ways.iter().zip(inverted))
            .map(|(way, &inverted)| {
                let sign = sign(inverted);
                order.complex_lanes(|i| way.sound.at(i) * sign)
            })
            .collect();
        let weight: Vec<Vec<Real>> = (targets.ways.iter())
            .map(|target| {
                let total: f64 = target.weight.iter().sum();
                // A way that is silent counts nowhere.
                let scale = 1.0 / (total.max(f64::MIN_POSITIVE) * weights.match_db.powi(2));
                order.lanes(|i| target.weight[i] * scale)
            })
            .collect();
        let target_db = (targets.ways.iter())
            .map(|target| order.lanes(|i| target.level_db[i] + level_db - sound_db))
            .collect();
        let judged = 1.0 / (count(&targets.judged) * weights.sum_db.powi(2));
        let sum_weight = order.lanes(|i| if targets.judged[i] { judged } else { 0.0 });
        let protected =
            || (job.ways.iter().enumerate()).map(|(w, way)| (way, reference.protection.get(&w)));
        let protect_weight = protected()
            .map(|(_, of)| of.map_or(Vec::new(), |of| order.lanes(|i| of.scale[i].powi(2))))
            .collect();
        let protect_target_db = protected()
            .map(|(way, of)| {
                let gain_db = |i: usize| gain_db(way.sound.at(i).norm());
                of.map_or(Vec::new(), |of| {
                    order.lanes(|i| of.most_db[i] + gain_db(i) - volt_db)
                })
            })
            .collect();
        let phase_weight = (targets.near_crossover.iter())
            .map(|near| 1.0 / (count(near) * weights.phase_deg.powi(2)))
            .collect();
        Self {
            chunks: order.0.len(),
            ways: job.ways.len(),
            window: targets.window.clone(),
            sound,
            target_db,
            sum_target_db: order.lanes(|i| targets.tilt_db[i] + level_db - sound_db),
            load_weight: order.lanes(|_| 1.0 / (points as f64 * weights.load.powi(2))),
            load_target_db: (reference.load_ohm.as_ref())
                .map(|z_ohm| order.lanes(|i| -20.0 * z_ohm[i].log10())),
            load_change_weight: order.lanes(|_| 1.0 / (points as f64 * LOAD_CHANGE_DB.powi(2))),
            protect_weight,
            protect_target_db,
            near: order.near(reference),
            phase_weight,
            level_weight: level_weight(loudness_weight, &sum_weight, &weight),
            weight,
            sum_weight,
            source: order.complex_lanes(|i| job.drive.output_impedance_ohm.at(i)),
            least_load_ohm: reference.least_load_ohm,
            level_is_free: reference.level_is_free,
            loudness_weight,
            loudest_db: job.loudest_db() - level_db,
            reference_level_db: *level_db,
            order: order.0,
        }
    }

    /// One grid a chunk, with these loads on it.
    pub(super) fn grids(&self, job: &Job, loads: &[&Spectrum]) -> Vec<(Grid, Vec<Spectrum>)> {
        (self.order.iter())
            .map(|order| {
                let f_hz = order.iter().map(|&i| job.grid.f_hz()[i]).collect();
                let grid = Grid::new(f_hz).expect("a part of a rising grid rises");
                (grid, loads.iter().map(|z| z.picked(order)).collect())
            })
            .collect()
    }
}

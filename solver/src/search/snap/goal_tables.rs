//! What the goal needs of a loudspeaker and its aim, in lanes of frequencies.

use num_complex::Complex64;

use super::goal::GoalTables;
use super::reference::Reference;
use crate::air::REFERENCE_PRESSURE_PA;
use crate::goal::Weights;
use crate::grid::Grid;
use crate::nodal::lanes::{LANES, Lanes, Real};
use crate::search::grow::JOINT_WEIGHTS;
use crate::search::job::Job;
use crate::sound::gain_db;
use crate::spectrum::Spectrum;

/// Change of the load that is just acceptable where it should stay what it is, dB: an eighth.
const LOAD_CHANGE_DB: f64 = 1.0;

impl GoalTables {
    pub(super) fn new(job: &Job, reference: &Reference, inverted: &[bool]) -> Self {
        let Reference {
            targets,
            level_db,
            level_is_free,
            ..
        } = reference;
        let (level_db, level_is_free) = (*level_db, *level_is_free);
        let points = job.grid.len();
        let chunks = points.div_ceil(LANES);
        let order: Vec<Vec<usize>> = (0..chunks)
            .map(|chunk| (chunk..points).step_by(chunks).collect())
            .collect();
        let lanes = |value: &dyn Fn(usize) -> f64| -> Vec<Real> {
            (order.iter())
                .map(|order| std::array::from_fn(|lane| order.get(lane).map_or(0.0, |&i| value(i))))
                .collect()
        };
        let Weights {
            sum_db,
            match_db,
            phase_deg,
            load,
            level_db: level_given_db,
            ..
        } = JOINT_WEIGHTS;
        let loudness_weight = if level_is_free {
            level_given_db.powi(-2)
        } else {
            0.0
        };
        let volt_db = 20.0 * (job.drive.open_circuit_v / REFERENCE_PRESSURE_PA).log10();
        let complex_lanes = |value: &dyn Fn(usize) -> Complex64| -> Vec<Lanes> {
            (order.iter())
                .map(|order| {
                    let mut out = Lanes::ZERO;
                    for lane in 0..LANES {
                        out.set_lane(lane, value(order[lane.min(order.len() - 1)]));
                    }
                    out
                })
                .collect()
        };
        let sound = (job.ways.iter().zip(inverted))
            .map(|(way, &inverted)| {
                let sign = if inverted { -1.0 } else { 1.0 };
                complex_lanes(&|i| way.sound.at(i) * sign)
            })
            .collect();
        let source = complex_lanes(&|i| job.drive.output_impedance_ohm.at(i));
        let weight: Vec<Vec<Real>> = (targets.ways.iter())
            .map(|target| {
                let total: f64 = target.weight.iter().sum();
                // A way that is silent counts nowhere.
                let scale = 1.0 / (total.max(f64::MIN_POSITIVE) * match_db * match_db);
                lanes(&|i| target.weight[i] * scale)
            })
            .collect();
        let target_db = (targets.ways.iter())
            .map(|target| lanes(&|i| target.level_db[i] + level_db - volt_db))
            .collect();
        let judged = targets
            .judged
            .iter()
            .filter(|&&judged| judged)
            .count()
            .max(1) as f64;
        let sum_weight = lanes(&|i| {
            let judged = if targets.judged[i] {
                judged
            } else {
                f64::INFINITY
            };
            1.0 / (judged * sum_db * sum_db)
        });
        let protected = || (0..job.ways.len()).map(|way| reference.protection.get(&way));
        let protect_weight = protected()
            .map(|of| of.map_or(Vec::new(), |of| lanes(&|i| of.scale[i].powi(2))))
            .collect();
        let protect_target_db = protected()
            .enumerate()
            .map(|(way, of)| {
                let sound = &job.ways[way].sound;
                let volt_db = 20.0 * job.drive.open_circuit_v.log10();
                of.map_or(Vec::new(), |of| {
                    lanes(&|i| of.most_db[i] + gain_db(sound.at(i).norm()) - volt_db)
                })
            })
            .collect();
        let near = (order.iter())
            .map(|order| {
                let crossovers = 0..targets.near_crossover.len();
                (crossovers.flat_map(|c| {
                    (0..order.len())
                        .filter(move |&lane| targets.near_crossover[c][order[lane]])
                        .map(move |lane| (lane, c, reference.turn[c].at(order[lane])))
                }))
                .collect()
            })
            .collect();
        let phase_weight = (targets.near_crossover.iter())
            .map(|near| {
                let count = near.iter().filter(|&&near| near).count().max(1) as f64;
                1.0 / (count * phase_deg * phase_deg)
            })
            .collect();
        let mut total = loudness_weight;
        let level_weight = (0..chunks)
            .map(|chunk| {
                total += sum_weight[chunk].iter().sum::<f64>();
                total += weight
                    .iter()
                    .map(|way| way[chunk].iter().sum::<f64>())
                    .sum::<f64>();
                total
            })
            .collect();
        Self {
            chunks,
            ways: job.ways.len(),
            window: targets.window.clone(),
            sound,
            weight,
            target_db,
            sum_weight,
            sum_target_db: lanes(&|i| targets.tilt_db[i] + level_db - volt_db),
            load_weight: lanes(&|_| 1.0 / (points as f64 * load * load)),
            load_target_db: (reference.load_ohm.as_ref())
                .map(|z_ohm| lanes(&|i| -20.0 * z_ohm[i].log10())),
            load_change_weight: lanes(&|_| 1.0 / (points as f64 * LOAD_CHANGE_DB.powi(2))),
            protect_weight,
            protect_target_db,
            near,
            phase_weight,
            level_weight,
            source,
            least_load_ohm: reference.least_load_ohm,
            level_is_free,
            loudness_weight,
            loudest_db: job.loudest_db() - level_db,
            reference_level_db: level_db,
            order,
        }
    }

    /// One grid a chunk, with these loads on it.
    pub(super) fn grids(&self, job: &Job, loads: &[&Spectrum]) -> Vec<(Grid, Vec<Spectrum>)> {
        (self.order.iter())
            .map(|order| {
                let f_hz = order.iter().map(|&i| job.grid.f_hz()[i]).collect();
                let grid = Grid::new(f_hz).expect("a part of a rising grid rises");
                let part = |z: &&Spectrum| Spectrum::from_fn(order.len(), |i| z.at(order[i]));
                (grid, loads.iter().map(part).collect())
            })
            .collect()
    }
}

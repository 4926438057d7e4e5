//! The goal laid out for millions of evaluations: the same terms as [`Objective`](crate::goal::Objective).
//!
//! Each chunk is an even sample of the whole band, so that a part of the sum, which bounds the whole
//! from below, soon tells a poor network from a good one. Where the level is free, a chunk's worth of
//! residuals counts at the level that suits it best, which bounds from below too.

use num_complex::Complex64;

use super::reference::Reference;
use super::response::BlockResponse;
use crate::air::REFERENCE_PRESSURE_PA;
use crate::goal::{Weights, graded};
use crate::grid::Grid;
use crate::logarithm::ln;
use crate::nodal::lanes::{LANES, Lanes, QUAD, Real};
use crate::search::grow::JOINT_WEIGHTS;
use crate::search::job::Job;
use crate::sound::{Coherence, gain_db};
use crate::spectrum::Spectrum;

/// dB for the logarithm of a power.
pub(super) const DB: f64 = 10.0 / std::f64::consts::LN_10;

/// Ways there can be.
pub(super) const WAYS: usize = 5;

/// Change of the load that is just acceptable where it should stay what it is, dB: an eighth.
const LOAD_CHANGE_DB: f64 = 1.0;

/// Everything of the goal that does not depend on part values.
#[derive(Debug, Clone)]
pub(super) struct GoalTables {
    pub(super) chunks: usize,
    pub(super) ways: usize,
    /// Grid positions of each chunk.
    order: Vec<Vec<usize>>,
    /// How the ways add where the sum is judged; `None` on the axis.
    window: Option<Coherence>,
    /// Sound of each way for one volt at its driver, polarity included, chunk by chunk.
    pub(super) sound: Vec<Vec<Lanes>>,
    /// Weight of the squared deviation from the way's target, way by way, chunk by chunk.
    pub(super) weight: Vec<Vec<Real>>,
    /// What the logarithm of the way's power, in dB, is compared with at the reference level.
    pub(super) target_db: Vec<Vec<Real>>,
    pub(super) sum_weight: Vec<Real>,
    pub(super) sum_target_db: Vec<Real>,
    pub(super) load_weight: Vec<Real>,
    /// What the load, as the logarithm of a power in dB of its admittance, should stay.
    load_target_db: Option<Vec<Real>>,
    load_change_weight: Vec<Real>,
    /// Weight of a delicate driver's voltage beyond what it may have, and what its way's power, in dB, is
    /// compared with for it; empty for ways without.
    protect_weight: Vec<Vec<Real>>,
    protect_target_db: Vec<Vec<Real>>,
    /// Lane and crossover of the frequencies whose phase counts, with the turn to 0 degrees.
    near: Vec<Vec<(usize, usize, Complex64)>>,
    phase_weight: Vec<f64>,
    /// Sum of the weights that the level moves, up to and with each chunk.
    level_weight: Vec<f64>,
    /// Output impedance of the amplifier, cable included, ohm.
    source: Vec<Lanes>,
    pub(super) least_load_ohm: f64,
    pub(super) level_is_free: bool,
    /// Weight of the squared level given away, 0 where the level is not free.
    loudness_weight: f64,
    /// As loud as it could be, relative to the reference level, dB.
    loudest_db: f64,
    /// Level that deviations are counted from, dB.
    pub(super) reference_level_db: f64,
}

/// Partial sums of the goal.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    square: f64,
    first: f64,
    rest: f64,
}

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

    /// Goal from the sums up to and with `chunk`: never more than that of all chunks.
    #[inline(always)]
    pub(super) fn so_far(&self, sums: &Sums, chunk: usize) -> f64 {
        let gained = if self.level_is_free {
            sums.first * sums.first / self.level_weight[chunk]
        } else {
            0.0
        };
        sums.square - gained + sums.rest
    }

    /// Sums before the first chunk: the level given away, which no frequency counts.
    #[inline(always)]
    pub(super) fn begin(&self) -> Sums {
        let first = self.loudness_weight * self.loudest_db;
        Sums {
            square: first * self.loudest_db,
            first,
            rest: 0.0,
        }
    }

    /// Level of the aim that suits best, dB.
    fn level_db(&self, sums: &Sums) -> f64 {
        if self.level_is_free {
            self.reference_level_db + sums.first / self.level_weight[self.chunks - 1]
        } else {
            self.reference_level_db
        }
    }

    /// Adds a chunk: `sound` and `log` (of its power) of every way for one volt at `in`, the
    /// power of their sum (see [`GoalTables::sum_power`]) and the whole admittance. All but the phase, see [`GoalTables::add_phase`].
    #[inline(always)]
    pub(super) fn add(
        &self,
        sums: &mut Sums,
        chunk: usize,
        logs: &[Real; WAYS],
        sum_power: &Real,
        admittance: &Lanes,
    ) {
        let mut divisor = Lanes::ONE;
        divisor.add_product(&self.source[chunk], admittance);
        let at_input = ln(&power(&divisor));
        let (mut square, mut first) = ([0.0; LANES], [0.0; LANES]);
        let mut deviate = |log: &Real, target_db: &Real, weight: &Real| {
            for q in (0..LANES).step_by(QUAD) {
                for i in q..q + QUAD {
                    let off = DB * (log[i] - at_input[i]) - target_db[i];
                    let weighted = weight[i] * off;
                    first[i] += weighted;
                    square[i] += weighted * off;
                }
            }
        };
        for way in 0..self.ways {
            deviate(
                &logs[way],
                &self.target_db[way][chunk],
                &self.weight[way][chunk],
            );
        }
        deviate(
            &ln(sum_power),
            &self.sum_target_db[chunk],
            &self.sum_weight[chunk],
        );
        let drawn = power(admittance);
        let least = self.least_load_ohm;
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                let short = graded((least * drawn[i].sqrt() - 1.0).max(0.0));
                square[i] += self.load_weight[chunk][i] * short * short;
            }
        }
        if let Some(target_db) = &self.load_target_db {
            let log = ln(&drawn);
            for q in (0..LANES).step_by(QUAD) {
                for i in q..q + QUAD {
                    let off = DB * log[i] - target_db[chunk][i];
                    square[i] += self.load_change_weight[chunk][i] * off * off;
                }
            }
        }
        for way in 0..self.ways {
            let Some(weight) = self.protect_weight[way].get(chunk) else {
                continue;
            };
            let target_db = &self.protect_target_db[way][chunk];
            for i in 0..LANES {
                let over = (DB * (logs[way][i] - at_input[i]) - target_db[i]).max(0.0);
                square[i] += weight[i] * over * over;
            }
        }
        sums.square += across(&square);
        sums.first += across(&first);
    }

    /// Power of the sum of the ways where it is judged: on the axis, or the mean over the window.
    #[inline(always)]
    pub(super) fn sum_power(&self, chunk: usize, sum: &Lanes, sound: &[Lanes; WAYS]) -> Real {
        let Some(window) = &self.window else {
            return power(sum);
        };
        let order = &self.order[chunk];
        std::array::from_fn(|lane| {
            let i = order[lane.min(order.len() - 1)];
            let power = window.power(i, |way| sound[way].lane(lane));
            power.max(f64::MIN_POSITIVE)
        })
    }

    /// Adds the phase at the crossovers, from the sounds of all ways.
    #[inline(always)]
    pub(super) fn add_phase(&self, sums: &mut Sums, chunk: usize, sound: &[Lanes; WAYS]) {
        for &(lane, crossover, turn) in &self.near[chunk] {
            let off = phase_off_deg(sound, lane, crossover, turn);
            sums.rest += self.phase_weight[crossover] * off * off;
        }
    }

    /// The goal as a sum of squares: appends the residuals of a chunk, those that can count alone.
    #[inline(always)]
    pub(super) fn residuals(
        &self,
        chunk: usize,
        logs: &[Real; WAYS],
        sound: &[Lanes; WAYS],
        sum_power: &Real,
        admittance: &Lanes,
        out: &mut Vec<f64>,
    ) {
        let mut divisor = Lanes::ONE;
        divisor.add_product(&self.source[chunk], admittance);
        let at_input = ln(&power(&divisor));
        let mut deviate = |log: &Real, target_db: &Real, weight: &Real| {
            for i in 0..LANES {
                if weight[i] > 0.0 {
                    let off = DB * (log[i] - at_input[i]) - target_db[i];
                    out.push(weight[i].sqrt() * off);
                }
            }
        };
        for way in 0..self.ways {
            deviate(
                &logs[way],
                &self.target_db[way][chunk],
                &self.weight[way][chunk],
            );
        }
        deviate(
            &ln(sum_power),
            &self.sum_target_db[chunk],
            &self.sum_weight[chunk],
        );
        let drawn = power(admittance);
        let counts = |i: &usize| self.load_weight[chunk][*i] > 0.0;
        out.extend((0..LANES).filter(counts).map(|i| {
            let short = graded((self.least_load_ohm * drawn[i].sqrt() - 1.0).max(0.0));
            self.load_weight[chunk][i].sqrt() * short
        }));
        if let Some(target_db) = &self.load_target_db {
            let log = ln(&drawn);
            out.extend((0..LANES).filter(counts).map(|i| {
                let off = DB * log[i] - target_db[chunk][i];
                self.load_change_weight[chunk][i].sqrt() * off
            }));
        }
        for way in 0..self.ways {
            let Some(weight) = self.protect_weight[way].get(chunk) else {
                continue;
            };
            let target_db = &self.protect_target_db[way][chunk];
            for i in (0..LANES).filter(|&i| weight[i] > 0.0) {
                let over = (DB * (logs[way][i] - at_input[i]) - target_db[i]).max(0.0);
                out.push(weight[i].sqrt() * over);
            }
        }
        out.extend(self.near[chunk].iter().map(|&(lane, crossover, turn)| {
            let off = phase_off_deg(sound, lane, crossover, turn);
            self.phase_weight[crossover].sqrt() * off
        }));
        if chunk + 1 == self.chunks && self.level_is_free {
            out.push(self.loudness_weight.sqrt() * self.loudest_db);
        }
    }

    /// How each residual falls with the level, in the order of [`GoalTables::residuals`] over all chunks; of
    /// length 1. Empty where the level is not free.
    pub(super) fn level_direction(&self) -> Vec<f64> {
        if !self.level_is_free {
            return Vec::new();
        }
        let mut out = Vec::new();
        for chunk in 0..self.chunks {
            for weight in (self.weight.iter()).chain([&self.sum_weight]) {
                let counts = weight[chunk].iter().filter(|&&weight| weight > 0.0);
                out.extend(counts.map(|weight| weight.sqrt()));
            }
            let load = (self.load_weight[chunk].iter()).filter(|&&weight| weight > 0.0);
            let change = load.clone().filter(|_| self.load_target_db.is_some());
            let protect = (self.protect_weight.iter())
                .filter_map(|way| way.get(chunk))
                .flat_map(|weight| weight.iter().filter(|&&weight| weight > 0.0));
            out.extend(load.chain(change).chain(protect).map(|_| 0.0));
            out.extend(self.near[chunk].iter().map(|_| 0.0));
        }
        out.push(self.loudness_weight.sqrt());
        let length = out.iter().map(|x| x * x).sum::<f64>().sqrt();
        out.iter_mut().for_each(|x| *x /= length);
        out
    }

    /// Goal and best level of whole responses with their ways.
    pub(super) fn evaluate(&self, responses: &[(&[usize], &BlockResponse)]) -> (f64, f64) {
        self.evaluate_below(responses, f64::INFINITY)
    }

    /// The same; an infinite goal where it is found to reach `limit`.
    #[inline(always)]
    pub(super) fn evaluate_below(
        &self,
        responses: &[(&[usize], &BlockResponse)],
        limit: f64,
    ) -> (f64, f64) {
        let mut sums = self.begin();
        for chunk in 0..self.chunks {
            let mut admittance = Lanes::ZERO;
            let mut sum = Lanes::ZERO;
            let mut sound = [Lanes::ZERO; WAYS];
            let mut logs = [[0.0; LANES]; WAYS];
            for (ways, response) in responses {
                admittance.add(&response.admittance[chunk]);
                for (o, &way) in ways.iter().enumerate() {
                    sound[way] = response.sound[o * self.chunks + chunk];
                    logs[way] = ln(&power(&sound[way]));
                }
            }
            for sound in &sound[..self.ways] {
                sum.add(sound);
            }
            let sum_power = self.sum_power(chunk, &sum, &sound);
            self.add(&mut sums, chunk, &logs, &sum_power, &admittance);
            self.add_phase(&mut sums, chunk, &sound);
            if self.so_far(&sums, chunk) >= limit {
                return (f64::INFINITY, f64::NAN);
            }
        }
        (self.so_far(&sums, self.chunks - 1), self.level_db(&sums))
    }
}

/// How far the phase between the ways at a crossover is from where it should be, degrees.
#[inline(always)]
fn phase_off_deg(sound: &[Lanes; WAYS], lane: usize, crossover: usize, turn: Complex64) -> f64 {
    let turned = sound[crossover].lane(lane) * sound[crossover + 1].lane(lane).conj() * turn;
    turned.arg().to_degrees()
}

/// `|x|²` of every lane.
#[inline(always)]
pub(super) fn power(x: &Lanes) -> Real {
    let mut out = [0.0; LANES];
    x.accumulate_square(&mut out);
    out
}

/// Sum over the lanes, in pairs.
#[inline(always)]
pub(super) fn across(x: &Real) -> f64 {
    let mut quad = [0.0; QUAD];
    for q in (0..LANES).step_by(QUAD) {
        for i in 0..QUAD {
            quad[i] += x[q + i];
        }
    }
    (quad[0] + quad[1]) + (quad[2] + quad[3])
}

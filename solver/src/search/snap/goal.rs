//! The goal laid out for millions of evaluations: the same terms as [`Objective`](crate::goal::Objective).
//!
//! Each chunk is an even sample of the whole band, so that a part of the sum, which bounds the whole
//! from below, soon tells a poor network from a good one. Where the level is free, a chunk's worth of
//! residuals counts at the level that suits it best, which bounds from below too.

use num_complex::Complex64;

use super::response::BlockResponse;
use crate::goal::graded;
use crate::logarithm::ln;
use crate::nodal::lanes::{LANES, Lanes, QUAD, Real};
use crate::sound::Coherence;

/// dB for the logarithm of a power.
pub(super) const DB: f64 = 10.0 / std::f64::consts::LN_10;

/// Ways there can be.
pub(super) const WAYS: usize = 5;

/// Everything of the goal that does not depend on part values.
#[derive(Debug, Clone)]
pub(super) struct GoalTables {
    pub(super) chunks: usize,
    pub(super) ways: usize,
    /// Grid positions of each chunk.
    pub(super) order: Vec<Vec<usize>>,
    /// How the ways add where the sum is judged; `None` on the axis.
    pub(super) window: Option<Coherence>,
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
    pub(super) load_target_db: Option<Vec<Real>>,
    pub(super) load_change_weight: Vec<Real>,
    /// Weight of a delicate driver's voltage beyond what it may have, and what its way's power, in dB, is
    /// compared with for it; empty for ways without.
    pub(super) protect_weight: Vec<Vec<Real>>,
    pub(super) protect_target_db: Vec<Vec<Real>>,
    /// Lane and crossover of the frequencies whose phase counts, with the turn to 0 degrees.
    pub(super) near: Vec<Vec<(usize, usize, Complex64)>>,
    pub(super) phase_weight: Vec<f64>,
    /// Sum of the weights that the level moves, up to and with each chunk.
    pub(super) level_weight: Vec<f64>,
    /// Output impedance of the amplifier, cable included, ohm.
    pub(super) source: Vec<Lanes>,
    pub(super) least_load_ohm: f64,
    pub(super) level_is_free: bool,
    /// Weight of the squared level given away, 0 where the level is not free.
    pub(super) loudness_weight: f64,
    /// As loud as it could be, relative to the reference level, dB.
    pub(super) loudest_db: f64,
    /// Level that deviations are counted from, dB.
    pub(super) reference_level_db: f64,
}

/// A chunk of the whole loudspeaker, for one volt at `in`.
pub(super) struct ChunkSound {
    /// Sound of every way.
    pub(super) sound: [Lanes; WAYS],
    /// Logarithm of its power.
    pub(super) logs: [Real; WAYS],
    /// Sum of the ways on the axis.
    pub(super) sum: Lanes,
    /// Admittance of all blocks together.
    pub(super) admittance: Lanes,
}

/// Partial sums of the goal.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    square: f64,
    first: f64,
    rest: f64,
}

impl GoalTables {
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

    /// Adds a chunk, all but the phase, see [`GoalTables::add_phase`].
    #[inline(always)]
    pub(super) fn add(&self, sums: &mut Sums, chunk: usize, heard: &ChunkSound) {
        let ChunkSound {
            logs, admittance, ..
        } = heard;
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
            &ln(&self.sum_power(chunk, heard)),
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
    fn sum_power(&self, chunk: usize, heard: &ChunkSound) -> Real {
        let Some(window) = &self.window else {
            return power(&heard.sum);
        };
        let order = &self.order[chunk];
        std::array::from_fn(|lane| {
            let i = order[lane.min(order.len() - 1)];
            let power = window.power(i, |way| heard.sound[way].lane(lane));
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
    pub(super) fn residuals(&self, chunk: usize, heard: &ChunkSound, out: &mut Vec<f64>) {
        let ChunkSound {
            sound,
            logs,
            admittance,
            ..
        } = heard;
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
            &ln(&self.sum_power(chunk, heard)),
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
            let heard = ChunkSound {
                sound,
                logs,
                sum,
                admittance,
            };
            self.add(&mut sums, chunk, &heard);
            self.add_phase(&mut sums, chunk, &heard.sound);
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

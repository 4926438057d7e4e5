//! What a block's combination costs at least, whatever the other blocks do within their ranges.
//!
//! The other blocks are known by the rectangle of the complex plane that their admittance and their
//! sound stay in, the level of the aim by an interval. With them every deviation has a range, and its
//! distance from 0 is a bound. Each term of the goal is counted by one block: the match of a way by its
//! own, the sum and the load at a frequency by the block of the way that is loudest there, so
//! that the bounds of all blocks add up. Phase is left out.

use super::goal::{DB, GoalTables, WAYS, across, power};
use super::logarithm::ln;
use crate::nodal::lanes::{LANES, Lanes, QUAD, Real};

/// Rounding of the bounds, in the unit of the goal: far more than what they can be wrong by.
pub(super) const ROUNDING: f64 = 1e-7;

/// An interval of the level of the aim, relative to the reference level, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LevelSlice {
    pub(super) from_db: f64,
    pub(super) to_db: f64,
}

/// Ranges of the admittance and the summed sound of a block, for one volt at `in`.
#[derive(Debug, Clone)]
pub(super) struct Ranges {
    /// Least and greatest admittance, least and greatest sound, in both coordinates, chunk by chunk.
    chunks: Vec<[Lanes; 4]>,
}

impl Ranges {
    pub(super) fn nothing(chunks: usize) -> Self {
        let least = Lanes {
            re: [f64::INFINITY; LANES],
            im: [f64::INFINITY; LANES],
        };
        let most = Lanes {
            re: [f64::NEG_INFINITY; LANES],
            im: [f64::NEG_INFINITY; LANES],
        };
        Self {
            chunks: vec![[least, most, least, most]; chunks],
        }
    }

    pub(super) fn zero(chunks: usize) -> Self {
        Self {
            chunks: vec![[Lanes::ZERO; 4]; chunks],
        }
    }

    #[inline(always)]
    pub(super) fn widen(&mut self, chunk: usize, admittance: &Lanes, sound: &Lanes) {
        let [y_lo, y_hi, s_lo, s_hi] = &mut self.chunks[chunk];
        for (lo, hi, x) in [(y_lo, y_hi, admittance), (s_lo, s_hi, sound)] {
            for q in (0..LANES).step_by(QUAD) {
                for i in q..q + QUAD {
                    lo.re[i] = lo.re[i].min(x.re[i]);
                    lo.im[i] = lo.im[i].min(x.im[i]);
                    hi.re[i] = hi.re[i].max(x.re[i]);
                    hi.im[i] = hi.im[i].max(x.im[i]);
                }
            }
        }
    }

    pub(super) fn unite(&mut self, other: &Ranges) {
        for (chunk, [y_lo, y_hi, s_lo, s_hi]) in other.chunks.iter().enumerate() {
            self.widen(chunk, y_lo, s_lo);
            self.widen(chunk, y_hi, s_hi);
        }
    }

    /// Ranges of the sum of both.
    pub(super) fn add(&mut self, other: &Ranges) {
        for (mine, theirs) in self.chunks.iter_mut().zip(&other.chunks) {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                mine.add(theirs);
            }
        }
    }
}

/// Least and greatest `|x + r|²` over a rectangle `r`.
#[inline(always)]
fn power_range(x: &Lanes, lo: &Lanes, hi: &Lanes) -> (Real, Real) {
    let (mut least, mut most) = ([0.0; LANES], [0.0; LANES]);
    let mut along = |x: &Real, lo: &Real, hi: &Real| {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                let (low, high) = (x[i] + lo[i], x[i] + hi[i]);
                let near = low.max(-high).max(0.0);
                let far = high.max(-low);
                least[i] += near * near;
                most[i] += far * far;
            }
        }
    };
    along(&x.re, &lo.re, &hi.re);
    along(&x.im, &lo.im, &hi.im);
    (least, most)
}

/// Weight of the terms that a block counts beside the match of its ways.
#[derive(Debug, Clone)]
pub(super) struct Share {
    pub(super) sum: Vec<Real>,
    pub(super) load: Vec<Real>,
}

/// Ranges of the deviations of a chunk: pairs (least, greatest) in dB, with their weights.
pub(super) struct Deviations {
    low: [Real; WAYS + 1],
    high: [Real; WAYS + 1],
    ways: usize,
    /// Bound of the load's term.
    load: f64,
}

impl Deviations {
    /// Of a block's combination: the sounds of its ways and its admittance, for one volt at `in`.
    #[inline(always)]
    pub(super) fn new(
        tables: &GoalTables,
        ways: &[usize],
        share: &Share,
        others: &Ranges,
        chunk: usize,
        sound: &[Lanes],
        admittance: &Lanes,
    ) -> Self {
        let [y_lo, y_hi, s_lo, s_hi] = &others.chunks[chunk];
        let z = tables.output_impedance_ohm;
        let mut divisor = Lanes::ONE;
        divisor.add_weighted(z, admittance);
        let mut scaled = [Lanes::ZERO; 2];
        scaled[0].add_weighted(z, y_lo);
        scaled[1].add_weighted(z, y_hi);
        let (least, most) = power_range(&divisor, &scaled[0], &scaled[1]);
        let (input_least, input_most) = (ln(&least), ln(&most));
        let mut out = Self {
            low: [[0.0; LANES]; WAYS + 1],
            high: [[0.0; LANES]; WAYS + 1],
            ways: ways.len(),
            load: 0.0,
        };
        let mut put = |number: usize, least: &Real, most: &Real, target_db: &Real| {
            for q in (0..LANES).step_by(QUAD) {
                for i in q..q + QUAD {
                    out.low[number][i] = DB * (least[i] - input_most[i]) - target_db[i];
                    out.high[number][i] = DB * (most[i] - input_least[i]) - target_db[i];
                }
            }
        };
        let mut sum = Lanes::ZERO;
        for (o, &way) in ways.iter().enumerate() {
            let log = ln(&power(&sound[o]));
            put(o, &log, &log, &tables.target_db[way][chunk]);
            sum.add(&sound[o]);
        }
        let (least, most) = power_range(&sum, s_lo, s_hi);
        put(
            ways.len(),
            &ln(&least),
            &ln(&most),
            &tables.sum_target_db[chunk],
        );
        let (least, _) = power_range(admittance, y_lo, y_hi);
        let mut load = [0.0; LANES];
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                let short = (tables.least_load_ohm * least[i].sqrt() - 1.0).max(0.0);
                load[i] = share.load[chunk][i] * short * short;
            }
        }
        out.load = across(&load);
        out
    }

    /// What the chunk adds to the bound for levels in a slice.
    #[inline(always)]
    pub(super) fn cost(
        &self,
        tables: &GoalTables,
        ways: &[usize],
        share: &Share,
        chunk: usize,
        slice: LevelSlice,
    ) -> f64 {
        let mut square = [0.0; LANES];
        let mut deviate = |low: &Real, high: &Real, weight: &Real| {
            for q in (0..LANES).step_by(QUAD) {
                for i in q..q + QUAD {
                    let above = low[i] - slice.to_db;
                    let below = slice.from_db - high[i];
                    let off = above.max(below).max(0.0);
                    square[i] += weight[i] * off * off;
                }
            }
        };
        for (o, &way) in ways.iter().enumerate() {
            deviate(&self.low[o], &self.high[o], &tables.weight[way][chunk]);
        }
        deviate(
            &self.low[self.ways],
            &self.high[self.ways],
            &share.sum[chunk],
        );
        self.load + across(&square)
    }
}

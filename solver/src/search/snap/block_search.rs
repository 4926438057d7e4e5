//! One block exactly: every combination of the choices of its parts, the rest of the loudspeaker given.

use rayon::prelude::*;

use super::block::Block;
use super::goal::{ChunkSound, GoalTables, WAYS, power};
use super::response::BlockResponse;
use crate::logarithm::ln;
use crate::nodal::lanes::{LANES, Lanes, Real};
use crate::stock::{PartChoices, StockLimits};

/// Pieces of work that a search is split into at least: enough for any number of threads, and each short
/// enough that one who wants to stop does not wait.
const TASKS: u64 = 96;

/// Asked now and then whether to end.
pub(super) type SearchEnd<'a> = &'a (dyn Fn() -> bool + Sync);

/// The rest of the loudspeaker as a block meets it, for one volt at `in`.
#[derive(Debug, Clone)]
pub(super) struct Others {
    admittance: Vec<Lanes>,
    /// Sum of the sounds.
    sum: Vec<Lanes>,
    /// Sound of each way, chunk by chunk; nothing for those of the block.
    sound: Vec<[Lanes; WAYS]>,
    logs: Vec<[Real; WAYS]>,
}

impl Others {
    pub(super) fn new(tables: &GoalTables, responses: &[(&[usize], &BlockResponse)]) -> Self {
        let chunks = tables.chunks;
        let mut others = Self {
            admittance: vec![Lanes::ZERO; chunks],
            sum: vec![Lanes::ZERO; chunks],
            sound: vec![[Lanes::ZERO; WAYS]; chunks],
            logs: vec![[[0.0; LANES]; WAYS]; chunks],
        };
        for (ways, response) in responses {
            for chunk in 0..chunks {
                others.admittance[chunk].add(&response.admittance[chunk]);
                for (o, &way) in ways.iter().enumerate() {
                    let sound = response.sound[o * chunks + chunk];
                    others.sum[chunk].add(&sound);
                    others.sound[chunk][way] = sound;
                    others.logs[chunk][way] = ln(&power(&sound));
                }
            }
        }
        others
    }
}

/// The goal of one leaf: `leaf` gives the voltages of the block's drivers for one volt at `in` and its
/// admittance, chunk by chunk. Infinite where it is found to reach `limit`.
#[inline(always)]
pub(super) fn leaf_cost(
    tables: &GoalTables,
    others: &Others,
    ways: &[usize],
    limit: f64,
    leaf: impl Fn(usize, &mut [Lanes; WAYS]) -> Lanes,
) -> f64 {
    let mut sums = tables.begin();
    let mut cost = f64::INFINITY;
    for chunk in 0..tables.chunks {
        let heard = others.with(tables, ways, chunk, &leaf);
        tables.add(&mut sums, chunk, &heard);
        cost = tables.so_far(&sums, chunk);
        if cost >= limit {
            return f64::INFINITY;
        }
        tables.add_phase(&mut sums, chunk, &heard.sound);
        cost = tables.so_far(&sums, chunk);
    }
    if cost < limit { cost } else { f64::INFINITY }
}

impl Others {
    /// With one leaf of the block.
    #[inline(always)]
    pub(super) fn with(
        &self,
        tables: &GoalTables,
        ways: &[usize],
        chunk: usize,
        leaf: &impl Fn(usize, &mut [Lanes; WAYS]) -> Lanes,
    ) -> ChunkSound {
        let mut voltages = [Lanes::ZERO; WAYS];
        let mut heard = ChunkSound {
            admittance: leaf(chunk, &mut voltages),
            sound: self.sound[chunk],
            logs: self.logs[chunk],
            sum: self.sum[chunk],
        };
        heard.admittance.add(&self.admittance[chunk]);
        for (o, &way) in ways.iter().enumerate() {
            heard.sound[way] = voltages[o].times(&tables.sound[way][chunk]);
            heard.logs[way] = ln(&power(&heard.sound[way]));
            heard.sum.add(&heard.sound[way]);
        }
        heard
    }
}

/// The best found, best first.
#[derive(Debug, Clone)]
pub(super) struct Best {
    keep: usize,
    limit: f64,
    /// Cost and number of the combination.
    pub(super) entries: Vec<(f64, u64)>,
}

impl Best {
    fn new(keep: usize, limit: f64) -> Self {
        Self {
            keep,
            limit,
            entries: Vec::new(),
        }
    }

    /// What a cost must be below of to get in.
    #[inline(always)]
    fn limit(&self) -> f64 {
        if self.entries.len() < self.keep {
            return self.limit;
        }
        self.entries[self.keep - 1].0.min(self.limit)
    }

    fn add(&mut self, cost: f64, number: u64) {
        let at = (self.entries)
            .partition_point(|(c, n)| c.total_cmp(&cost).then(n.cmp(&number)).is_lt());
        self.entries.insert(at, (cost, number));
        self.entries.truncate(self.keep);
    }
}

/// A search of one block.
pub(super) struct BlockSearch<'a> {
    pub(super) tables: &'a GoalTables,
    pub(super) block: &'a Block,
    pub(super) movable: &'a [PartChoices],
    /// For each part that may be moved, the choices that are looked at.
    pub(super) allowed: &'a [Vec<usize>],
    /// For each part that may be moved, what each choice adds to the goal by itself.
    pub(super) extras: &'a [Vec<f64>],
    pub(super) others: &'a Others,
    /// What is left of the stock for the block.
    pub(super) limits: &'a StockLimits,
}

impl BlockSearch<'_> {
    fn sizes(&self) -> impl Iterator<Item = usize> + '_ {
        (self.block.parts.iter()).map(|&number| self.allowed[number].len())
    }

    /// The `keep` best combinations below `limit`, best first; of equal ones the first. `None` where it is
    /// stopped.
    pub(super) fn run(
        &self,
        keep: usize,
        limit: f64,
        stop: SearchEnd<'_>,
    ) -> Option<Vec<(f64, u64)>> {
        let sizes: Vec<usize> = self.sizes().collect();
        let Some((_, outer)) = sizes.split_last() else {
            return Some(Vec::new());
        };
        // Enough pieces of work for any number of threads, always the same ones.
        let (mut split, mut tasks) = (0, 1u64);
        while split < outer.len() && tasks < TASKS {
            tasks *= outer[split] as u64;
            split += 1;
        }
        let found: Option<Vec<Best>> = (0..tasks)
            .into_par_iter()
            .map_init(
                || self.block.cascade.room(),
                |room, task| {
                    if stop() {
                        return None;
                    }
                    let mut best = Best::new(keep, limit);
                    let mut extra = 0.0;
                    let mut rest = task;
                    let mut digits = vec![0; split];
                    for step in (0..split).rev() {
                        digits[step] = (rest % sizes[step] as u64) as usize;
                        rest /= sizes[step] as u64;
                    }
                    for (step, &choice) in digits.iter().enumerate() {
                        extra += self.place(room, step, choice);
                    }
                    self.descend(room, split, task, extra, &mut best);
                    Some(best)
                },
            )
            .collect();
        let mut all: Vec<(f64, u64)> = found?.into_iter().flat_map(|best| best.entries).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        all.truncate(keep);
        Some(all)
    }

    fn place(&self, room: &mut [Vec<Lanes>], step: usize, choice: usize) -> f64 {
        let part = self.block.parts[step];
        let at = self.allowed[part][choice];
        let choice = &self.movable[part].choices[at];
        self.block
            .cascade
            .place(room, step, (choice.value_si, choice.loss_ohm));
        self.extras[part][at]
    }

    fn descend(
        &self,
        room: &mut [Vec<Lanes>],
        step: usize,
        number: u64,
        extra: f64,
        best: &mut Best,
    ) {
        let choices = &self.allowed[self.block.parts[step]];
        let first = number * choices.len() as u64;
        if step + 1 == self.block.parts.len() {
            leaves(self, &room[step], first, extra, best);
            return;
        }
        for choice in 0..choices.len() {
            let more = self.place(room, step, choice);
            self.descend(room, step + 1, first + choice as u64, extra + more, best);
        }
    }

    /// The choices that a number of a combination stands for, put into `chosen`.
    pub(super) fn write(&self, mut number: u64, chosen: &mut [usize]) {
        for &part in self.block.parts.iter().rev() {
            let size = self.allowed[part].len() as u64;
            chosen[part] = self.allowed[part][(number % size) as usize];
            number /= size;
        }
    }

    /// What the limits of the stock add to a combination.
    fn shortage(&self, number: u64) -> f64 {
        if self.limits.are_none() {
            return 0.0;
        }
        let mut chosen = vec![0; self.movable.len()];
        self.write(number, &mut chosen);
        let choices =
            (self.block.parts.iter()).map(|&part| &self.movable[part].choices[chosen[part]]);
        self.limits.shortage(choices)
    }
}

/// All choices of the last part.
#[multiversion::multiversion(targets("x86_64+avx2"))]
fn leaves(search: &BlockSearch<'_>, state: &[Lanes], first: u64, extra: f64, best: &mut Best) {
    let (tables, block, others) = (search.tables, search.block, search.others);
    let len = state.len() / tables.chunks;
    let last = *block.parts.last().expect("a part that may be moved");
    for (&at, number) in search.allowed[last].iter().zip(first..) {
        let choice = &search.movable[last].choices[at];
        let extra = extra + search.extras[last][at];
        let leaf = |chunk: usize, voltages: &mut [Lanes; WAYS]| {
            let state = &state[chunk * len..][..len];
            (block.cascade).leaf(chunk, state, (choice.value_si, choice.loss_ohm), voltages)
        };
        let limit = best.limit() - extra;
        let cost = leaf_cost(tables, others, &block.ways, limit, leaf) + extra;
        if cost < best.limit() {
            let cost = cost + search.shortage(number);
            if cost < best.limit() {
                best.add(cost, number);
            }
        }
    }
}

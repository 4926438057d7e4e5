//! One block exactly: every combination of the choices of its parts, the rest of the loudspeaker given.

use rayon::prelude::*;

use super::block::{Block, Response};
use super::choices::PartChoices;
use super::goal::{GoalTables, WAYS, power};
use super::limits::Limits;
use crate::logarithm::ln;
use crate::nodal::lanes::{LANES, Lanes, Real};

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
    pub(super) fn new(tables: &GoalTables, responses: &[(&[usize], &Response)]) -> Self {
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
    pub(super) others: &'a Others,
    /// What is left of the stock for the block.
    pub(super) limits: &'a Limits,
}

impl BlockSearch<'_> {
    fn sizes(&self) -> impl Iterator<Item = usize> + '_ {
        (self.block.parts.iter()).map(|&number| self.movable[number].choices.len())
    }

    /// The `keep` best combinations below `limit`, best first; of equal ones the first.
    pub(super) fn run(&self, keep: usize, limit: f64) -> Vec<(f64, u64)> {
        let sizes: Vec<usize> = self.sizes().collect();
        let Some((_, outer)) = sizes.split_last() else {
            return Vec::new();
        };
        // Enough pieces of work for any number of threads, always the same ones.
        let (mut split, mut tasks) = (0, 1u64);
        while split < outer.len() && tasks < 48 {
            tasks *= outer[split] as u64;
            split += 1;
        }
        let found: Vec<Best> = (0..tasks)
            .into_par_iter()
            .map_init(
                || self.block.cascade.room(),
                |room, task| {
                    let mut best = Best::new(keep, limit);
                    let mut penalty = 0.0;
                    let mut rest = task;
                    let mut digits = vec![0; split];
                    for step in (0..split).rev() {
                        digits[step] = (rest % sizes[step] as u64) as usize;
                        rest /= sizes[step] as u64;
                    }
                    for (step, &choice) in digits.iter().enumerate() {
                        penalty += self.place(room, step, choice);
                    }
                    self.descend(room, split, task, penalty, &mut best);
                    best
                },
            )
            .collect();
        let mut all: Vec<(f64, u64)> = found.into_iter().flat_map(|best| best.entries).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        all.truncate(keep);
        all
    }

    fn place(&self, room: &mut [Vec<Lanes>], step: usize, choice: usize) -> f64 {
        let choice = &self.movable[self.block.parts[step]].choices[choice];
        self.block
            .cascade
            .place(room, step, choice.value_si, choice.loss_ohm);
        choice.penalty()
    }

    fn descend(
        &self,
        room: &mut [Vec<Lanes>],
        step: usize,
        number: u64,
        penalty: f64,
        best: &mut Best,
    ) {
        let choices = &self.movable[self.block.parts[step]].choices;
        let first = number * choices.len() as u64;
        if step + 1 == self.block.parts.len() {
            leaves(self, &room[step], first, penalty, best);
            return;
        }
        for choice in 0..choices.len() {
            let more = self.place(room, step, choice);
            self.descend(room, step + 1, first + choice as u64, penalty + more, best);
        }
    }

    /// The choices that a number of a combination stands for, put into `chosen`.
    pub(super) fn write(&self, mut number: u64, chosen: &mut [usize]) {
        for &part in self.block.parts.iter().rev() {
            let size = self.movable[part].choices.len() as u64;
            chosen[part] = (number % size) as usize;
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
fn leaves(search: &BlockSearch<'_>, state: &[Lanes], first: u64, penalty: f64, best: &mut Best) {
    let (tables, block, others) = (search.tables, search.block, search.others);
    let len = state.len() / tables.chunks;
    let last = *block.parts.last().expect("a part that may be moved");
    for (choice, number) in search.movable[last].choices.iter().zip(first..) {
        let penalty = penalty + choice.penalty();
        let limit = best.limit() - penalty;
        let mut sums = tables.begin();
        let mut cost = f64::INFINITY;
        for (chunk, state) in state.chunks_exact(len).enumerate() {
            let mut voltages = [Lanes::ZERO; WAYS];
            let mut admittance = block.cascade.leaf(
                chunk,
                state,
                choice.value_si,
                choice.loss_ohm,
                &mut voltages,
            );
            admittance.add(&others.admittance[chunk]);
            let mut sound = others.sound[chunk];
            let mut logs = others.logs[chunk];
            let mut sum = others.sum[chunk];
            for (o, &way) in block.ways.iter().enumerate() {
                sound[way] = voltages[o].times(&tables.sound[way][chunk]);
                logs[way] = ln(&power(&sound[way]));
                sum.add(&sound[way]);
            }
            tables.add(&mut sums, chunk, &logs, &sum, &admittance);
            cost = tables.so_far(&sums, chunk);
            if cost >= limit {
                cost = f64::INFINITY;
                break;
            }
            tables.add_phase(&mut sums, chunk, &sound);
            cost = tables.so_far(&sums, chunk);
        }
        let cost = cost + penalty;
        if cost < best.limit() {
            let cost = cost + search.shortage(number);
            if cost < best.limit() {
                best.add(cost, number);
            }
        }
    }
}

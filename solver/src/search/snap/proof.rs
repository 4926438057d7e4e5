//! All blocks together: branch and bound over every combination of the choices of all parts.
//!
//! First each block is run through with ranges of the others, in slices of the level of the aim, and what costs more than the
//! best loudspeaker known falls away, round by round. What is left is split by the value of a part or by
//! the level, bounded again, and in small pieces run through. When nothing is left, no choice
//! is better than the best one known.

use rayon::prelude::*;

use super::block::{Block, Response};
use super::bound::{Deviations, LevelSlice, ROUNDING, Ranges, Share};
use super::choices::PartChoices;
use super::goal::{GoalTables, WAYS};
use crate::nodal::lanes::{LANES, Lanes, Real};

/// Combinations of one block that are run through for ranges without any bound.
const MOST_UNBOUNDED: f64 = 1.5e6;
/// Combinations that are kept with what they do.
const MOST_KEPT: usize = 16_000;
/// Rounds of running through.
const ROUNDS: usize = 3;
/// Blocks there can be: the ways, and what lies across the amplifier.
const MOST_BLOCKS: usize = 8;
/// Combinations of a piece that are evaluated one by one.
const SMALL_PIECE: f64 = 4000.0;
/// Half the width of the levels that are looked at closely, and the width of a slice, dB.
const CLOSE_DB: f64 = 0.75;
const SLICE_DB: f64 = 0.25;

/// Everything that a proof works on.
pub(super) struct Proof<'a> {
    pub(super) tables: &'a GoalTables,
    pub(super) blocks: &'a [Block],
    pub(super) movable: &'a [PartChoices],
    /// Bounds that may be worked out before it is given up.
    pub(super) budget: u64,
    shares: Vec<Share>,
    slices: Vec<LevelSlice>,
}

/// How a proof ended.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Verdict {
    /// Nothing is better than the best known.
    Proven,
    /// Better choices, best first.
    Better(Vec<usize>),
    /// Given up.
    Open,
}

/// A combination with what it does.
#[derive(Debug, Clone)]
struct Kept {
    choices: Vec<u8>,
    penalty: f64,
    response: Response,
}

/// One slice of the level as one block stands in it.
#[derive(Debug, Clone)]
struct Standing {
    ranges: Ranges,
    /// Least bound of all its combinations.
    least: f64,
    count: u64,
}

/// What running through a block found, slice by slice.
struct Run {
    standings: Vec<Standing>,
    kept: Vec<(Kept, u32)>,
    overflow: bool,
    bounds: u64,
}

impl<'a> Proof<'a> {
    /// `best` holds the responses of the best known, which say who is loudest where, and `level_db`
    /// its level.
    pub(super) fn new(
        tables: &'a GoalTables,
        blocks: &'a [Block],
        movable: &'a [PartChoices],
        best: &[Response],
        level_db: f64,
        budget: u64,
    ) -> Self {
        let loudest = |chunk: usize, lane: usize| {
            let loud = |block: usize| {
                (0..blocks[block].ways.len())
                    .map(|o| {
                        best[block].sound[o * tables.chunks + chunk]
                            .lane(lane)
                            .norm_sqr()
                    })
                    .fold(0.0, f64::max)
            };
            (0..blocks.len()).max_by(|&a, &b| loud(a).total_cmp(&loud(b)))
        };
        let shares = (0..blocks.len())
            .map(|block| {
                let masked = |weight: &[Real]| -> Vec<Real> {
                    (weight.iter().enumerate())
                        .map(|(chunk, weight)| {
                            std::array::from_fn(|lane| match loudest(chunk, lane) {
                                Some(loud) if loud == block => weight[lane],
                                _ => 0.0,
                            })
                        })
                        .collect()
                };
                Share {
                    sum: masked(&tables.sum_weight),
                    load: masked(&tables.load_weight),
                }
            })
            .collect();
        let slices = if tables.level_is_free {
            let count = (2.0 * CLOSE_DB / SLICE_DB).round() as usize;
            let lowest = level_db - tables.reference_level_db - CLOSE_DB;
            let edge = |i: usize| lowest + SLICE_DB * i as f64;
            let mut slices = vec![LevelSlice {
                from_db: f64::NEG_INFINITY,
                to_db: edge(0),
            }];
            slices.extend((0..count).map(|i| LevelSlice {
                from_db: edge(i),
                to_db: edge(i + 1),
            }));
            slices.push(LevelSlice {
                from_db: edge(count),
                to_db: f64::INFINITY,
            });
            slices
        } else {
            vec![LevelSlice {
                from_db: 0.0,
                to_db: 0.0,
            }]
        };
        Self {
            tables,
            blocks,
            movable,
            budget,
            shares,
            slices,
        }
    }

    /// Looks for anything better than `cost`.
    pub(super) fn run(
        &self,
        cost: f64,
        shortage: &(dyn Fn(&[usize]) -> f64 + Sync),
        spent: &mut u64,
    ) -> Verdict {
        let limit = cost - ROUNDING;
        let count = self.blocks.len();
        let mut order: Vec<usize> = (0..count).collect();
        let sizes: Vec<f64> = (self.blocks.iter())
            .map(|b| b.combinations(self.movable))
            .collect();
        order.sort_by(|&a, &b| sizes[b].total_cmp(&sizes[a]));
        let many = |number: &usize| self.movable[*number].choices.len() > usize::from(u8::MAX);
        if (order.len() > 1 && sizes[order[1]] > MOST_UNBOUNDED)
            || sizes[order[0]] > self.budget as f64
            || count > MOST_BLOCKS
            || self.blocks.iter().any(|block| block.parts.iter().any(many))
        {
            return Verdict::Open;
        }
        let alone = vec![
            Standing {
                ranges: Ranges::zero(self.tables.chunks),
                least: 0.0,
                count: 1,
            };
            self.slices.len()
        ];
        let mut standings = vec![alone; count];
        for &block in &order[1..] {
            let ranges = self.all_ranges(block);
            *spent += sizes[block] as u64;
            for standing in &mut standings[block] {
                standing.ranges = ranges.clone();
                standing.count = sizes[block] as u64;
            }
        }
        let mut kept: Vec<Option<Vec<(Kept, u32)>>> = vec![None; count];
        let mut before = u64::MAX;
        for _ in 0..ROUNDS {
            for &block in &order {
                if *spent > self.budget {
                    return Verdict::Open;
                }
                let found = self.run_through(block, &standings, limit);
                *spent += found.bounds;
                standings[block] = found.standings;
                kept[block] = (!found.overflow).then_some(found.kept);
                // What is dead for one block is dead for all.
                for slice in 0..self.slices.len() {
                    if standings[block][slice].count == 0 {
                        for other in &mut standings {
                            other[slice].count = 0;
                        }
                    }
                }
            }
            let left: u64 = standings.iter().flatten().map(|s| s.count).sum();
            if left == 0 {
                return Verdict::Proven;
            }
            // Once everything is kept, pieces do the rest.
            if kept.iter().all(Option::is_some) || left as f64 > 0.9 * before as f64 {
                break;
            }
            before = left;
        }
        let Some(kept) = kept.into_iter().collect::<Option<Vec<_>>>() else {
            return Verdict::Open;
        };
        let mut pieces = Pieces {
            proof: self,
            kept: &kept,
            shortage,
            limit,
            best: None,
            spent,
        };
        for (number, &slice) in self.slices.iter().enumerate() {
            let lists: Vec<Vec<usize>> = (kept.iter())
                .map(|kept| {
                    (0..kept.len())
                        .filter(|&i| kept[i].1 >> number & 1 == 1)
                        .collect()
                })
                .collect();
            if !pieces.piece(lists, slice) {
                return Verdict::Open;
            }
        }
        match pieces.best {
            Some(better) => Verdict::Better(better),
            None => Verdict::Proven,
        }
    }

    /// Ranges over all combinations of a block.
    fn all_ranges(&self, block: usize) -> Ranges {
        let tasks = self.tasks(block);
        let ranges: Vec<Ranges> = tasks
            .into_par_iter()
            .map_init(
                || self.blocks[block].cascade.room(),
                |room, digits| {
                    let mut ranges = Ranges::nothing(self.tables.chunks);
                    self.walk(
                        block,
                        room,
                        &mut digits.clone(),
                        0,
                        digits.len(),
                        &mut |_, state| {
                            widen_by_leaf(self, block, state, &mut ranges);
                        },
                    );
                    ranges
                },
            )
            .collect();
        let mut all = Ranges::nothing(self.tables.chunks);
        for ranges in &ranges {
            all.unite(ranges);
        }
        all
    }

    /// Choices of the first parts of a block, as pieces of work.
    fn tasks(&self, block: usize) -> Vec<Vec<u8>> {
        let parts = &self.blocks[block].parts;
        let mut tasks: Vec<Vec<u8>> = vec![Vec::new()];
        for &part in parts {
            if tasks.len() >= 48 {
                break;
            }
            let size = self.movable[part].choices.len() as u8;
            tasks = (tasks.into_iter())
                .flat_map(|head| {
                    (0..size).map(move |choice| {
                        let mut task = head.clone();
                        task.push(choice);
                        task
                    })
                })
                .collect();
        }
        tasks
    }

    /// Puts all parts in place for every combination that begins with the first `given` digits.
    fn walk(
        &self,
        block: usize,
        room: &mut [Vec<Lanes>],
        digits: &mut Vec<u8>,
        step: usize,
        given: usize,
        leaf: &mut dyn FnMut(&[u8], &[Lanes]),
    ) {
        let own = &self.blocks[block];
        if step == own.parts.len() {
            leaf(digits, &room[step]);
            return;
        }
        let choices = &self.movable[own.parts[step]].choices;
        let place = |room: &mut [Vec<Lanes>], digit: usize| {
            let choice = &choices[digit];
            own.cascade
                .place(room, step, choice.value_si, choice.loss_ohm);
        };
        if step < given {
            place(room, usize::from(digits[step]));
            self.walk(block, room, digits, step + 1, given, leaf);
            return;
        }
        for digit in 0..choices.len() {
            place(room, digit);
            digits.push(digit as u8);
            self.walk(block, room, digits, step + 1, given, leaf);
            digits.pop();
        }
    }

    /// The least that the level given away costs in a slice: it belongs to no block.
    fn loudness(&self, slice: LevelSlice) -> f64 {
        self.tables.loudness_between(slice.from_db, slice.to_db)
    }

    fn others(&self, block: usize, slice: usize, standings: &[Vec<Standing>]) -> (Ranges, f64) {
        let mut ranges = Ranges::zero(self.tables.chunks);
        let mut least = 0.0;
        for (other, standing) in standings.iter().enumerate() {
            if other != block {
                ranges.add(&standing[slice].ranges);
                least += standing[slice].least;
            }
        }
        (ranges, least)
    }

    /// Bounds every combination of a block in every slice, with what is known of the others.
    fn run_through(&self, block: usize, standings: &[Vec<Standing>], limit: f64) -> Run {
        let live: Vec<usize> = (0..self.slices.len())
            .filter(|&slice| standings.iter().all(|standing| standing[slice].count > 0))
            .collect();
        // Ranges of the others over all slices: one set of logarithms serves all of them.
        let mut others = Ranges::nothing(self.tables.chunks);
        let mut limits = vec![f64::NEG_INFINITY; self.slices.len()];
        for &slice in &live {
            let (ranges, least) = self.others(block, slice, standings);
            others.unite(&ranges);
            limits[slice] = limit - least - self.loudness(self.slices[slice]);
        }
        let tasks = self.tasks(block);
        let runs: Vec<Run> = tasks
            .into_par_iter()
            .map_init(
                || self.blocks[block].cascade.room(),
                |room, digits| {
                    let mut run = Run {
                        standings: vec![
                            Standing {
                                ranges: Ranges::nothing(self.tables.chunks),
                                least: f64::INFINITY,
                                count: 0,
                            };
                            self.slices.len()
                        ],
                        kept: Vec::new(),
                        overflow: false,
                        bounds: 0,
                    };
                    let given = digits.len();
                    self.walk(
                        block,
                        room,
                        &mut digits.clone(),
                        0,
                        given,
                        &mut |digits, state| {
                            bound_leaf(
                                self, block, digits, state, &others, &live, &limits, &mut run,
                            );
                        },
                    );
                    run
                },
            )
            .collect();
        let mut whole: Option<Run> = None;
        for run in runs {
            match &mut whole {
                None => whole = Some(run),
                Some(whole) => {
                    for (mine, theirs) in whole.standings.iter_mut().zip(&run.standings) {
                        mine.ranges.unite(&theirs.ranges);
                        mine.least = mine.least.min(theirs.least);
                        mine.count += theirs.count;
                    }
                    whole.kept.extend(run.kept);
                    whole.overflow |= run.overflow || whole.kept.len() > MOST_KEPT;
                    if whole.overflow {
                        whole.kept.clear();
                    }
                    whole.bounds += run.bounds;
                }
            }
        }
        whole.expect("at least one piece of work")
    }

    fn penalty(&self, block: usize, digits: &[u8]) -> f64 {
        (self.blocks[block].parts.iter().zip(digits))
            .map(|(&part, &digit)| self.movable[part].choices[usize::from(digit)].penalty())
            .sum()
    }
}

#[inline(always)]
fn sounds(proof: &Proof<'_>, block: usize, chunk: usize, state: &[Lanes]) -> [Lanes; WAYS] {
    let mut sound = [Lanes::ZERO; WAYS];
    for (o, &way) in proof.blocks[block].ways.iter().enumerate() {
        sound[o] = state[o].times(&proof.tables.sound[way][chunk]);
    }
    sound
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn widen_by_leaf(proof: &Proof<'_>, block: usize, state: &[Lanes], ranges: &mut Ranges) {
    let outputs = proof.blocks[block].ways.len();
    for (chunk, state) in state.chunks_exact(outputs + 1).enumerate() {
        let sound = sounds(proof, block, chunk, state);
        let mut sum = Lanes::ZERO;
        for sound in &sound[..outputs] {
            sum.add(sound);
        }
        ranges.widen(chunk, &state[outputs], &sum);
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
#[expect(clippy::too_many_arguments, reason = "one call in one place")]
fn bound_leaf(
    proof: &Proof<'_>,
    block: usize,
    digits: &[u8],
    state: &[Lanes],
    others: &Ranges,
    live: &[usize],
    limits: &[f64],
    run: &mut Run,
) {
    let tables = proof.tables;
    let ways = &proof.blocks[block].ways;
    let share = &proof.shares[block];
    let outputs = ways.len();
    let penalty = proof.penalty(block, digits);
    let mut costs = [penalty; 32];
    let mut alive: u32 = live.iter().map(|slice| 1 << slice).sum();
    run.bounds += 1;
    for (chunk, state) in state.chunks_exact(outputs + 1).enumerate() {
        let sound = sounds(proof, block, chunk, state);
        let deviations =
            Deviations::new(tables, ways, share, others, chunk, &sound, &state[outputs]);
        for &slice in live {
            if alive >> slice & 1 == 1 {
                costs[slice] += deviations.cost(tables, ways, share, chunk, proof.slices[slice]);
                if costs[slice] > limits[slice] {
                    alive &= !(1 << slice);
                }
            }
        }
        if alive == 0 {
            return;
        }
    }
    let keep = run.kept.len() < MOST_KEPT && !run.overflow;
    run.overflow |= !keep;
    let mut response = keep.then(|| Response::new(outputs, tables.chunks));
    for (chunk, state) in state.chunks_exact(outputs + 1).enumerate() {
        let sound = sounds(proof, block, chunk, state);
        let mut sum = Lanes::ZERO;
        for (o, sound) in sound[..outputs].iter().enumerate() {
            sum.add(sound);
            if let Some(response) = &mut response {
                response.sound[o * tables.chunks + chunk] = *sound;
            }
        }
        if let Some(response) = &mut response {
            response.admittance[chunk] = state[outputs];
        }
        for &slice in live {
            if alive >> slice & 1 == 1 {
                run.standings[slice]
                    .ranges
                    .widen(chunk, &state[outputs], &sum);
            }
        }
    }
    for &slice in live {
        if alive >> slice & 1 == 1 {
            let standing = &mut run.standings[slice];
            standing.least = standing.least.min(costs[slice]);
            standing.count += 1;
        }
    }
    if let Some(response) = response {
        let choices = digits.to_vec();
        run.kept.push((
            Kept {
                choices,
                penalty,
                response,
            },
            alive,
        ));
    } else {
        run.kept.clear();
    }
}

/// Branch and bound over what was kept.
struct Pieces<'p, 'a, 's> {
    proof: &'p Proof<'a>,
    kept: &'p [Vec<(Kept, u32)>],
    shortage: &'s (dyn Fn(&[usize]) -> f64 + Sync),
    limit: f64,
    best: Option<Vec<usize>>,
    spent: &'s mut u64,
}

impl Pieces<'_, '_, '_> {
    /// Goes through a piece; `false` when the budget is spent.
    fn piece(&mut self, mut lists: Vec<Vec<usize>>, slice: LevelSlice) -> bool {
        let proof = self.proof;
        let bounds = loop {
            if lists.iter().any(Vec::is_empty) {
                return true;
            }
            if *self.spent > proof.budget {
                return false;
            }
            let before: usize = lists.iter().map(Vec::len).sum();
            let bounds = self.shave(&mut lists, slice);
            let after: usize = lists.iter().map(Vec::len).sum();
            if lists.iter().any(Vec::is_empty) {
                return true;
            }
            if after as f64 > 0.8 * before as f64 {
                break bounds;
            }
        };
        let product: f64 = lists.iter().map(|list| list.len() as f64).product();
        if product <= SMALL_PIECE {
            self.evaluate(&lists, &bounds);
            return true;
        }

        self.split(lists, slice)
    }

    /// Takes out what costs too much in any case; gives the bounds of what is left.
    fn shave(&mut self, lists: &mut [Vec<usize>], slice: LevelSlice) -> Vec<Vec<f64>> {
        let (proof, kept) = (self.proof, self.kept);
        let chunks = proof.tables.chunks;
        let limit = self.limit - proof.loudness(slice);
        let ranges: Vec<Ranges> = (lists.iter().enumerate())
            .map(|(block, list)| {
                let mut ranges = Ranges::nothing(chunks);
                for &i in list {
                    widen_by_kept(&mut ranges, &kept[block][i].0.response, chunks);
                }
                ranges
            })
            .collect();
        let mut least = vec![0.0; lists.len()];
        let mut all_bounds = vec![Vec::new(); lists.len()];
        // The least bound of a block serves those after it at once, and those before it in a second pass.
        for pass in 0..2 {
            for block in 0..lists.len() {
                let mut others = Ranges::zero(chunks);
                for (other, ranges) in ranges.iter().enumerate() {
                    if other != block {
                        others.add(ranges);
                    }
                }
                let rest: f64 = (0..lists.len())
                    .filter(|&other| other != block)
                    .map(|other| least[other])
                    .sum();
                if pass == 0 {
                    *self.spent += lists[block].len() as u64;
                    let bounds: Vec<f64> = (lists[block].par_iter().with_min_len(64))
                        .map(|&i| {
                            bound_kept(proof, block, &kept[block][i].0, &others, slice, limit)
                        })
                        .collect();
                    all_bounds[block] = bounds;
                }
                let (list, bounds) = (&mut lists[block], &mut all_bounds[block]);
                let stays: Vec<bool> = bounds.iter().map(|b| b + rest <= limit).collect();
                let mut stay = stays.iter();
                list.retain(|_| *stay.next().expect("one a member"));
                let mut stay = stays.iter();
                bounds.retain(|_| *stay.next().expect("one a member"));
                least[block] = bounds.iter().copied().fold(f64::INFINITY, f64::min);
                if list.is_empty() {
                    return all_bounds;
                }
            }
        }
        all_bounds
    }

    /// Splits by the part with most choices left, or by the level.
    fn split(&mut self, lists: Vec<Vec<usize>>, slice: LevelSlice) -> bool {
        let width = slice.to_db - slice.from_db;
        let mut most = (0, 0, 0, 0u8);
        for (block, list) in lists.iter().enumerate() {
            for digit in 0..self.proof.blocks[block].parts.len() {
                let mut seen: Vec<u8> = (list.iter())
                    .map(|&i| self.kept[block][i].0.choices[digit])
                    .collect();
                seen.sort_unstable();
                let middle = seen[seen.len() / 2];
                seen.dedup();
                if seen.len() > most.0 {
                    // The upper half begins at the median, or above it where that is the lowest.
                    let from = if middle == seen[0] {
                        seen[seen.len().min(2) - 1]
                    } else {
                        middle
                    };
                    most = (seen.len(), block, digit, from);
                }
            }
        }
        let (values, block, digit, from) = most;
        if values < 2 || (width.is_finite() && width > 0.08 && values < 6) {
            if !(width.is_finite() && width > 1e-6) {
                // One combination in each block is a small piece; a level without end cannot be halved.
                return false;
            }
            let middle = 0.5 * (slice.from_db + slice.to_db);
            let (low, high) = (
                LevelSlice {
                    to_db: middle,
                    ..slice
                },
                LevelSlice {
                    from_db: middle,
                    ..slice
                },
            );
            return self.piece(lists.clone(), low) && self.piece(lists, high);
        }
        let (low, high): (Vec<usize>, Vec<usize>) =
            (lists[block].iter()).partition(|&&i| self.kept[block][i].0.choices[digit] < from);
        let mut first = lists.clone();
        first[block] = low;
        let mut second = lists;
        second[block] = high;
        self.piece(first, slice) && self.piece(second, slice)
    }

    /// Evaluates every combination of the lists.
    fn evaluate(&mut self, lists: &[Vec<usize>], bounds: &[Vec<f64>]) {
        let (proof, kept) = (self.proof, self.kept);
        let count: usize = lists.iter().map(Vec::len).product();
        *self.spent += count as u64;
        let mut at = vec![0; lists.len()];
        let mut chosen = vec![0; proof.movable.len()];
        for number in 0..count {
            let mut rest = number;
            for (block, list) in lists.iter().enumerate() {
                at[block] = rest % list.len();
                rest /= list.len();
            }
            let least: f64 = (0..lists.len()).map(|block| bounds[block][at[block]]).sum();
            if least > self.limit {
                continue;
            }
            let mut penalty = 0.0;
            let mut responses: [(&[usize], Option<&Response>); MOST_BLOCKS] =
                [(&[], None); MOST_BLOCKS];
            for block in 0..lists.len() {
                let combination = &kept[block][lists[block][at[block]]].0;
                penalty += combination.penalty;
                responses[block] = (&proof.blocks[block].ways, Some(&combination.response));
                for (&part, &digit) in proof.blocks[block].parts.iter().zip(&combination.choices) {
                    chosen[part] = usize::from(digit);
                }
            }
            let list: Vec<(&[usize], &Response)> = (responses.iter())
                .filter_map(|(ways, response)| response.map(|response| (*ways, response)))
                .collect();
            let cost = penalty + evaluate_whole(proof.tables, &list, self.limit - penalty);
            if cost < self.limit {
                let cost = cost + (self.shortage)(&chosen);
                if cost < self.limit {
                    self.limit = cost - ROUNDING;
                    self.best = Some(chosen.clone());
                }
            }
        }
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn evaluate_whole(tables: &GoalTables, list: &[(&[usize], &Response)], limit: f64) -> f64 {
    tables.evaluate_below(list, limit).0
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn widen_by_kept(ranges: &mut Ranges, response: &Response, chunks: usize) {
    let outputs = response.sound.len() / chunks;
    for chunk in 0..chunks {
        let mut sum = Lanes::ZERO;
        for o in 0..outputs {
            sum.add(&response.sound[o * chunks + chunk]);
        }
        ranges.widen(chunk, &response.admittance[chunk], &sum);
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn bound_kept(
    proof: &Proof<'_>,
    block: usize,
    kept: &Kept,
    others: &Ranges,
    slice: LevelSlice,
    limit: f64,
) -> f64 {
    let tables = proof.tables;
    let ways = &proof.blocks[block].ways;
    let share = &proof.shares[block];
    let mut cost = kept.penalty;
    for chunk in 0..tables.chunks {
        let mut sound = [Lanes::ZERO; WAYS];
        for (o, sound) in sound[..ways.len()].iter_mut().enumerate() {
            *sound = kept.response.sound[o * tables.chunks + chunk];
        }
        let admittance = &kept.response.admittance[chunk];
        let deviations = Deviations::new(tables, ways, share, others, chunk, &sound, admittance);
        cost += deviations.cost(tables, ways, share, chunk, slice);
        if cost > limit {
            return f64::INFINITY;
        }
    }
    cost
}

const _: () = assert!(LANES >= WAYS);

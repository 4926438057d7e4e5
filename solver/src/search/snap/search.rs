//! From ideal values to the best choice that can be found, and what is known of it.

use super::block::{Block, Response, blocks};
use super::block_search::{BlockSearch, Others};
use super::choices::{Choice, PartChoices};
use super::goal::GoalTables;
use super::limits::Limits;
use super::proof::{Proof, Verdict};
use crate::goal::Targets;
use crate::nodal::PlanError;
use crate::search::job::Job;
use netlist::network::{Network, PartKind};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Combinations of one block that are run through.
pub(super) const MOST_COMBINATIONS: f64 = 1.2e7;

/// Rounds of searching block by block.
const ROUNDS: usize = 20;

/// Choices of each block whose expected goal is worked out, and of these how many are tried together with
/// those of the others.
const ROBUST_EACH: usize = 40;
const ROBUST_CROSSED: usize = 4;

/// Builds over which the expected goal is taken.
const BUILDS: u64 = 48;

/// Tolerance of a part whose stock states none (common practice).
const USUAL_TOLERANCE: f64 = 0.05;

/// Everything prepared for the search of one network.
pub(super) struct Search<'a> {
    pub(super) movable: &'a [PartChoices],
    pub(super) tables: GoalTables,
    pub(super) blocks: Vec<Block>,
    pub(super) limits: Limits,
    /// Combinations that were looked at.
    pub(super) looked_at: u64,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        job: &Job,
        targets: &Targets,
        network: &Network,
        movable: &'a [PartChoices],
        budget: Option<f64>,
        level_db: f64,
    ) -> Result<Self, PlanError> {
        let inverted: Vec<bool> = (job.ways.iter())
            .map(|way| {
                network.parts().values().any(|part| {
                    matches!(&part.kind, PartKind::Driver { driver, inverted: true, .. } if *driver == way.name)
                })
            })
            .collect();
        let tables = GoalTables::new(
            job,
            targets,
            &inverted,
            job.aim.level.map_or(level_db, |l| l.0),
        );
        let blocks = blocks(job, network, movable, &tables)?;
        Ok(Self {
            movable,
            blocks,
            limits: Limits::new(&job.stock, budget),
            tables,
            looked_at: 0,
        })
    }

    pub(super) fn choice(&self, number: usize, chosen: &[usize]) -> &Choice {
        &self.movable[number].choices[chosen[number]]
    }

    pub(super) fn responses(&self, chosen: &[usize]) -> Vec<Response> {
        let value = |number: usize| {
            let choice = self.choice(number, chosen);
            (choice.value_si, choice.loss_ohm)
        };
        (self.blocks.iter())
            .map(|block| block.respond(&self.tables, &value))
            .collect()
    }

    fn with_ways<'r>(&'r self, responses: &'r [Response]) -> Vec<(&'r [usize], &'r Response)> {
        (self.blocks.iter().zip(responses))
            .map(|(block, response)| (block.ways.as_slice(), response))
            .collect()
    }

    /// Goal and level for values and losses that need not be of the stock.
    pub(super) fn cost_of_values(
        &self,
        value_and_loss: &dyn Fn(usize) -> (f64, f64),
    ) -> (f64, f64) {
        let responses: Vec<Response> = (self.blocks.iter())
            .map(|block| block.respond(&self.tables, value_and_loss))
            .collect();
        self.tables.evaluate(&self.with_ways(&responses))
    }

    /// What parts joined and limits passed add to the goal.
    pub(super) fn extra(&self, chosen: &[usize]) -> f64 {
        let choices = || (0..self.movable.len()).map(|number| self.choice(number, chosen));
        choices().map(Choice::penalty).sum::<f64>() + self.limits.shortage(choices())
    }

    /// Goal and level of a choice.
    pub(super) fn cost(&self, chosen: &[usize]) -> (f64, f64) {
        let responses = self.responses(chosen);
        let (cost, level_db) = self.tables.evaluate(&self.with_ways(&responses));
        (cost + self.extra(chosen), level_db)
    }

    /// The nearest values, each part for itself, as far as they are on hand.
    pub(super) fn nearest(&self) -> Vec<usize> {
        let mut chosen: Vec<usize> = self.movable.iter().map(|part| part.nearest).collect();
        let mut limits = self.limits.clone();
        for number in 0..self.movable.len() {
            let part = &self.movable[number];
            let off = |i: usize| (part.choices[i].value_si / part.ideal_si).ln().abs();
            let free = (0..part.choices.len())
                .filter(|&i| part.choices[i].made_of.is_none())
                .filter(|&i| limits.shortage(std::iter::once(&part.choices[i])) <= 0.0)
                .min_by(|&a, &b| off(a).total_cmp(&off(b)));
            chosen[number] = free.unwrap_or(part.nearest);
            limits = limits.less(std::iter::once(self.choice(number, &chosen)));
        }
        chosen
    }

    /// The best combinations of one block, the rest as chosen, below `limit`: each with the whole
    /// choice and its cost.
    pub(super) fn best_of_block(
        &mut self,
        block: usize,
        chosen: &[usize],
        keep: usize,
        limit: f64,
    ) -> Vec<(f64, Vec<usize>)> {
        if self.blocks[block].parts.is_empty() {
            return Vec::new();
        }
        let responses = self.responses(chosen);
        let mut rest = self.with_ways(&responses);
        rest.remove(block);
        let others = Others::new(&self.tables, &rest);
        let outside: Vec<usize> = (0..self.movable.len())
            .filter(|number| !self.blocks[block].parts.contains(number))
            .collect();
        let extra: f64 = outside
            .iter()
            .map(|&number| self.choice(number, chosen).penalty())
            .sum();
        let limits = self
            .limits
            .less(outside.iter().map(|&number| self.choice(number, chosen)));
        let search = BlockSearch {
            tables: &self.tables,
            block: &self.blocks[block],
            movable: self.movable,
            others: &others,
            limits: &limits,
        };
        let found = search.run(keep, limit - extra);
        let found = (found.into_iter())
            .map(|(cost, number)| {
                let mut chosen = chosen.to_vec();
                search.write(number, &mut chosen);
                (cost + extra, chosen)
            })
            .collect();
        self.looked_at += self.blocks[block].combinations(self.movable) as u64;
        found
    }

    /// Searches block by block until none can be bettered for itself; gives the cost.
    pub(super) fn settle(&mut self, chosen: &mut Vec<usize>) -> f64 {
        let mut cost = self.cost(chosen).0;
        let mut unchanged = 0;
        let mut order: Vec<usize> = (0..self.blocks.len()).collect();
        order.sort_by(|&a, &b| {
            let size = |block: usize| self.blocks[block].combinations(self.movable);
            size(a).total_cmp(&size(b))
        });
        for &block in order.iter().cycle().take(ROUNDS * order.len()) {
            if unchanged == order.len() {
                break;
            }
            unchanged += 1;
            if !self.runs_through(block) {
                let better = self.exchange(block, chosen, cost);
                if better < cost {
                    cost = better;
                    unchanged = 1;
                }
                continue;
            }
            // Rounding in another order of sums is no gain.
            let limit = cost - 1e-9 * cost.max(1.0);
            if let Some((better, choice)) = self.best_of_block(block, chosen, 1, limit).pop() {
                (*chosen, cost) = (choice, better);
                unchanged = 1;
            }
        }
        cost
    }

    /// Whether every combination of a block is looked at.
    fn runs_through(&self, block: usize) -> bool {
        self.blocks[block].combinations(self.movable) <= MOST_COMBINATIONS
    }

    /// Whether every combination of each block is looked at.
    pub(super) fn runs_through_all(&self) -> bool {
        (0..self.blocks.len()).all(|block| self.runs_through(block))
    }

    /// Exchanges one part of a block, or two, as long as that gains: for blocks too large to be run
    /// through. Gives the cost.
    fn exchange(&mut self, block: usize, chosen: &mut [usize], mut cost: f64) -> f64 {
        let parts = self.blocks[block].parts.clone();
        for _ in 0..ROUNDS {
            let before = cost;
            for (i, &a) in parts.iter().enumerate() {
                // The same part twice is an exchange of one.
                for &b in &parts[..=i] {
                    let (mut best_a, mut best_b) = (chosen[a], chosen[b]);
                    for choice_a in 0..self.movable[a].choices.len() {
                        for choice_b in 0..self.movable[b].choices.len() {
                            if a == b && choice_b > 0 {
                                break;
                            }
                            chosen[b] = choice_b;
                            chosen[a] = choice_a;
                            self.looked_at += 1;
                            let other = self.cost(chosen).0;
                            if other < cost - 1e-9 * cost.max(1.0) {
                                (cost, best_a, best_b) = (other, choice_a, choice_b);
                            }
                        }
                    }
                    chosen[b] = best_b;
                    chosen[a] = best_a;
                }
            }
            if cost >= before {
                break;
            }
        }
        cost
    }

    /// Other choices, best first: the next best of each block.
    pub(super) fn runners_up(&mut self, chosen: &[usize]) -> Vec<Vec<usize>> {
        let mut found: Vec<(f64, Vec<usize>)> = Vec::new();
        for block in 0..self.blocks.len() {
            if self.runs_through(block) {
                found.extend(self.best_of_block(block, chosen, 3, f64::INFINITY));
            }
        }
        found.retain(|(_, other)| other != chosen);
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|(_, chosen)| chosen).collect()
    }

    /// Of the best choices the one whose goal is least in the mean of builds with parts within their
    /// tolerances, the same builds for all.
    pub(super) fn most_robust(&mut self, chosen: &mut Vec<usize>, seed: u64) {
        let mut candidates = vec![chosen.clone()];
        for block in 0..self.blocks.len() {
            if !self.runs_through(block) {
                continue;
            }
            let found = self.best_of_block(block, chosen, ROBUST_EACH, f64::INFINITY);
            // The best few of one block with the best few of those before.
            let mut crossed: Vec<Vec<usize>> = Vec::new();
            for (_, other) in &found[..found.len().min(ROBUST_CROSSED)] {
                for known in &candidates[..candidates.len().min(ROBUST_CROSSED * ROBUST_CROSSED)] {
                    let mut both = known.clone();
                    for &part in &self.blocks[block].parts {
                        both[part] = other[part];
                    }
                    crossed.push(both);
                }
            }
            candidates.extend(crossed);
            candidates.extend(found.into_iter().map(|(_, other)| other));
        }
        candidates.sort();
        candidates.dedup();
        let builds: Vec<Vec<f64>> = (0..BUILDS)
            .map(|build| {
                let mut rng = ChaCha8Rng::seed_from_u64(seed);
                rng.set_stream(build);
                (0..self.movable.len())
                    .map(|_| rng.random_range(-1.0..1.0))
                    .collect()
            })
            .collect();
        let this = &*self;
        let expected: Vec<f64> = (candidates.par_iter())
            .map(|candidate| {
                let costs = builds.iter().map(|build| {
                    let value = |number: usize| {
                        let choice = this.choice(number, candidate);
                        let by = choice.tolerance.unwrap_or(USUAL_TOLERANCE) * build[number];
                        (choice.value_si * (1.0 + by), choice.loss_ohm)
                    };
                    this.cost_of_values(&value).0
                });
                costs.sum::<f64>() / BUILDS as f64 + this.extra(candidate)
            })
            .collect();
        let best = (0..candidates.len()).min_by(|&a, &b| expected[a].total_cmp(&expected[b]));
        if let Some(best) = best {
            chosen.clone_from(&candidates[best]);
        }
        self.looked_at += candidates.len() as u64 * BUILDS;
    }

    /// Looks for a better choice of everything together; `chosen` becomes the best known.
    pub(super) fn prove(&mut self, chosen: &mut Vec<usize>, budget: u64) -> (f64, bool) {
        let (cost, level_db) = self.cost(chosen);
        let best = self.responses(chosen);
        let proof = Proof::new(
            &self.tables,
            &self.blocks,
            self.movable,
            &best,
            level_db,
            budget,
        );
        let shortage = |chosen: &[usize]| {
            self.limits
                .shortage((0..chosen.len()).map(|number| self.choice(number, chosen)))
        };
        let mut spent = 0;
        let verdict = proof.run(cost, &shortage, &mut spent);
        self.looked_at += spent;
        match verdict {
            // The branch and bound ended with nothing left, so what it found is the best.
            Verdict::Better(better) => {
                *chosen = better;
                (self.cost(chosen).0, true)
            }
            Verdict::Proven => (cost, true),
            Verdict::Open => (cost, false),
        }
    }
}

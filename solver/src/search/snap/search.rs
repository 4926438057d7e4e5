//! From ideal values to the best choice that can be found, and what is known of it.

use super::block::{Block, Response, blocks};
use super::block_search::{BlockSearch, Others};
use super::choices::{Choice, PartChoices};
use super::goal::GoalTables;
use super::limits::Limits;
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

/// Choices of each block that are tried together with those of the others, and how much worse than the
/// best they may be alone.
pub const SHORTLIST: usize = 24;
const SHORTLIST_WITHIN: f64 = 1.0;

/// Of these, how many are tried together where the expected goal is worked out.
const ROBUST_CROSSED: usize = 4;

/// For each block its best choices with the rest as they are: cost and the whole choice, best first.
pub(super) type Lists = Vec<Vec<(f64, Vec<usize>)>>;

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

    /// The best of each block with the rest as chosen, and of all their combinations what is better than
    /// the choice: none when the choice stands. Gives the lists too, for other uses; blocks too large
    /// to be run through have the choice alone.
    pub(super) fn combine(&mut self, chosen: &[usize], cost: f64) -> (Lists, Option<Vec<usize>>) {
        let lists: Lists = (0..self.blocks.len())
            .map(|block| {
                if self.blocks[block].parts.is_empty() || !self.runs_through(block) {
                    return vec![(cost, chosen.to_vec())];
                }
                self.best_of_block(block, chosen, SHORTLIST, cost + SHORTLIST_WITHIN)
            })
            .collect();
        let responses: Vec<Vec<(Response, f64)>> = (lists.iter().enumerate())
            .map(|(block, list)| {
                (list.iter())
                    .map(|(_, choice)| (self.response(block, choice), self.penalty(block, choice)))
                    .collect()
            })
            .collect();
        let count: usize = lists.iter().map(Vec::len).product();
        self.looked_at += count as u64;
        let this = &*self;
        // Ordered pieces of work, and the first of equal ones.
        let better = (0..count)
            .into_par_iter()
            .map(|number| {
                let mut rest = number;
                let mut penalty = 0.0;
                let mut whole: Vec<(&[usize], &Response)> = Vec::with_capacity(lists.len());
                for (block, responses) in responses.iter().enumerate() {
                    let (response, own) = &responses[rest % responses.len()];
                    rest /= responses.len();
                    penalty += own;
                    whole.push((&this.blocks[block].ways, response));
                }
                let limit = cost - 1e-9 * cost.max(1.0) - penalty;
                (
                    this.tables.evaluate_below(&whole, limit).0 + penalty,
                    number,
                )
            })
            .filter(|(cost, _)| cost.is_finite())
            .collect::<Vec<_>>();
        let mut better: Vec<(f64, usize)> = better;
        better.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let choice_of = |number: usize| {
            let mut rest = number;
            let mut choice = chosen.to_vec();
            for (block, list) in lists.iter().enumerate() {
                let (_, own) = &list[rest % list.len()];
                rest /= list.len();
                for &part in &self.blocks[block].parts {
                    choice[part] = own[part];
                }
            }
            choice
        };
        // The limits of the stock are for all blocks together.
        let better = (better.into_iter())
            .map(|(_, number)| choice_of(number))
            .find(|choice| self.cost(choice).0 < cost - 1e-9 * cost.max(1.0));
        (lists, better)
    }

    pub(super) fn response(&self, block: usize, chosen: &[usize]) -> Response {
        let value = |number: usize| {
            let choice = self.choice(number, chosen);
            (choice.value_si, choice.loss_ohm)
        };
        self.blocks[block].respond(&self.tables, &value)
    }

    pub(super) fn penalty(&self, block: usize, chosen: &[usize]) -> f64 {
        let parts = self.blocks[block].parts.iter();
        parts.map(|&part| self.choice(part, chosen).penalty()).sum()
    }

    /// The best choice that can be found: block by block, then across the blocks, until neither gains.
    pub(super) fn best(&mut self, chosen: &mut Vec<usize>) -> (f64, Lists) {
        let mut cost = self.settle(chosen);
        for _ in 0..ROUNDS {
            let (lists, better) = self.combine(chosen, cost);
            match better {
                None => return (cost, lists),
                Some(better) => {
                    *chosen = better;
                    cost = self.settle(chosen);
                }
            }
        }
        let lists = self.combine(chosen, cost).0;
        (cost, lists)
    }

    /// Of the best choices the one whose goal is least in the mean of builds with parts within their
    /// tolerances, the same builds for all.
    pub(super) fn most_robust(&mut self, chosen: &mut Vec<usize>, lists: &Lists, seed: u64) {
        let mut candidates = vec![chosen.clone()];
        for (block, found) in lists.iter().enumerate() {
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
            candidates.extend(found.iter().map(|(_, other)| other.clone()));
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
}

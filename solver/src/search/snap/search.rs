//! One network prepared for the search of its values: what a choice costs.

use netlist::network::{Network, PartKind};

use super::block::{Block, blocks};
use super::block_search::{BlockSearch, Others, SearchEnd};
use super::goal::GoalTables;
use super::reference::Reference;
use super::response::BlockResponse;
use crate::nodal::{PlanError, Values};
use crate::search::job::Job;
use crate::stock::{Choice, PartChoices, StockLimits};
use netlist::project::Stock;

/// Choices of all parts with their goals.
pub(super) type Costed = Vec<(f64, Vec<usize>)>;

/// Everything prepared for the search of one network.
pub(super) struct Search<'a> {
    pub(super) movable: &'a [PartChoices],
    pub(super) tables: GoalTables,
    pub(super) blocks: Vec<Block>,
    pub(super) limits: StockLimits,
    /// Values and losses of the parts before they are moved.
    pub(super) before: Vec<(f64, f64)>,
    /// For each part what each choice adds to the goal by itself: parts beyond the first, and its tolerance by
    /// the slopes at the values before.
    pub(super) extras: Vec<Vec<f64>>,
    /// Of these, what stands for tolerance.
    pub(super) spreads: Vec<Vec<f64>>,
    /// Block of each part, and its place there.
    places: Vec<(usize, usize)>,
}

/// A choice of all parts.
#[derive(Debug, Clone)]
pub(super) struct Ranked {
    /// Goal over the tolerance of the parts, or without where that is not asked for.
    pub(super) rank: f64,
    pub(super) chosen: Vec<usize>,
}

impl Ranked {
    /// The better first; among equals by the choices themselves.
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        let by_rank = self.rank.total_cmp(&other.rank);
        by_rank.then_with(|| self.chosen.cmp(&other.chosen))
    }
}

/// What is said of every choice of every part, summed over those chosen.
fn of_choice(all: &[Vec<f64>], chosen: &[usize]) -> f64 {
    all.iter().zip(chosen).map(|(own, &at)| own[at]).sum()
}

impl<'a> Search<'a> {
    pub(super) fn new(
        job: &Job,
        reference: &Reference,
        network: &Network,
        movable: &'a [PartChoices],
    ) -> Result<Self, PlanError> {
        let inverted: Vec<bool> = (job.ways.iter())
            .map(|way| {
                network.parts().values().any(|part| {
                    matches!(&part.kind, PartKind::Driver { driver, inverted: true, .. } if *driver == way.name)
                })
            })
            .collect();
        let tables = GoalTables::new(job, reference, &inverted);
        let blocks = blocks(job, network, movable, &tables)?;
        let values = Values::of(network);
        let places = (0..movable.len())
            .map(|number| {
                let place = |block: &Block| block.parts.iter().position(|&part| part == number);
                let found = blocks.iter().enumerate();
                let found = found.filter_map(|(b, block)| Some((b, place(block)?)));
                found.take(1).next().expect("a part is in a block")
            })
            .collect();
        Ok(Self {
            movable,
            limits: StockLimits::new(&job.stock, None),
            before: (movable.iter())
                .map(|part| (values.value[part.part], values.loss[part.part]))
                .collect(),
            extras: Vec::new(),
            spreads: Vec::new(),
            places,
            tables,
            blocks,
        })
    }

    /// The same with a limit to what all parts cost together.
    pub(super) fn limited(mut self, stock: &Stock, budget: Option<f64>) -> Self {
        self.limits = StockLimits::new(stock, budget);
        self
    }

    pub(super) fn choice(&self, number: usize, chosen: &[usize]) -> &Choice {
        &self.movable[number].choices[chosen[number]]
    }

    /// Value and loss of a part.
    pub(super) fn value(&self, number: usize, chosen: &[usize]) -> (f64, f64) {
        let choice = self.choice(number, chosen);
        (choice.value_si, choice.loss_ohm)
    }

    /// Block of a part, and its place there.
    pub(super) fn place(&self, number: usize) -> (usize, usize) {
        self.places[number]
    }

    /// All choices of all parts.
    pub(super) fn everything(&self) -> Vec<Vec<usize>> {
        let all = |part: &PartChoices| (0..part.choices.len()).collect();
        self.movable.iter().map(all).collect()
    }

    pub(super) fn response(&self, block: usize, chosen: &[usize]) -> BlockResponse {
        let value = |number: usize| self.value(number, chosen);
        self.blocks[block].respond(&self.tables, &value)
    }

    /// Responses of all blocks with their ways.
    pub(super) fn with_ways<'r>(
        &'r self,
        responses: &'r [BlockResponse],
    ) -> Vec<(&'r [usize], &'r BlockResponse)> {
        (self.blocks.iter().zip(responses))
            .map(|(block, response)| (block.ways.as_slice(), response))
            .collect()
    }

    /// Responses of all blocks to a choice.
    fn responses(&self, chosen: &[usize]) -> Vec<BlockResponse> {
        (0..self.blocks.len())
            .map(|block| self.response(block, chosen))
            .collect()
    }

    /// What a choice adds to the goal by itself, limits passed not counted.
    pub(super) fn extra(&self, chosen: &[usize]) -> f64 {
        of_choice(&self.extras, chosen)
    }

    /// Of this what stands for tolerance.
    pub(super) fn spread(&self, chosen: &[usize]) -> f64 {
        of_choice(&self.spreads, chosen)
    }

    /// A choice of this cost with its rank: the cost, or with `robust` the goal over the tolerance of the parts.
    pub(super) fn ranked(&self, cost: f64, chosen: &[usize], robust: bool) -> Ranked {
        Ranked {
            rank: match robust {
                true => cost - self.spread(chosen) + self.rise(chosen),
                false => cost,
            },
            chosen: chosen.to_vec(),
        }
    }

    /// What the limits of the stock add.
    pub(super) fn shortage(&self, chosen: &[usize]) -> f64 {
        if self.limits.are_none() {
            return 0.0;
        }
        let choices = (0..self.movable.len()).map(|number| self.choice(number, chosen));
        self.limits.shortage(choices)
    }

    /// Goal of a choice, with tolerance by the slopes at the values before, and the level that suits it.
    pub(super) fn cost(&self, chosen: &[usize]) -> (f64, f64) {
        let responses = self.responses(chosen);
        let (cost, level_db) = self.tables.evaluate(&self.with_ways(&responses));
        (cost + self.extra(chosen) + self.shortage(chosen), level_db)
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

    /// Combinations of the choices of one block.
    pub(super) fn combinations(&self, block: usize, allowed: &[Vec<usize>]) -> f64 {
        let parts = self.blocks[block].parts.iter();
        parts.map(|&part| allowed[part].len() as f64).product()
    }

    /// The best combinations of one block, the rest as chosen, below `limit`: each with its cost and the whole
    /// choice. `None` where it is stopped.
    pub(super) fn best_of_block(
        &self,
        block: usize,
        chosen: &[usize],
        allowed: &[Vec<usize>],
        (keep, limit): (usize, f64),
        stop: SearchEnd<'_>,
    ) -> Option<Costed> {
        let own = &self.blocks[block].parts;
        let responses = self.responses(chosen);
        let mut rest = self.with_ways(&responses);
        rest.remove(block);
        let others = Others::new(&self.tables, &rest);
        let outside = || (0..self.movable.len()).filter(|number| !own.contains(number));
        let extra: f64 = outside().map(|part| self.extras[part][chosen[part]]).sum();
        let limits = (self.limits).less(outside().map(|number| self.choice(number, chosen)));
        let search = BlockSearch {
            tables: &self.tables,
            block: &self.blocks[block],
            movable: self.movable,
            allowed,
            extras: &self.extras,
            others: &others,
            limits: &limits,
        };
        let found = search.run(keep, limit - extra, stop)?;
        let whole = |(cost, number): (f64, u64)| {
            let mut chosen = chosen.to_vec();
            search.write(number, &mut chosen);
            (cost + extra, chosen)
        };
        Some(found.into_iter().map(whole).collect())
    }
}

//! The search of the choices within limits: a model about a point, its best picks worked out exactly, a new
//! model about the best of them, and so on; then every exchange of two parts, and every combination where
//! they are few enough.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::block_search::SearchEnd;
use super::effort::SnapEffort;
use super::model::{Model, Picks, random_numbers};
use super::point::SnapPoint;
use super::response::BlockResponse;
use super::search::{Costed, Ranked, Search};

/// What is known of the choice, all within the window and of the goal with tolerance as it is at the values
/// before; of the best by that goal the one with the least expected goal is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// No other choice is better: every combination of all parts was looked at.
    Proven,
    /// No other choice in any one way, the others as they are, is better, nor is any exchange of one or two
    /// parts. With one way that is all there is.
    WayByWay,
    /// No exchange of one or two parts is better.
    OneOrTwoParts,
    /// The best so far of a search that was ended early.
    Stopped,
    /// Every value is on the stock already, and nothing is to change.
    Unchanged,
}

/// Of what is found, how many are kept.
const KEPT: usize = 64;

/// Of each block run through, how many go to what is kept.
const KEPT_OF_BLOCK: usize = 8;

/// Parts that are to be other ones in a point away from those before.
const APART: usize = 4;

/// Annealings on the goal itself that begin at the best, and the first temperatures of all in turn, as shares of
/// the goal at the start.
const BATHS_FROM_BEST: usize = 3;
const BATH_HEATS: [f64; 2] = [0.1, 0.3];

/// Rounds of exchanges.
const EXCHANGES: usize = 30;

/// Responses of blocks that are kept at most.
const REMEMBERED: usize = 1500;

/// What an exploration found.
#[derive(Debug, Clone)]
pub(super) struct Explored {
    /// Best first.
    pub(super) ranked: Vec<Ranked>,
    pub(super) known: Known,
    /// Choices worked out, exactly or by the model of no account.
    pub(super) looked_at: u64,
}

/// A gain that is more than rounding in another order of sums.
fn clearly_below(cost: f64) -> f64 {
    cost - 1e-9 * cost.max(1.0)
}

/// An exploration under way.
struct Exploration<'s> {
    search: &'s Search<'s>,
    allowed: &'s [Vec<usize>],
    effort: SnapEffort,
    stop: SearchEnd<'s>,
    pool: Picks,
    /// Goals worked out.
    known: BTreeMap<Vec<usize>, f64>,
    /// What blocks do, by their choices.
    responses: BTreeMap<(usize, Vec<usize>), BlockResponse>,
    looked_at: u64,
}

impl<'s> Search<'s> {
    /// Searches among the allowed choices, from `starts`, which are among them.
    pub(super) fn explore(
        &'s self,
        allowed: &'s [Vec<usize>],
        starts: &[Vec<usize>],
        effort: SnapEffort,
        (robust, seed): (bool, u64),
        stop: SearchEnd<'s>,
    ) -> Explored {
        let mut exploration = Exploration {
            search: self,
            allowed,
            effort,
            stop,
            pool: Picks::new(KEPT),
            known: BTreeMap::new(),
            responses: BTreeMap::new(),
            looked_at: 0,
        };
        for start in starts {
            exploration.work_out(start);
        }
        let known = exploration.run(seed);
        let ranked = exploration.rank(robust);
        Explored {
            ranked,
            known: if stop() { Known::Stopped } else { known },
            looked_at: exploration.looked_at,
        }
    }
}

impl Exploration<'_> {
    fn run(&mut self, seed: u64) -> Known {
        if self.effort.all_together
            && let Some(all) = self.search.exhaust(self.allowed, KEPT, self.stop)
        {
            let blocks = 0..self.search.blocks.len();
            let count = blocks.map(|block| self.search.combinations(block, self.allowed));
            self.looked_at += count.product::<f64>() as u64;
            self.pool = all;
            return Known::Proven;
        }
        self.anneal(seed);
        self.heat_baths(seed);
        if !self.effort.exchanges {
            return Known::Stopped;
        }
        loop {
            self.exchange();
            match self.run_through_blocks() {
                None => return Known::OneOrTwoParts,
                Some(false) => return Known::WayByWay,
                Some(true) => {}
            }
        }
    }

    /// The best so far.
    fn best(&self) -> (f64, Vec<usize>) {
        let first = self.pool.entries.first();
        first.cloned().expect("there is a start")
    }

    /// The goal of a choice, which is kept where it is good.
    fn work_out(&mut self, chosen: &[usize]) -> f64 {
        if let Some(&cost) = self.known.get(chosen) {
            return cost;
        }
        let search = self.search;
        if self.responses.len() > REMEMBERED {
            self.responses.clear();
        }
        let keys: Vec<(usize, Vec<usize>)> = (search.blocks.iter().enumerate())
            .map(|(number, block)| {
                let own = block.parts.iter().map(|&part| chosen[part]);
                (number, own.collect())
            })
            .collect();
        for key in &keys {
            if !self.responses.contains_key(key) {
                let response = search.response(key.0, chosen);
                self.responses.insert(key.clone(), response);
            }
        }
        let whole: Vec<(&[usize], &BlockResponse)> = (search.blocks.iter().zip(&keys))
            .map(|(block, key)| (block.ways.as_slice(), &self.responses[key]))
            .collect();
        let cost =
            search.tables.evaluate(&whole).0 + search.extra(chosen) + search.shortage(chosen);
        self.looked_at += 1;
        self.known.insert(chosen.to_vec(), cost);
        self.pool.offer(cost, chosen);
        cost
    }

    /// Models about the values before, then about the best, then about the next best that has not been one.
    fn anneal(&mut self, seed: u64) {
        let mut bases: Vec<Vec<usize>> = Vec::new();
        let mut idle = 0;
        for round in 0..self.effort.rounds {
            if (self.stop)() {
                return;
            }
            let point = if round == 0 {
                SnapPoint::before(self.search)
            } else {
                // In turn near those before, and away from them.
                let apart = if round % 2 == 1 { 1 } else { APART };
                let Some(next) = self.next_base(&bases, apart) else {
                    return;
                };
                let point = SnapPoint::at(self.search, &next);
                bases.push(next);
                point
            };
            let (before, best) = self.best();
            let model = Model::new(self.search, &point, self.allowed);
            for (_, chosen) in self.picks(&model, &best, seed, round) {
                self.work_out(&chosen);
            }
            let gained = self.best().0 < clearly_below(before);
            idle = if gained || round == 0 { 0 } else { idle + 1 };
            if idle >= self.effort.patience {
                return;
            }
        }
    }

    /// Anneals on the goal itself from the best, and from the best away from it.
    fn heat_baths(&mut self, seed: u64) {
        let mut starts: Vec<Vec<usize>> = Vec::new();
        for number in 0..self.effort.baths {
            // The ground is rough: several short ones find more than one long one.
            let apart = if number < BATHS_FROM_BEST { 0 } else { APART };
            starts.extend(self.next_base(&starts, apart));
        }
        let (search, allowed) = (self.search, self.allowed);
        let choices: usize = allowed.iter().map(Vec::len).sum();
        let (steps, stop) = (self.effort.bath_steps * choices, self.stop);
        let found: Vec<Picks> = (starts.par_iter().enumerate())
            .map(|(number, start)| {
                let mut rng = random_numbers(seed);
                rng.set_stream(u64::MAX - number as u64);
                let heat = BATH_HEATS[number % 2];
                search.heat_bath(allowed, start, (heat, steps), &mut rng, stop)
            })
            .collect();
        for (_, chosen) in found.into_iter().flat_map(|picks| picks.entries) {
            self.work_out(&chosen);
        }
    }

    /// The best of all that was worked out that has at least so many parts other than each of the bases.
    fn next_base(&self, bases: &[Vec<usize>], apart: usize) -> Option<Vec<usize>> {
        let far = |chosen: &[usize]| {
            bases.iter().all(|base| {
                let other = base.iter().zip(chosen).filter(|(a, b)| a != b);
                other.count() >= apart
            })
        };
        let good = self.known.iter().filter(|(chosen, _)| far(chosen));
        let best = good.min_by(|a, b| a.1.total_cmp(b.1));
        best.map(|(chosen, _)| chosen.clone())
    }

    /// The best picks of a model, in annealings from the best so far and from picks at random.
    fn picks(&self, model: &Model<'_>, best: &[usize], seed: u64, round: usize) -> Costed {
        let place = |(choices, at): (&Vec<usize>, &usize)| {
            choices.iter().position(|choice| choice == at).unwrap_or(0)
        };
        let best: Vec<usize> = self.allowed.iter().zip(best).map(place).collect();
        let one = |start: usize| {
            let mut picks = Picks::new(self.effort.exact);
            if start > 0 && (self.stop)() {
                return picks;
            }
            let mut rng = random_numbers(seed);
            rng.set_stream((round * self.effort.starts + start) as u64);
            let from = match start {
                0 => best.clone(),
                _ => model.random(&mut rng),
            };
            model.anneal(&from, self.effort.steps, &mut rng, &mut picks);
            picks
        };
        let starts = 0..self.effort.starts;
        let found: Vec<Picks> = match self.effort.threads {
            true => starts.into_par_iter().map(one).collect(),
            false => starts.map(one).collect(),
        };
        let mut all = Picks::new(self.effort.exact);
        for (cost, chosen) in found.into_iter().flat_map(|picks| picks.entries) {
            all.offer(cost, &chosen);
        }
        all.entries
    }

    /// Exchanges one part or two for the best of all such, as long as that gains.
    fn exchange(&mut self) {
        for _ in 0..EXCHANGES {
            let (cost, chosen) = self.best();
            let point = SnapPoint::at(self.search, &chosen);
            let numbers: Vec<usize> = (0..chosen.len()).collect();
            let found: Vec<(Costed, u64)> = (numbers.par_iter())
                .map(|&number| self.exchanges_with(&point, number, &chosen, cost))
                .collect();
            for (picks, looked_at) in found {
                self.looked_at += looked_at;
                for (cost, chosen) in picks {
                    self.pool.offer(cost, &chosen);
                }
            }
            if self.best().0 >= clearly_below(cost) {
                return;
            }
        }
    }

    /// Exchanges of one part, alone and together with each of those after it, that are better than `cost`.
    fn exchanges_with(
        &self,
        point: &SnapPoint<'_>,
        one: usize,
        chosen: &[usize],
        cost: f64,
    ) -> (Costed, u64) {
        let search = self.search;
        let mut picks = Picks::new(KEPT_OF_BLOCK);
        let mut looked_at = 0;
        let value = |part: usize, at: usize| {
            let choice = &search.movable[part].choices[at];
            (choice.value_si, choice.loss_ohm)
        };
        let whole = search.extra(chosen);
        let moved = |extra: f64, part: usize, at: usize| {
            extra - search.extras[part][chosen[part]] + search.extras[part][at]
        };
        let mut other = chosen.to_vec();
        let mut offer = |cost: f64, other: &[usize]| {
            let cost = cost + search.shortage(other);
            picks.offer(cost, other);
        };
        let free = point.free(one);
        for &at in &self.allowed[one] {
            other[one] = at;
            let extra = moved(whole, one, at);
            let found = free.cost(value(one, at), cost - extra) + extra;
            looked_at += 1;
            if found < cost {
                offer(found, &other);
            }
        }
        for two in one + 1..chosen.len() {
            if (self.stop)() {
                break;
            }
            let mut after = point.free(two);
            for &at in &self.allowed[one] {
                if at == chosen[one] {
                    continue;
                }
                other[one] = at;
                after.after(&free, value(one, at));
                let extra = moved(whole, one, at);
                for &at_two in &self.allowed[two] {
                    if at_two == chosen[two] {
                        continue;
                    }
                    other[two] = at_two;
                    let extra = moved(extra, two, at_two);
                    let found = after.cost(value(two, at_two), cost - extra) + extra;
                    looked_at += 1;
                    if found < cost {
                        offer(found, &other);
                    }
                }
            }
            other[two] = chosen[two];
        }
        (picks.entries, looked_at)
    }

    /// Runs through every block, the others as they are, and says whether that gained; `None` where a block
    /// has too many combinations, or where it is stopped.
    fn run_through_blocks(&mut self) -> Option<bool> {
        let search = self.search;
        let sizes: Vec<f64> = (0..search.blocks.len())
            .map(|block| search.combinations(block, self.allowed))
            .collect();
        if sizes.iter().any(|&size| size > self.effort.combinations) {
            return None;
        }
        let (before, chosen) = self.best();
        for (block, size) in sizes.iter().enumerate() {
            let limit = (KEPT_OF_BLOCK, clearly_below(before));
            let found = search.best_of_block(block, &chosen, self.allowed, limit, self.stop)?;
            self.looked_at += *size as u64;
            for (cost, chosen) in found {
                self.pool.offer(cost, &chosen);
            }
        }
        Some(self.best().0 < clearly_below(before))
    }

    /// The best by the goal over the tolerance of the parts.
    fn rank(&mut self, robust: bool) -> Vec<Ranked> {
        let search = self.search;
        let worked_out = |(cost, chosen): &(f64, Vec<usize>)| search.ranked(*cost, chosen, robust);
        let best = &self.pool.entries[..self.pool.entries.len().min(self.effort.ranked)];
        let mut ranked: Vec<Ranked> = match self.effort.threads {
            true => best.par_iter().map(worked_out).collect(),
            false => best.iter().map(worked_out).collect(),
        };
        ranked.sort_by(Ranked::order);
        ranked
    }
}

impl Search<'_> {
    /// What the goal of a choice rises by from the tolerance of its parts.
    pub(super) fn rise(&self, chosen: &[usize]) -> f64 {
        let tolerances: Vec<f64> = (0..chosen.len())
            .map(|number| self.choice(number, chosen).tolerance())
            .collect();
        SnapPoint::at(self, chosen).rises(&tolerances).iter().sum()
    }
}

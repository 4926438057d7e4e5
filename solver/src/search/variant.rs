//! One set of crossovers: the ways grown alone, joined, grown together.

use netlist::project::AlignmentPair;
use rayon::prelude::*;

use super::grow::{
    Catalogue, Effort, Fitted, Growth, Pace, Population, Problem, in_best_polarity, ladders, sets,
};
use super::job::Job;
use crate::goal::Targets;

/// How thoroughly a variant is searched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Thoroughness {
    /// Of the grid of a job, every so many frequencies are enough.
    pub(super) every: usize,
    /// Pace of one way alone.
    pub(super) way: Pace,
    /// Pace of the whole.
    pub(super) whole: Pace,
    /// Sets of ways that are joined.
    pub(super) sets: usize,
    /// Starts of every ladder.
    pub(super) starts: usize,
    /// Seed of those after the first.
    pub(super) seed: u64,
}

/// For the network that is to be built.
pub(super) const FULL: Thoroughness = Thoroughness {
    every: 2,
    way: Pace {
        breadth: 3,
        tried: 12,
        kept: 4,
        exchanged: 0,
        short_steps: 8,
        long_steps: 40,
        rounds: 2,
        beyond: 4,
        asked: None,
        most_parts: 9,
    },
    whole: Pace {
        breadth: 3,
        tried: 14,
        kept: 5,
        exchanged: 6,
        short_steps: 8,
        long_steps: 30,
        rounds: 3,
        beyond: 4,
        asked: None,
        most_parts: 34,
    },
    sets: 80,
    starts: 1,
    seed: 1,
};

/// For telling crossovers apart.
pub(super) const QUICK: Thoroughness = Thoroughness {
    every: 4,
    way: Pace {
        breadth: 2,
        tried: 6,
        kept: 2,
        exchanged: 0,
        short_steps: 6,
        long_steps: 20,
        rounds: 1,
        beyond: 4,
        asked: None,
        most_parts: 6,
    },
    whole: Pace {
        breadth: 1,
        tried: 6,
        kept: 2,
        exchanged: 2,
        short_steps: 6,
        long_steps: 15,
        rounds: 1,
        beyond: 4,
        asked: None,
        most_parts: 14,
    },
    sets: 16,
    starts: 1,
    seed: 1,
};

/// What is being done, for those who wait.
#[derive(Debug, Clone, PartialEq)]
pub enum SearchProgress {
    /// A crossover left open was tried.
    Variant {
        /// Crossover frequencies, Hz.
        frequencies_hz: Vec<f64>,
        /// Slopes, one pair a crossover.
        alignments: Vec<AlignmentPair>,
        /// Error and parts together, the less the better.
        rank: f64,
    },
    /// A way was grown alone.
    Way {
        /// Name of the way.
        name: String,
        /// Networks fitted.
        fits: usize,
        /// Parts of the best.
        parts: usize,
    },
    /// The whole is growing.
    Growing {
        /// Parts of the best so far.
        parts: usize,
        /// Its error and parts together, the less the better.
        rank: f64,
        /// Networks fitted so far.
        fits: usize,
    },
    /// Networks are fitted on all frequencies.
    Refining {
        /// How many.
        networks: usize,
    },
    /// Networks are moved onto the stock.
    Snapping {
        /// How many.
        networks: usize,
    },
}

/// Networks of every size for one set of crossovers, on a coarse grid. Even when `stop` says yes at once
/// there is one.
pub(super) fn grow_variant(
    job: &Job,
    alignments: &[AlignmentPair],
    how: Thoroughness,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(SearchProgress),
) -> (Population, Effort) {
    let coarse = job.thinned(how.every);
    let targets = coarse.targets(alignments);
    let catalogue = Catalogue::new(&coarse);
    let (ways, level_db, mut effort) =
        grow_ways(&coarse, &targets, &catalogue, how, stop, progress);
    let whole = Problem::whole(&coarse, &targets);
    let kept = match how.whole.asked {
        Some(_) => 2 * how.whole.breadth,
        None => how.whole.breadth,
    };
    let mut population = Population::new(kept);
    let sets = sets(&ways, how.sets);
    let begun: Vec<Option<Fitted>> = sets
        .par_iter()
        .enumerate()
        .map(|(number, set)| {
            if number > 0 && stop() {
                return None;
            }
            in_best_polarity(&whole, set, level_db, 12)
        })
        .collect();
    effort.fits += sets.len() << (job.ways.len() - 1);
    for fitted in begun.into_iter().flatten() {
        population.offer(fitted);
    }
    let so_far = effort.fits;
    let mut watch = |population: &Population, spent: Effort| {
        if let Some(best) = population.best() {
            progress(SearchProgress::Growing {
                parts: best.part_count(),
                rank: best.rank(),
                fits: so_far + spent.fits,
            });
        }
    };
    // Small networks settle sooner.
    let pace = Pace {
        rounds: how.whole.rounds.min(job.ways.len()),
        beyond: how.whole.beyond.min(2 * (job.ways.len() - 1)),
        most_parts: how
            .whole
            .most_parts
            .max(how.whole.asked.map_or(0, |asked| asked + 1)),
        ..how.whole
    };
    let growth = Growth {
        problem: &whole,
        catalogue: &catalogue,
        pace,
        stop,
    };
    effort += growth.evolve(&mut population, &mut watch);
    (population, effort)
}

/// Every way grown alone, the level that they aim at, and what it took.
fn grow_ways(
    job: &Job,
    targets: &Targets,
    catalogue: &Catalogue,
    how: Thoroughness,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(SearchProgress),
) -> (Vec<Population>, f64, Effort) {
    let mut effort = Effort::default();
    let weakest = job.weakest();
    // A coil in front of the weakest way costs a few tenths of a decibel.
    let mut level_db = job
        .aim
        .level
        .map_or(job.ways[weakest].level_db - 0.3, |level| level.0);
    let mut ways: Vec<Option<Population>> = vec![None; job.ways.len()];
    let order = std::iter::once(weakest).chain((0..job.ways.len()).filter(|&w| w != weakest));
    for way in order {
        let problem = Problem::of_way(job, targets, way, level_db);
        let starts = ladders(job, way, level_db, how.starts, how.seed);
        let fits: Vec<Option<Fitted>> = starts
            .par_iter()
            .enumerate()
            .map(|(number, network)| {
                if number > 0 && stop() {
                    return None;
                }
                problem.fit_while(network, level_db, 150, 1e-7)
            })
            .collect();
        effort.fits += fits.len();
        let mut population = Population::new(how.way.breadth);
        for fitted in fits.into_iter().flatten() {
            population.offer(fitted);
        }
        let growth = Growth {
            problem: &problem,
            catalogue,
            pace: how.way,
            stop,
        };
        effort += growth.evolve(&mut population, &mut |_, _| {});
        if let Some(best) = population.best() {
            progress(SearchProgress::Way {
                name: job.ways[way].name.clone(),
                fits: effort.fits,
                parts: best.part_count(),
            });
            if way == weakest && job.aim.level.is_none() {
                level_db = best.level_db;
            }
        }
        ways[way] = Some(population);
    }
    (ways.into_iter().flatten().collect(), level_db, effort)
}

//! Growing upwards and pruning downwards, until nothing changes.

use netlist::network::Network;
use rayon::prelude::*;

use super::pace::{Effort, Pace};
use super::place::{Move, moved, signature};
use super::population::Population;
use super::problem::{Fitted, PART_WORTH, Problem};
use super::recombine::recombine;
use super::scan::{Promise, Scan};
use super::section::{Catalogue, Losses};

/// A network is not grown further when so much error and parts together stand against the best.
const HOPELESS: f64 = 1.2;
/// Grows and prunes `population` for `problem`.
pub fn evolve(
    problem: &Problem<'_>,
    catalogue: &Catalogue,
    population: &mut Population,
    pace: Pace,
    stop: &(dyn Fn() -> bool + Sync),
    watch: &mut dyn FnMut(&Population, Effort),
) -> Effort {
    let mut effort = Effort::default();
    for _ in 0..pace.rounds {
        let mut pass = |direction, effort: Effort| {
            let mut watch = |population: &Population, spent: Effort| {
                let mut all = effort;
                all += spent;
                watch(population, all);
            };
            pass(
                problem, catalogue, population, pace, direction, stop, &mut watch,
            )
        };
        let up = pass(GrowthDirection::Up, effort);
        effort += up;
        let down = pass(GrowthDirection::Down, effort);
        effort += down;
        effort += recombine(problem, population, pace, stop);
        if up.fits + down.fits == 0 || stop() {
            break;
        }
    }
    effort
}

/// Which way through the sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GrowthDirection {
    /// To more parts.
    Up,
    /// To fewer.
    Down,
}

/// Once through all sizes.
pub fn pass(
    problem: &Problem<'_>,
    catalogue: &Catalogue,
    population: &mut Population,
    pace: Pace,
    direction: GrowthDirection,
    stop: &(dyn Fn() -> bool + Sync),
    watch: &mut dyn FnMut(&Population, Effort),
) -> Effort {
    let mut effort = Effort::default();
    let mut next = match direction {
        GrowthDirection::Up => population.sizes().next(),
        GrowthDirection::Down => population.sizes().next_back(),
    };
    while let Some(size) = next {
        if stop() {
            break;
        }
        let best = population.best().map_or(f64::INFINITY, Fitted::rank);
        let best_size = population.best().map_or(0, Fitted::part_count);
        let asked_for = |size: usize| pace.asked.is_some_and(|asked| size <= asked);
        let worth = size < pace.most_parts && (size <= best_size + pace.beyond || asked_for(size));
        let breadth = pace.breadth_at(size, best_size);
        let parents: Vec<Fitted> = (population.of_size_mut(size).iter_mut().take(breadth))
            .filter_map(|member| {
                let seen = match direction {
                    GrowthDirection::Up => &mut member.grown,
                    GrowthDirection::Down => &mut member.reduced,
                };
                let hopeful = direction == GrowthDirection::Down
                    || (worth
                        && (size < best_size
                            || asked_for(size)
                            || member.fitted.rank() <= best + HOPELESS));
                (hopeful && !std::mem::replace(seen, true)).then(|| member.fitted.clone())
            })
            .collect();
        let bars: Vec<f64> = (0..=size + 3).map(|size| population.bar(size)).collect();
        let children: Vec<(Vec<Fitted>, Effort)> = parents
            .par_iter()
            .map(|parent| children(problem, catalogue, parent, pace, direction, &bars, stop))
            .collect();
        for (children, spent) in children {
            effort += spent;
            for child in children {
                population.offer(child);
            }
        }
        watch(population, effort);
        next = match direction {
            GrowthDirection::Up => population.sizes().find(|&other| other > size),
            GrowthDirection::Down => population.sizes().rev().find(|&other| other < size),
        };
    }
    effort
}

/// The best that one step from `parent` leads to.
fn children(
    problem: &Problem<'_>,
    catalogue: &Catalogue,
    parent: &Fitted,
    pace: Pace,
    direction: GrowthDirection,
    bars: &[f64],
    stop: &(dyn Fn() -> bool + Sync),
) -> (Vec<Fitted>, Effort) {
    let mut effort = Effort::default();
    let mut found = step(
        problem,
        catalogue,
        parent,
        pace,
        direction,
        bars,
        stop,
        &mut effort,
    );
    if direction == GrowthDirection::Up {
        // What was added can make something else needless.
        let lighter = Pace {
            tried: pace.exchanged,
            kept: 1,
            ..pace
        };
        let exchanged: Vec<(Vec<Fitted>, Effort)> = found
            .par_iter()
            .map(|child| {
                let mut effort = Effort::default();
                let down = GrowthDirection::Down;
                let found = step(
                    problem,
                    catalogue,
                    child,
                    lighter,
                    down,
                    bars,
                    stop,
                    &mut effort,
                );
                (found, effort)
            })
            .collect();
        for (children, spent) in exchanged {
            effort += spent;
            found.extend(children);
        }
    }
    (found, effort)
}

/// The best networks one move away from `parent`, fitted.
#[expect(clippy::too_many_arguments, reason = "what a pass has at hand")]
fn step(
    problem: &Problem<'_>,
    catalogue: &Catalogue,
    parent: &Fitted,
    pace: Pace,
    direction: GrowthDirection,
    bars: &[f64],
    stop: &(dyn Fn() -> bool + Sync),
    effort: &mut Effort,
) -> Vec<Fitted> {
    let Some(scan) = Scan::new(problem, &parent.network, parent.level_db) else {
        return Vec::new();
    };
    let promises: Vec<Vec<Promise>> = (0..problem.ways.len())
        .into_par_iter()
        .map(|way| match direction {
            _ if stop() => Vec::new(),
            GrowthDirection::Up => scan.additions(way, catalogue),
            GrowthDirection::Down => scan.reductions(way, catalogue),
        })
        .collect();
    let promises: Vec<Promise> = promises.into_iter().flatten().collect();
    effort.moves += promises.len();
    let networks = promising(problem, parent, promises, pace, bars);
    let quick: Vec<Option<Fitted>> = networks
        .par_iter()
        .map(|network| {
            if stop() {
                return None;
            }
            problem.fit_while(network, parent.level_db, pace.short_steps, 1e-3)
        })
        .collect();
    effort.fits += quick.len();
    let mut quick: Vec<Fitted> = quick.into_iter().flatten().collect();
    quick.sort_by(|a, b| a.rank().total_cmp(&b.rank()));
    let long: Vec<Option<Fitted>> = quick[..quick.len().min(pace.kept)]
        .par_iter()
        .map(|child| {
            if stop() {
                return Some(child.clone());
            }
            problem.fit_while(&child.network, child.level_db, pace.long_steps, 1e-4)
        })
        .collect();
    long.into_iter().flatten().collect()
}

/// The networks of the most promising moves, each shape once, the best of every number of parts among
/// them.
fn promising(
    problem: &Problem<'_>,
    parent: &Fitted,
    mut promises: Vec<Promise>,
    pace: Pace,
    bars: &[f64],
) -> Vec<Network> {
    let size = parent.part_count();
    let rank = |promise: &Promise| promise.cost + PART_WORTH * promise.step.parts_more() as f64;
    promises.retain(|promise| {
        let target = size as isize + promise.step.parts_more();
        let bar = bars
            .get(target.max(0) as usize)
            .copied()
            .unwrap_or(f64::INFINITY);
        promise.cost.is_finite() && promise.cost < bar
    });
    promises.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    let losses = Losses::of(problem.job);
    let mut known = vec![signature(&parent.network)];
    let mut networks = Vec::new();
    let mut taken = [0usize; 4];
    let quota = pace.tried.div_ceil(2);
    for promise in promises {
        if networks.len() >= pace.tried {
            break;
        }
        let more = promise.step.parts_more().clamp(0, 3) as usize;
        if taken[more] >= quota && matches!(promise.step, Move::Add(..)) {
            continue;
        }
        let Some(network) = moved(&parent.network, &promise.step, &losses) else {
            continue;
        };
        let shape = signature(&network);
        if known.contains(&shape) {
            continue;
        }
        known.push(shape);
        taken[more] += 1;
        networks.push(network);
    }
    networks
}

//! One step from a network: all moves predicted, the promising tried, the best fitted to the end.

use netlist::network::Network;
use rayon::prelude::*;

use super::pace::{Effort, Pace};
use super::place::{Move, moved, signature};
use super::problem::{Fitted, PART_WORTH, Problem};
use super::scan::{Promise, Scan};
use super::section::{Catalogue, Losses};

/// Which way through the sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GrowthDirection {
    /// To more parts.
    Up,
    /// To fewer.
    Down,
}

/// What networks are grown for, of what, how hard, and until when.
#[derive(Clone, Copy)]
pub struct Growth<'a> {
    /// What is to be solved.
    pub problem: &'a Problem<'a>,
    /// Sections that may be added.
    pub catalogue: &'a Catalogue,
    /// How hard.
    pub pace: Pace,
    /// Whether to come to an end with what there is.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

impl Growth<'_> {
    /// The best that one step from `parent` leads to.
    pub(super) fn children(
        &self,
        parent: &Fitted,
        direction: GrowthDirection,
        bars: &[f64],
    ) -> (Vec<Fitted>, Effort) {
        let (mut found, mut effort) = self.step(parent, direction, bars);
        if direction == GrowthDirection::Up {
            // What was added can make something else needless.
            let lighter = Self {
                pace: Pace {
                    tried: self.pace.exchanged,
                    kept: 1,
                    ..self.pace
                },
                ..*self
            };
            let exchanged: Vec<(Vec<Fitted>, Effort)> = (found.par_iter())
                .map(|child| lighter.step(child, GrowthDirection::Down, bars))
                .collect();
            for (children, spent) in exchanged {
                effort += spent;
                found.extend(children);
            }
        }
        (found, effort)
    }

    /// The best networks one move away from `parent`, fitted.
    fn step(
        &self,
        parent: &Fitted,
        direction: GrowthDirection,
        bars: &[f64],
    ) -> (Vec<Fitted>, Effort) {
        let Some(scan) = Scan::new(self.problem, &parent.network, parent.level_db) else {
            return (Vec::new(), Effort::default());
        };
        let promises: Vec<Vec<Promise>> = (0..self.problem.ways.len())
            .into_par_iter()
            .map(|way| match direction {
                _ if (self.stop)() => Vec::new(),
                GrowthDirection::Up => scan.additions(way, self.catalogue),
                GrowthDirection::Down => scan.reductions(way, self.catalogue),
            })
            .collect();
        let promises: Vec<Promise> = promises.into_iter().flatten().collect();
        let moves = promises.len();
        let networks = promising(self.problem, parent, promises, self.pace, bars);
        let fits = networks.len();
        let networks: Vec<_> = (networks.into_iter())
            .map(|network| (network, parent.level_db))
            .collect();
        let fitted = self.fit_best(&networks, self.pace.kept);
        (fitted, Effort { moves, fits })
    }

    /// Fits all a little and the `kept` best of them to the end, each from its level; when it is to stop, as far as it
    /// came.
    pub(super) fn fit_best(&self, networks: &[(Network, f64)], kept: usize) -> Vec<Fitted> {
        let fit = |network: &Network, level_db, steps, gain| {
            (!(self.stop)()).then(|| self.problem.fit_while(network, level_db, steps, gain))?
        };
        let mut quick: Vec<Fitted> = networks
            .par_iter()
            .filter_map(|(network, level_db)| fit(network, *level_db, self.pace.short_steps, 1e-3))
            .collect();
        quick.sort_by(|a, b| a.rank().total_cmp(&b.rank()));
        quick.truncate(kept);
        quick
            .into_par_iter()
            .filter_map(|child| match (self.stop)() {
                true => Some(child),
                false => fit(&child.network, child.level_db, self.pace.long_steps, 1e-4),
            })
            .collect()
    }
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

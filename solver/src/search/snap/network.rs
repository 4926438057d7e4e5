//! A whole network moved onto the stock: the nearest values, the best choice, and what is known of it.

use netlist::network::Network;
use rayon::prelude::*;

use super::block_search::SearchEnd;
use super::effort::{GOOD, QUICK, SnapEffort, THOROUGH};
use super::explore::{Explored, Known};
use super::movable::{movable, put};
use super::reference::{Reference, SnapGoal};
use super::search::{Ranked, Search};
use super::weigh::weighed;
use crate::goal::Targets;
use crate::nodal::PlanError;
use crate::search::job::Job;
use crate::stock::{Choice, PartChoices, lacks, stated, stock_kind};

/// How to snap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SnapSettings {
    /// What the values are chosen for.
    pub goal: SnapGoal,
    /// Steps of value on each side of the nearest.
    pub window: usize,
    /// Whether parts may be joined into one, where the stock allows it.
    pub joined: bool,
    /// What all parts together may cost, where the stock has prices.
    pub budget: Option<f64>,
    /// Whether the goal is counted over the tolerance of the parts, not at their values as printed.
    pub robust: bool,
    /// Seed of the search.
    pub seed: u64,
}

impl Default for SnapSettings {
    fn default() -> Self {
        Self {
            goal: SnapGoal::LeastChange,
            window: 3,
            joined: true,
            budget: None,
            robust: true,
            seed: 1,
        }
    }
}

/// Choices of all parts that were moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Selection {
    /// The network with them.
    pub network: Network,
    /// Which of its choices each part has, in the order of [`Snapped::parts`].
    pub chosen: Vec<usize>,
    /// Goal by which choices are ranked: over the tolerance of the parts where the settings are robust, and
    /// with what parts beyond the first cost; [`f64::INFINITY`] where the stock does not hold that many.
    pub cost: f64,
    /// Goal at the values as printed.
    pub nominal: f64,
    /// Level that suits best, dB SPL.
    pub level_db: f64,
    /// Price of all together; `None` where one has none.
    pub price: Option<f64>,
    /// Number of parts that are bought.
    pub pieces: u32,
}

/// What an alternative is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SnapMerit {
    /// Cheapest that is still about as good.
    Cheapest,
    /// Best without parts joined into one.
    SinglesOnly,
    /// Next best.
    RunnerUp,
}

/// Outcome of snapping.
#[derive(Debug, Clone)]
pub struct Snapped {
    /// The parts that were moved, with what there is for each.
    pub parts: Vec<PartChoices>,
    /// Parts kept because the builder wants them fixed, or the stock has nothing of their kind.
    pub kept: Vec<usize>,
    /// Goal with the values as they were, over the same tolerance.
    pub ideal_cost: f64,
    /// Nearest values.
    pub nearest: Selection,
    /// The choice.
    pub best: Selection,
    /// What is known of it.
    pub known: Known,
    /// Other choices.
    pub alternatives: Vec<(SnapMerit, Selection)>,
    /// Combinations that were worked out or bounded.
    pub looked_at: u64,
}

impl Snapped {
    /// Of what the nearest values add to the goal, the share that the choice takes away again, 0 to 1; `None`
    /// where they add nothing.
    #[must_use]
    pub fn removed_share(&self) -> Option<f64> {
        let added = self.nearest.cost - self.ideal_cost;
        let taken = self.nearest.cost - self.best.cost;
        (added.is_finite() && added > NOTHING).then(|| (taken / added).clamp(0.0, 1.0))
    }
}

/// A goal that rises by less has not risen.
const NOTHING: f64 = 1e-3;

/// A goal from here on passes a limit of the stock.
const OUT_OF_STOCK: f64 = 1e5;

/// A network made ready for being moved onto the stock.
pub(super) struct Task<'j> {
    pub(super) job: &'j Job,
    pub(super) settings: SnapSettings,
    pub(super) reference: Reference,
    /// The network, coupled coils on their nearest values.
    pub(super) network: Network,
    pub(super) parts: Vec<PartChoices>,
    kept: Vec<usize>,
    /// Whether the stock has nothing of a kind that is needed.
    missing: bool,
}

impl<'j> Task<'j> {
    pub(super) fn new(
        job: &'j Job,
        targets: &Targets,
        network: &Network,
        level_db: f64,
        settings: SnapSettings,
    ) -> Result<Self, PlanError> {
        let (parts, kept, moved) = movable(job, network, settings.window, settings.joined);
        let needed = |&part: &usize| {
            let (_, part) = network.parts().get_index(part).expect("a part of it");
            stock_kind(&part.kind).filter(|_| !part.fixed)
        };
        let missing = (kept.iter().filter_map(needed)).any(|kind| lacks(&job.stock, kind));
        Ok(Self {
            job,
            settings,
            reference: Reference::new(job, targets, network, level_db, settings.goal)?,
            network: moved,
            parts,
            kept,
            missing,
        })
    }

    pub(super) fn search(&self, budget: Option<f64>) -> Result<Search<'_>, PlanError> {
        let robust = self.settings.robust;
        let search = Search::new(self.job, &self.reference, &self.network, &self.parts)?;
        Ok(weighed(search, robust).limited(&self.job.stock, budget))
    }

    /// One exploration.
    pub(super) fn explore<'s>(
        &self,
        search: &'s Search<'s>,
        allowed: &'s [Vec<usize>],
        starts: &[Vec<usize>],
        effort: SnapEffort,
        stop: SearchEnd<'s>,
    ) -> Explored {
        let settings = (self.settings.robust, self.settings.seed);
        search.explore(allowed, starts, effort, settings, stop)
    }

    /// The choice as a network.
    pub(super) fn selection(&self, search: &Search<'_>, ranked: &Ranked) -> Selection {
        let mut moved = self.network.clone();
        let chosen = &ranked.chosen;
        let taken: Vec<&Choice> = (0..self.parts.len())
            .map(|number| search.choice(number, chosen))
            .collect();
        for (choices, choice) in self.parts.iter().zip(&taken) {
            put(self.job, &mut moved, choices.part, choice);
        }
        let (cost, level_db) = search.cost(chosen);
        let in_stock = |cost: f64| {
            if cost < OUT_OF_STOCK {
                cost
            } else {
                f64::INFINITY
            }
        };
        Selection {
            network: moved,
            cost: in_stock(ranked.rank),
            nominal: in_stock(cost - search.spread(chosen)),
            level_db,
            // The sum of nothing is -0.
            price: (taken.iter().map(|choice| choice.price).sum::<Option<f64>>())
                .map(|price| price + 0.0),
            pieces: taken.iter().map(|choice| choice.count()).sum(),
            chosen: chosen.clone(),
        }
    }

    /// The choice that is what the network is already, where nothing is to change and there is one.
    fn same(&self, search: &Search<'_>) -> Option<Vec<usize>> {
        if self.settings.goal != SnapGoal::LeastChange {
            return None;
        }
        let same = |part: &PartChoices| {
            let made_of = &self.network.parts()[part.part].made_of;
            (part.choices.iter()).position(|choice| {
                stated::is_same(choice.value_si, part.ideal_si) && choice.made_of == *made_of
            })
        };
        let same: Option<Vec<usize>> = self.parts.iter().map(same).collect();
        same.filter(|same| {
            let cost = search.cost(same).0 - search.extra(same);
            cost < NOTHING
        })
    }

    /// The most parts that are joined into one in any choice.
    pub(super) fn most_joined(&self) -> u32 {
        let choices = self.parts.iter().flat_map(|part| &part.choices);
        choices.map(Choice::count).max().unwrap_or(1)
    }
}

/// Explorations of everything within fewer steps and of fewer joined parts, each from the best of those that it
/// holds, so that what is added never makes the outcome worse; last that of all.
pub(super) struct Explorations {
    /// Window, parts joined, and outcome.
    pub(super) list: Vec<(usize, u32, Explored)>,
}

impl Explorations {
    fn run(task: &Task<'_>, search: &Search<'_>, nearest: &[usize], stop: SearchEnd<'_>) -> Self {
        let (window, together) = (task.settings.window.max(1), task.most_joined());
        let mut list: Vec<(usize, u32, Explored)> = Vec::new();
        // Those of one sum stand beside each other.
        for sum in 2..=window as u32 + together {
            let wave: Vec<(usize, u32)> = (1..=together)
                .filter_map(|parts| Some((sum.checked_sub(parts)? as usize, parts)))
                .filter(|(steps, _)| (1..=window).contains(steps))
                .collect();
            let found: Vec<Explored> = (wave.par_iter())
                .map(|&(steps, parts)| {
                    let within = |part: &PartChoices| part.within(steps, parts);
                    let allowed: Vec<Vec<usize>> = task.parts.iter().map(within).collect();
                    let mut starts = vec![nearest.to_vec()];
                    let held = list.iter().filter(|(s, p, _)| *s <= steps && *p <= parts);
                    starts.extend(held.map(|(.., of)| of.ranked[0].chosen.clone()));
                    task.explore(search, &allowed, &starts, THOROUGH, stop)
                })
                .collect();
            list.extend((wave.into_iter().zip(found)).map(|((s, p), found)| (s, p, found)));
            if stop() {
                break;
            }
        }
        Self { list }
    }

    /// The best of those of at most so many parts joined.
    pub(super) fn best(&self, parts: u32) -> &Ranked {
        let all = self.list.iter().filter(|(_, joined, _)| *joined <= parts);
        all.map(|(.., found)| &found.ranked[0])
            .min_by(|a, b| a.order(b))
            .expect("there is an exploration")
    }
}

/// Moves the parts of `network`, whose drivers are those of the ways of `job`, onto its stock.
///
/// `level_db` is about the level of the aim; deviations from it are counted from there, and it moves where the
/// aim leaves it free. `stop` is asked now and then, at least ten times a second; once it says yes the best so
/// far is the outcome.
///
/// # Errors
/// If the network cannot be solved.
pub fn snap_network(
    job: &Job,
    targets: &Targets,
    network: &Network,
    level_db: f64,
    settings: SnapSettings,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Snapped, PlanError> {
    let task = Task::new(job, targets, network, level_db, settings)?;
    let search = task.search(settings.budget)?;
    let before = super::point::SnapPoint::before(&search);
    let usual: Vec<f64> = (task.parts.iter())
        .map(|part| part.choices[part.nearest].tolerance())
        .collect();
    let rise: f64 = before.rises(&usual).iter().sum();
    let ideal_cost = before.cost().0 + if settings.robust { rise } else { 0.0 };
    let nearest = search.nearest();
    let robust = settings.robust;
    let ranked = |chosen: &[usize]| search.ranked(search.cost(chosen).0, chosen, robust);
    let nearest_ranked = ranked(&nearest);
    let (best, known, alternatives, looked_at) = if task.parts.is_empty() {
        let best = task.selection(&search, &nearest_ranked);
        (best, Known::Proven, Vec::new(), 0)
    } else if let Some(same) = task.same(&search) {
        let best = task.selection(&search, &ranked(&same));
        (best, Known::Unchanged, Vec::new(), 0)
    } else {
        let explorations = Explorations::run(&task, &search, &nearest, stop);
        let best = task.selection(&search, explorations.best(u32::MAX));
        let all = explorations.list.last().map(|(.., found)| found.known);
        let known = if stop() { None } else { all };
        let seen = [best.clone(), task.selection(&search, &nearest_ranked)];
        let alternatives = task.alternatives(&search, &explorations, &seen, stop)?;
        let looked_at = explorations.list.iter().map(|(.., found)| found.looked_at);
        let looked_at = looked_at.sum();
        (
            best,
            known.unwrap_or(Known::Stopped),
            alternatives,
            looked_at,
        )
    };
    Ok(Snapped {
        nearest: task.selection(&search, &nearest_ranked),
        looked_at,
        ideal_cost,
        best,
        known,
        alternatives,
        kept: task.kept,
        parts: task.parts.clone(),
    })
}

/// A choice hardly worse than that of [`snap_network`], in little time, with nothing proven of it; `None` where
/// the network cannot be solved, or the stock has none of a kind that is needed, or not enough.
#[must_use]
pub fn snap_well(
    job: &Job,
    targets: &Targets,
    network: &Network,
    level_db: f64,
    settings: SnapSettings,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Selection> {
    let task = Task::new(job, targets, network, level_db, settings).ok()?;
    best_of(&task, GOOD, stop)
}

/// A choice in a hundredth of a second on one thread, for a search that asks for many; `None` as of [`snap_well`].
#[must_use]
pub fn snap_quickly(
    job: &Job,
    targets: &Targets,
    network: &Network,
    level_db: f64,
    settings: SnapSettings,
) -> Option<Selection> {
    let task = Task::new(job, targets, network, level_db, settings).ok()?;
    best_of(&task, QUICK, &|| false)
}

fn best_of(
    task: &Task<'_>,
    effort: SnapEffort,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Selection> {
    if task.missing {
        return None;
    }
    let search = task.search(task.settings.budget).ok()?;
    let nearest = search.nearest();
    let ranked = match task.parts.is_empty() {
        true => search.ranked(search.cost(&nearest).0, &nearest, task.settings.robust),
        false => {
            let everything = search.everything();
            let mut explored = task.explore(&search, &everything, &[nearest], effort, stop);
            explored.ranked.swap_remove(0)
        }
    };
    let selection = task.selection(&search, &ranked);
    selection.cost.is_finite().then_some(selection)
}

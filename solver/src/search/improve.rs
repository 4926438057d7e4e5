//! A network that exists made better, one kind of change after the other: its values, wires of drivers
//! swapped, parts that earn nothing taken out, and where it is asked for, sections added.

use netlist::network::{Network, PartKind};

use super::assess::{AudioLoads, judge};
use super::grow::{
    Catalogue, EARNS, Effort, Fitted, Growth, GrowthDirection, PART_WORTH, Pace, Population,
    Problem,
};
use super::job::Job;
use super::snap::{SnapGoal, SnapSettings, snap_well};
use crate::goal::{Figures, LoadFigures, Targets};
use crate::stock::stock_kind;

/// What was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChangeKind {
    /// Wires of a driver swapped.
    Polarity,
    /// Values moved.
    Values,
    /// Parts taken out.
    Removed,
    /// Sections added or exchanged.
    Grown,
    /// Values moved onto the stock.
    Stock,
}

/// One change and what it brings.
#[derive(Debug, Clone)]
pub struct Improvement {
    /// What was done.
    pub kind: ChangeKind,
    /// Names of the parts that it is about, as far as they have one before and after.
    pub parts: Vec<String>,
    /// The network after it.
    pub network: Network,
    /// Its figures.
    pub figures: Figures,
    /// Its load.
    pub load: LoadFigures,
    /// How much the goal gained.
    pub gain: f64,
}

/// Outcome of improving.
#[derive(Debug, Clone)]
pub struct Improved {
    /// Figures before.
    pub before: (Figures, LoadFigures),
    /// Changes in the order in which they were made; empty where nothing is better.
    pub changes: Vec<Improvement>,
    /// Level of the aim after them, dB SPL.
    pub level_db: f64,
    /// What was searched.
    pub effort: Effort,
}

impl Improved {
    /// The network after all changes.
    #[must_use]
    pub fn network(&self) -> Option<&Network> {
        self.changes.last().map(|change| &change.network)
    }
}

/// Pace of looking at what can be left out or added.
const PACE: Pace = Pace {
    breadth: 2,
    tried: 14,
    kept: 5,
    exchanged: 6,
    short_steps: 8,
    long_steps: 30,
    rounds: 2,
    beyond: 4,
    asked: None,
    most_parts: 40,
};

/// A gain of the goal that is worth a word.
const WORTH_SAYING: f64 = 0.02;

/// Lets networks grow, or only lose parts.
fn reshape(
    whole: &Problem<'_>,
    population: &mut Population,
    grow: bool,
    stop: &(dyn Fn() -> bool + Sync),
) -> Effort {
    let growth = Growth {
        problem: whole,
        catalogue: &Catalogue::new(whole.job),
        pace: PACE,
        stop,
    };
    if grow {
        growth.evolve(population, &mut |_, _| {})
    } else {
        growth.pass(population, GrowthDirection::Down, &mut |_, _| {})
    }
}

/// Improves `network`, whose drivers are those of the ways of `job`, in order.
///
/// `None` where it cannot be solved.
#[must_use]
pub fn improve(
    job: &Job,
    targets: &Targets,
    audio: &AudioLoads,
    network: &Network,
    grow: bool,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Improved> {
    let (figures, load) = judge(job, network, targets, audio)?;
    let whole = Problem::whole(job, targets);
    let mut now = whole.rate(network, figures.level_db)?;
    let first_rank = now.rank();
    let mut improved = Improved {
        before: (figures, load),
        changes: Vec::new(),
        level_db: now.level_db,
        effort: Effort::default(),
    };
    let take = |improved: &mut Improved, now: &mut Fitted, next: Fitted, kind: ChangeKind| {
        let gain = now.expected() - next.expected();
        if let Some((figures, load)) = judge(job, &next.network, targets, audio) {
            improved.changes.push(Improvement {
                kind,
                parts: touched(&now.network, &next.network),
                network: next.network.clone(),
                figures,
                load,
                gain,
            });
            *now = next;
        }
    };
    // Wires first, with the values as they are: a hole that one swap fills is no matter of values.
    while let Some(next) = best_swap(&whole, &now, &mut improved.effort) {
        if now.expected() - next.expected() < WORTH_SAYING || stop() {
            break;
        }
        take(&mut improved, &mut now, next, ChangeKind::Polarity);
    }
    improved.effort.fits += 1;
    if let Some(next) = whole.fit(&now.network, now.level_db, 120)
        && now.expected() - next.expected() > WORTH_SAYING
    {
        take(&mut improved, &mut now, next, ChangeKind::Values);
    }
    let mut population = Population::new(PACE.breadth);
    population.offer(now.clone());
    improved.effort += reshape(&whole, &mut population, grow, stop);
    if let Some(best) = population.best().cloned() {
        let lighter = best.part_count() < now.part_count();
        // A part that is taken out may cost a little: less than it is worth.
        let slack = EARNS * PART_WORTH;
        if best.rank() < now.rank() - if lighter { 0.0 } else { slack } {
            let kind = if grow {
                ChangeKind::Grown
            } else {
                ChangeKind::Removed
            };
            take(&mut improved, &mut now, best, kind);
        }
    }
    if !improved.changes.is_empty() {
        let settings = SnapSettings {
            goal: SnapGoal::Aim,
            ..SnapSettings::default()
        };
        let snapped = snap_well(job, targets, &now.network, now.level_db, settings, stop)
            .and_then(|selection| whole.rate(&selection.network, selection.level_db));
        if let Some(next) = snapped {
            take(&mut improved, &mut now, next, ChangeKind::Stock);
        }
        // Values of the stock that are no better than what was there are no improvement.
        if now.rank() >= first_rank {
            improved.changes.clear();
        }
    }
    improved.level_db = now.level_db;
    Some(improved)
}

/// The same network with the values that suit it best, whatever can be bought, from those that it has: what
/// no stock betters near them. `None` where it cannot be solved.
#[must_use]
pub fn with_free_values(
    job: &Job,
    targets: &Targets,
    network: &Network,
    level_db: f64,
) -> Option<Network> {
    let fitted = Problem::whole(job, targets).fit(network, level_db, 120)?;
    Some(fitted.network)
}

/// The best network with the wires of one driver swapped.
fn best_swap(whole: &Problem<'_>, now: &Fitted, effort: &mut Effort) -> Option<Fitted> {
    let swapped: Vec<Fitted> = (now.network.swappable_drivers().into_iter())
        .filter_map(|driver| {
            let mut network = now.network.clone();
            network.swap_wires(driver);
            effort.fits += 1;
            whole.rate(&network, now.level_db)
        })
        .collect();
    swapped
        .into_iter()
        .min_by(|a, b| a.expected().total_cmp(&b.expected()))
}

/// Names of the parts that are new, gone, or not what they were.
fn touched(before: &Network, after: &Network) -> Vec<String> {
    let changed = after.parts().iter().filter(|(name, part)| {
        before.parts().get(*name).is_none_or(|old| {
            let moved = match (old.value_si(), part.value_si()) {
                (Some(a), Some(b)) => (a / b - 1.0).abs() > 0.005,
                _ => false,
            };
            let swapped = match (&old.kind, &part.kind) {
                (PartKind::Driver { inverted: a, .. }, PartKind::Driver { inverted: b, .. }) => {
                    a != b
                }
                _ => false,
            };
            moved || swapped || stock_kind(&old.kind) != stock_kind(&part.kind)
        })
    });
    let gone = before
        .parts()
        .keys()
        .filter(|name| !after.parts().contains_key(*name));
    changed.map(|(name, _)| name).chain(gone).cloned().collect()
}

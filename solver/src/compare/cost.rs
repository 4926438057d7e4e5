//! What each wish costs: every one relaxed by a tenth, and what the figures gain by it.
//!
//! How the goal changes with a limit while the network stays the best for it is, to first order, its change with
//! the values held still (the envelope theorem; the multiplier of the limit). Where that is nothing the wish binds
//! nothing. Where it is something the same parts are fitted anew for the relaxed wish; when they gain about what
//! the multiplier says, the network is still the one for it. When they gain much more, another network may be
//! better yet, and where a search is allowed it is looked for. What parts and money buy is in the trade-off of the
//! search already.

use netlist::network::Network;
use netlist::project::AlignmentPair;
use netlist::quantity::{Decibels, Hertz};
use serde::Serialize;

use crate::goal::{Figures, LoadFigures, Targets};
use crate::search::grow::{Catalogue, Fitted, Growth, Pace, Population, Problem};
use crate::search::{AudioLoads, Job, Proposal, judge};

/// A wish that can be relaxed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Relaxed {
    /// The band of the aim, Hz: as it is, and a tenth narrower at both ends.
    Band {
        /// Its ends.
        from_hz: [f64; 2],
        /// And when relaxed.
        to_hz: [f64; 2],
    },
    /// The least load, ohm.
    LeastLoad {
        /// As asked for.
        from_ohm: f64,
        /// A tenth less.
        to_ohm: f64,
    },
    /// The level asked for, dB at the listener.
    Level {
        /// As asked for.
        from_db: f64,
        /// A tenth less power.
        to_db: f64,
    },
    /// Voltage of a delicate driver at and below its resonance against that at its crossover, dB.
    Protection {
        /// The most that is allowed.
        from_db: f64,
        /// A tenth more voltage.
        to_db: f64,
    },
    /// Number of parts.
    Parts {
        /// Of the network.
        from: usize,
        /// A tenth more, one at least.
        to: usize,
    },
    /// Price of the parts of one loudspeaker.
    Price {
        /// Of the network.
        from: f64,
        /// A tenth more.
        to: f64,
    },
}

/// How what a wish costs was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CostMethod {
    /// The multiplier is nothing: the wish binds nothing.
    Multiplier,
    /// The same parts fitted anew, which the multiplier agrees with.
    SameParts,
    /// The same parts fitted anew gain much more than the multiplier says, and no search was allowed: a new search
    /// may find more.
    AtLeast,
    /// A new search from the network.
    NewSearch,
    /// The trade-off of the search.
    TradeOff,
}

/// Figures before or after a wish is relaxed, with ideal values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Merits {
    /// Rms deviation of the sum, dB.
    pub rms_db: f64,
    /// Largest deviation, dB.
    pub max_db: f64,
    /// Level, dB.
    pub level_db: f64,
    /// Least load, ohm.
    pub least_ohm: f64,
    /// Parts.
    pub parts: usize,
}

impl Merits {
    fn of(figures: &Figures, load: &LoadFigures, parts: usize) -> Self {
        Self {
            rms_db: figures.rms_db,
            max_db: figures.max_db,
            level_db: figures.level_db,
            least_ohm: load.least_ohm,
            parts,
        }
    }
}

/// What one wish costs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WishCost {
    /// The wish.
    pub wish: Relaxed,
    /// How this was found.
    pub how: CostMethod,
    /// What the goal gains.
    pub gain: f64,
    /// What its multiplier says that it gains; `None` of parts and price.
    pub multiplier_gain: Option<f64>,
    /// Figures with the wish.
    pub before: Merits,
    /// Figures with the wish relaxed; the same where nothing is gained.
    pub after: Merits,
}

/// A network whose wishes are looked at.
#[derive(Debug, Clone, Copy)]
pub struct WishContext<'a> {
    /// What is asked for.
    pub job: &'a Job,
    /// Slopes, one pair a crossover.
    pub alignments: &'a [AlignmentPair],
    /// Impedances for the load.
    pub audio: &'a AudioLoads,
    /// The network, its drivers in the order of the ways.
    pub network: &'a Network,
    /// Level of its aim, dB.
    pub level_db: f64,
    /// Proposals of the search and the place of the network among them, where it was searched.
    pub trade_off: Option<(&'a [Proposal], usize)>,
}

/// A gain of the goal that is none.
const NOTHING: f64 = 0.01;
/// The multiplier holds where the gain is within this share of what it says.
const HOLDS: f64 = 0.5;
/// A multiplier is taken over this share of the change.
const STEP: f64 = 0.1;
/// Steps of a fit.
const FIT: usize = 60;
/// Pace of a new search from a network.
const PACE: Pace = Pace {
    breadth: 2,
    tried: 8,
    kept: 3,
    exchanged: 3,
    short_steps: 8,
    long_steps: 30,
    rounds: 1,
    beyond: 4,
    asked: None,
    most_parts: 34,
};

/// What every wish of a network costs; with `search` by a new search too, where the multiplier does not hold. Wishes
/// that nobody has are left out.
#[must_use]
pub fn wish_costs(
    context: &WishContext<'_>,
    search: bool,
    stop: &(dyn Fn() -> bool + Sync),
) -> Vec<WishCost> {
    let (job, targets) = (context.job, context.job.targets(context.alignments));
    let whole = Problem::whole(job, &targets);
    let Some(base) = whole.fit(context.network, context.level_db, FIT) else {
        return Vec::new();
    };
    let mut costs = Vec::new();
    for wish in wishes(job) {
        if stop() {
            break;
        }
        costs.extend(relaxed(context, &base, wish, search, stop));
    }
    costs.extend(of_trade_off(context));
    costs
}

/// The wishes that are continuous.
fn wishes(job: &Job) -> Vec<Relaxed> {
    let mut wishes = Vec::new();
    let band = [job.aim.from.0, job.aim.to.0];
    let narrower = [1.1 * band[0], band[1] / 1.1];
    let inside = |f_hz: f64| (narrower[0]..=narrower[1]).contains(&f_hz);
    if job
        .crossovers
        .iter()
        .all(|crossover| inside(crossover.frequency.0))
    {
        wishes.push(Relaxed::Band {
            from_hz: band,
            to_hz: narrower,
        });
    }
    if job.least_load_ohm > 0.0 {
        wishes.push(Relaxed::LeastLoad {
            from_ohm: job.least_load_ohm,
            to_ohm: 0.9 * job.least_load_ohm,
        });
    }
    if let Some(level) = job.aim.level {
        wishes.push(Relaxed::Level {
            from_db: level.0,
            to_db: level.0 + 10.0 * 0.9f64.log10(),
        });
    }
    if !job.protected().is_empty() {
        let from_db = job.most_below_resonance_db;
        wishes.push(Relaxed::Protection {
            from_db,
            to_db: from_db + 20.0 * 1.1f64.log10(),
        });
    }
    wishes
}

/// The job with a share of a wish's relaxation.
fn eased(job: &Job, wish: Relaxed, share: f64) -> Job {
    let mut eased = job.clone();
    let between = |from: f64, to: f64| from + share * (to - from);
    match wish {
        Relaxed::Band { from_hz, to_hz } => {
            eased.aim.from = Hertz(between(from_hz[0], to_hz[0]));
            eased.aim.to = Hertz(between(from_hz[1], to_hz[1]));
        }
        Relaxed::LeastLoad { from_ohm, to_ohm } => eased.least_load_ohm = between(from_ohm, to_ohm),
        Relaxed::Level { from_db, to_db } => {
            eased.aim.level = Some(Decibels(between(from_db, to_db)))
        }
        Relaxed::Protection { from_db, to_db } => {
            eased.most_below_resonance_db = between(from_db, to_db);
        }
        Relaxed::Parts { .. } | Relaxed::Price { .. } => {}
    }
    eased
}

fn relaxed(
    context: &WishContext<'_>,
    base: &Fitted,
    wish: Relaxed,
    search: bool,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<WishCost> {
    let easy = eased(context.job, wish, 1.0);
    let targets = easy.targets(context.alignments);
    let problem = Problem::whole(&easy, &targets);
    let level_db = easy.aim.level.map_or(base.level_db, |level| level.0);
    // Its slope, from one side: what is relaxed by a little, the band by more, for its points are few.
    let step = if matches!(wish, Relaxed::Band { .. }) {
        1.0
    } else {
        STEP
    };
    let nearly = eased(context.job, wish, step);
    let near_targets = nearly.targets(context.alignments);
    let near_level_db = nearly.aim.level.map_or(base.level_db, |level| level.0);
    let near = Problem::whole(&nearly, &near_targets).cost(&base.network, near_level_db)?;
    let multiplier = (base.cost - near) / step;
    let asked = context.job.targets(context.alignments);
    let before = merits(context, context.job, &asked, base)?;
    let fitted = problem.fit(&base.network, level_db, FIT)?;
    let gain = base.cost - fitted.cost;
    let cost = |how, gain, after| WishCost {
        wish,
        how,
        gain,
        multiplier_gain: Some(multiplier),
        before,
        after,
    };
    if multiplier.abs() < NOTHING && gain < 2.0 * NOTHING {
        return Some(cost(CostMethod::Multiplier, 0.0, before));
    }
    let after = merits(context, &easy, &targets, &fitted)?;
    if (gain - multiplier).abs() <= HOLDS * gain.abs().max(NOTHING) {
        return Some(cost(CostMethod::SameParts, gain, after));
    }
    if !search {
        return Some(cost(CostMethod::AtLeast, gain, after));
    }
    let rank_before = fitted.rank();
    let mut population = Population::new(PACE.breadth);
    population.offer(fitted.clone());
    let growth = Growth {
        problem: &problem,
        catalogue: &Catalogue::new(&easy),
        pace: PACE,
        stop,
    };
    growth.evolve(&mut population, &mut |_, _| {});
    match population.best().filter(|best| best.rank() < rank_before) {
        Some(best) => {
            let gain = base.rank() - best.rank();
            Some(cost(
                CostMethod::NewSearch,
                gain,
                merits(context, &easy, &targets, best)?,
            ))
        }
        None => Some(cost(CostMethod::NewSearch, gain, after)),
    }
}

fn merits(
    context: &WishContext<'_>,
    job: &Job,
    targets: &Targets,
    fitted: &Fitted,
) -> Option<Merits> {
    let (figures, load) = judge(job, &fitted.network, targets, context.audio)?;
    Some(Merits::of(&figures, &load, fitted.part_count()))
}

/// What parts and money buy: the best of the trade-off within a tenth more.
fn of_trade_off(context: &WishContext<'_>) -> Vec<WishCost> {
    let Some((proposals, chosen)) = context.trade_off else {
        return Vec::new();
    };
    let now = &proposals[chosen];
    let merits =
        |proposal: &Proposal| Merits::of(&proposal.figures, &proposal.load, proposal.part_count());
    let best = |within: &dyn Fn(&Proposal) -> bool| {
        let offered = proposals.iter().filter(|proposal| within(proposal));
        offered.min_by(|a, b| a.expected().total_cmp(&b.expected()))
    };
    let cost = |wish, best: Option<&Proposal>| {
        let gained = |best: &Proposal| now.expected() - best.expected();
        let better = best.filter(|best| gained(best) > 0.0);
        WishCost {
            wish,
            how: CostMethod::TradeOff,
            gain: better.map_or(0.0, gained),
            multiplier_gain: None,
            before: merits(now),
            after: merits(better.unwrap_or(now)),
        }
    };
    let parts = now.part_count();
    let most = parts + ((parts as f64 / 10.0).round() as usize).max(1);
    let wish = Relaxed::Parts {
        from: parts,
        to: most,
    };
    let mut costs = vec![cost(wish, best(&|proposal| proposal.part_count() <= most))];
    if let Some(price) = now.price {
        let wish = Relaxed::Price {
            from: price,
            to: 1.1 * price,
        };
        let within = |proposal: &Proposal| proposal.price.is_some_and(|other| other <= 1.1 * price);
        costs.push(cost(wish, best(&within)));
    }
    costs
}

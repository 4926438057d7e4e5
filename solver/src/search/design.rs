//! From a brief to networks: every way grown towards its own target, the ways joined and grown together,
//! the best of every size moved onto the stock.

use netlist::project::AlignmentPair;
use rayon::prelude::*;

use super::assess::{AudioLoads, judge};
use super::depth::{Depth, alignment_choices, depths};
use super::grow::{
    Effort, Fitted, Pace, Population, Problem, evolve, in_best_polarity, ladders, sets,
};
use super::grow::{Catalogue, EARNS, PART_WORTH};
use super::job::{BriefError, Job};
use super::snap::{Selection, SnapGoal, SnapSettings, snap_best, snap_quickly};
use super::stated;
use crate::goal::{Figures, LoadFigures, Targets};

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignSettings {
    /// Seed of the random starts.
    pub seed: u64,
    /// Starts of every ladder; the first has the closed-form values.
    pub starts: usize,
    /// Most parts of the network that is chosen.
    pub most_parts: Option<usize>,
    /// Most that all its parts may cost.
    pub budget: Option<f64>,
}

impl Default for DesignSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            starts: 1,
            most_parts: None,
            budget: None,
        }
    }
}

/// What is being done, for those who wait.
#[derive(Debug, Clone, PartialEq)]
pub enum Progress {
    /// A way was grown alone.
    Way {
        /// Name of the way.
        name: String,
        /// Networks fitted.
        fits: usize,
        /// Best cost so far.
        cost: f64,
    },
    /// The whole is growing.
    Growing {
        /// Parts of the best so far.
        parts: usize,
        /// Its goal.
        cost: f64,
    },
    /// Networks are moved onto the stock.
    Snapping {
        /// How many.
        networks: usize,
    },
}

/// A network with its figures before and after it was moved onto the stock.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// With ideal values.
    pub ideal: Fitted,
    /// Figures of the ideal values.
    pub ideal_figures: Figures,
    /// With values of the stock.
    pub snapped: Fitted,
    /// Figures with values of the stock.
    pub figures: Figures,
    /// Load with values of the stock.
    pub load: LoadFigures,
}

/// Outcome of a design.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The prepared brief.
    pub job: Job,
    /// Slopes in use, one pair a crossover.
    pub alignments: Vec<AlignmentPair>,
    /// Depth at each crossover.
    pub depths: Vec<Depth>,
    /// Proposals from the fewest parts to the most, none beaten in everything by another.
    pub proposals: Vec<Proposal>,
    /// Position of the one that is taken when nobody chooses.
    pub chosen: usize,
    /// What was searched.
    pub effort: Effort,
    /// The search was ended early.
    pub interrupted: bool,
}

/// Of the grid of a job, every so many frequencies are enough to grow a network.
const COARSE: usize = 2;

/// Pace of one way alone.
const WAY_PACE: Pace = Pace {
    breadth: 3,
    tried: 12,
    kept: 4,
    exchanged: 0,
    short_steps: 8,
    long_steps: 40,
    rounds: 2,
    most_parts: 9,
};

/// Pace of the whole.
const WHOLE_PACE: Pace = Pace {
    breadth: 2,
    tried: 14,
    kept: 5,
    exchanged: 6,
    short_steps: 6,
    long_steps: 25,
    rounds: 2,
    most_parts: 34,
};

/// Designs a network for `job`. `stop` is asked now and then; when it says yes the best so far is
/// returned.
///
/// # Errors
/// If no network could be found at all, or the audio band is no grid.
pub fn design(
    job: Job,
    audio: &AudioLoads,
    settings: DesignSettings,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress),
) -> Result<Outcome, BriefError> {
    let alignments = alignment_choices(&job).swap_remove(0);
    
    let mut effort = Effort::default();
    let coarse = job.thinned(COARSE);
    let targets = coarse.targets(&alignments);
    let catalogue = Catalogue::new(&coarse);
    let (ways, level_db) = grow_ways(&coarse, &targets, &catalogue, stop, &mut effort, progress);
    let whole = Problem::whole(&coarse, &targets);
    let mut population = Population::new(WHOLE_PACE.breadth);
    let sets = sets(&ways);
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
    let mut watch = |population: &Population| {
        if let Some(best) = population.best() {
            progress(Progress::Growing {
                parts: best.part_count(),
                cost: best.cost,
            });
        }
    };
    effort += evolve(&whole, &catalogue, &mut population, WHOLE_PACE, stop, &mut watch);

    // On the whole grid, from the best of every size downwards once more.
    let targets = job.targets(&alignments);
    let whole = Problem::whole(&job, &targets);
    let front: Vec<Fitted> = population.front().into_iter().cloned().collect();
    let fine: Vec<Option<Fitted>> = front
        .par_iter()
        .map(|fitted| {
            if stop() {
                return whole.fit(&fitted.network, fitted.level_db, 1);
            }
            whole.fit(&fitted.network, fitted.level_db, 80)
        })
        .collect();
    let mut population = Population::new(1);
    for fitted in fine.into_iter().flatten() {
        population.offer(fitted);
    }
    let front: Vec<Fitted> = population.front().into_iter().cloned().collect();
    progress(Progress::Snapping {
        networks: front.len(),
    });
    let proposals: Vec<Proposal> = front
        .into_par_iter()
        .map(|mut ideal| {
            stated::round_parts(&mut ideal.network);
            let settings = towards_the_aim();
            let selection =
                snap_quickly(&job, &targets, &ideal.network, ideal.level_db, settings)?;
            let snapped = on_stock(&ideal, selection);
            let (ideal_figures, _) = judge(&job, &ideal.network, &targets, audio)?;
            let (figures, load) = judge(&job, &snapped.network, &targets, audio)?;
            Some(Proposal {
                ideal,
                ideal_figures,
                snapped,
                figures,
                load,
            })
        })
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    if proposals.is_empty() {
        return Err(BriefError::NothingFound);
    }
    let mut proposals = front_of(proposals);
    let chosen = choose(&proposals);
    look_closer(&job, &targets, audio, &mut proposals[chosen], stop);
    Ok(Outcome {
        depths: depths(&job, &alignments),
        job,
        alignments,
        proposals,
        chosen,
        effort,
        interrupted: stop(),
    })
}

fn towards_the_aim() -> SnapSettings {
    SnapSettings {
        goal: SnapGoal::Aim,
        ..SnapSettings::default()
    }
}

/// A network with values of the stock.
fn on_stock(ideal: &Fitted, selection: Selection) -> Fitted {
    Fitted {
        spread: selection.cost - selection.nominal,
        cost: selection.nominal,
        network: selection.network,
        level_db: selection.level_db,
        ..ideal.clone()
    }
}

/// Takes what a thorough search among the values of the stock finds where that is better than what a quick one
/// has found.
fn look_closer(
    job: &Job,
    targets: &Targets,
    audio: &AudioLoads,
    proposal: &mut Proposal,
    stop: &(dyn Fn() -> bool + Sync),
) {
    let ideal = &proposal.ideal;
    let (network, level_db) = (&ideal.network, ideal.level_db);
    let Some(best) = snap_best(job, targets, network, level_db, towards_the_aim(), stop) else {
        return;
    };
    let known = &proposal.snapped;
    if best.cost >= known.cost + known.spread {
        return;
    }
    let Some((figures, load)) = judge(job, &best.network, targets, audio) else {
        return;
    };
    proposal.snapped = on_stock(ideal, best);
    (proposal.figures, proposal.load) = (figures, load);
}

/// Every way grown alone, and the level that they aim at.
fn grow_ways(
    job: &Job,
    targets: &Targets,
    catalogue: &Catalogue,
    stop: &(dyn Fn() -> bool + Sync),
    effort: &mut Effort,
    progress: &mut dyn FnMut(Progress),
) -> (Vec<Population>, f64) {
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
        let starts = ladders(job, way, level_db);
        let fits: Vec<Option<Fitted>> = starts
            .par_iter()
            .map(|network| problem.fit(network, level_db, 40))
            .collect();
        effort.fits += fits.len();
        let mut population = Population::new(WAY_PACE.breadth);
        for fitted in fits.into_iter().flatten() {
            population.offer(fitted);
        }
        *effort += evolve(&problem, catalogue, &mut population, WAY_PACE, stop, &mut |_| {});
        if let Some(best) = population.best() {
            progress(Progress::Way {
                name: job.ways[way].name.clone(),
                fits: effort.fits,
                cost: best.cost,
            });
            if way == weakest && job.aim.level.is_none() {
                level_db = best.level_db;
            }
        }
        ways[way] = Some(population);
    }
    (ways.into_iter().flatten().collect(), level_db)
}

/// Those that no smaller one beats with values of the stock.
fn front_of(proposals: Vec<Proposal>) -> Vec<Proposal> {
    let mut front: Vec<Proposal> = Vec::new();
    for proposal in proposals {
        let pays = |smaller: &Proposal| {
            let more = proposal.snapped.part_count() - smaller.snapped.part_count();
            proposal.snapped.expected() <= smaller.snapped.expected() - EARNS * PART_WORTH * more as f64
        };
        if front.iter().all(pays) {
            front.push(proposal);
        }
    }
    front
}

fn choose(proposals: &[Proposal]) -> usize {
    (0..proposals.len())
        .min_by(|&a, &b| {
            let rank = |i: usize| proposals[i].snapped.rank();
            rank(a).total_cmp(&rank(b))
        })
        .unwrap_or(0)
}

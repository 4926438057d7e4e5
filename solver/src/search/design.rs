//! From a brief to networks: every way fitted to its own target in every shape, the best joined and
//! searched together, the best of those moved onto the stock.

use netlist::project::{Alignment, AlignmentPair, Family};
use rayon::prelude::*;

use super::depth::{Depth, choose_alignments, depths};
use super::job::{BriefError, Job};
use super::joint::{AudioLoads, Candidate, fit_jointly, improve, judge};
use super::snap::snap;
use super::way_fit::{WayFit, fit_way};
use crate::goal::{Figures, LoadFigures};
use crate::grid::Grid;
use crate::load::{Conditions, driver_load};
use crate::synthesis::WayShape;
use crate::wiring::lead_ohm;

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Seed of the random starts.
    pub seed: u64,
    /// Starts a shape.
    pub starts: usize,
    /// Shapes of each way that are tried together with those of the others.
    pub shortlist: usize,
    /// Networks that are moved onto the stock.
    pub finalists: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self {
            seed: 1,
            starts: 8,
            shortlist: 4,
            finalists: 12,
        }
    }
}

/// What is being done, for those who wait.
#[derive(Debug, Clone, PartialEq)]
pub enum Progress {
    /// A way was fitted in this many shapes; the best match so far, dB.
    Way {
        /// Name of the way.
        name: String,
        /// Shapes tried.
        shapes: usize,
        /// Best match, dB.
        match_db: f64,
    },
    /// Combinations are searched jointly.
    Joint {
        /// How many.
        combinations: usize,
    },
    /// The best are moved onto the stock.
    Snapping {
        /// How many.
        networks: usize,
    },
}

/// A network with its figures before and after it was moved onto the stock.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// With ideal values.
    pub ideal: Candidate,
    /// Figures of the ideal values.
    pub ideal_figures: Figures,
    /// With values of the stock.
    pub snapped: Candidate,
    /// Figures with values of the stock.
    pub figures: Figures,
    /// Load with values of the stock.
    pub load: LoadFigures,
}

/// What a proposal is best at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Merit {
    /// Best of error and parts together: the one that is taken when nobody chooses.
    Balanced,
    /// Least error.
    BestFit,
    /// Fewest parts among those that are still good.
    FewestParts,
    /// Highest load among those that are still good.
    KindestLoad,
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
    /// Proposals, the balanced one first; each network once.
    pub proposals: Vec<(Merit, Proposal)>,
    /// Shapes and combinations of shapes that were searched.
    pub shapes_tried: usize,
    /// The search was ended early.
    pub interrupted: bool,
}

/// Designs a network for `job`. `stop` is asked now and then; when it says yes the best so far is
/// returned.
///
/// # Errors
/// If no network could be found at all, or the audio band is no grid.
pub fn design(
    job: Job,
    audio: &AudioLoads,
    effort: Effort,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress),
) -> Result<Outcome, BriefError> {
    let chosen = choose_alignments(&job);
    // Slopes whose ideal sum bears the depth best need not be those that the drivers follow best:
    // where the choice is ours the usual ones compete.
    let usual = Alignment {
        family: Family::LinkwitzRiley,
        order: 4,
    };
    let usual: Vec<AlignmentPair> = (job.crossovers.iter())
        .map(|crossover| {
            crossover.alignment.unwrap_or(AlignmentPair {
                lower: usual,
                upper: usual,
            })
        })
        .collect();
    if chosen == usual {
        return design_with(job, chosen, audio, effort, stop, progress);
    }
    let first = design_with(job.clone(), chosen, audio, effort, stop, progress)?;
    if stop() {
        return Ok(first);
    }
    let second = design_with(job, usual, audio, effort, stop, progress)?;
    let cost = |outcome: &Outcome| outcome.proposals[0].1.snapped.cost;
    let tried = first.shapes_tried + second.shapes_tried;
    let better = if cost(&first) <= cost(&second) {
        first
    } else {
        second
    };
    Ok(Outcome {
        shapes_tried: tried,
        ..better
    })
}

/// The same for given slopes.
fn design_with(
    job: Job,
    alignments: Vec<AlignmentPair>,
    audio: &AudioLoads,
    effort: Effort,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(Progress),
) -> Result<Outcome, BriefError> {
    let targets = job.targets(&alignments);
    let depths = depths(&job, &alignments);
    let weakest = job.weakest();
    // A coil in front of the weakest way costs a few tenths of a decibel.
    let mut level_db = job
        .aim
        .level
        .map_or(job.ways[weakest].level_db - 0.3, |level| level.0);
    let mut shapes_tried = 0;
    let mut shortlists: Vec<Vec<WayFit>> = vec![Vec::new(); job.ways.len()];
    let order = std::iter::once(weakest).chain((0..job.ways.len()).filter(|&w| w != weakest));
    for way in order {
        let shapes = match way {
            0 => WayShape::for_lowest(),
            _ => WayShape::for_upper(way + 1 == job.ways.len()),
        };
        // Even a search that is ended at once fits one shape, so that there is something to keep.
        let fits = fit_way(&job, way, &targets, &shapes, level_db, effort, stop);
        shapes_tried += fits.len();
        if let Some(best) = fits.first() {
            progress(Progress::Way {
                name: job.ways[way].name.clone(),
                shapes: fits.len(),
                match_db: best.cost.sqrt(),
            });
            if way == weakest && job.aim.level.is_none() {
                level_db = best.level_db;
            }
        }
        shortlists[way] = shortlist(fits, effort.shortlist);
    }

    let combinations = combine(&shortlists);
    progress(Progress::Joint {
        combinations: combinations.len(),
    });
    let mut candidates: Vec<Candidate> = combinations
        .par_iter()
        .enumerate()
        .map(|(number, fits)| {
            if number > 0 && stop() {
                return None;
            }
            best_polarity(&job, &targets, fits, level_db)
        })
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    shapes_tried += candidates.len();
    candidates.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    let finalists = finalists(candidates, effort.finalists);
    progress(Progress::Snapping {
        networks: finalists.len(),
    });
    let proposals: Vec<Proposal> = finalists
        .par_iter()
        .enumerate()
        .map(|(number, candidate)| {
            if number > 0 && stop() {
                return None;
            }
            let ideal = improve(&job, &targets, candidate, 150)?;
            let snapped = snap(&job, &targets, &ideal)?;
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
    let proposals = choose(proposals, job.least_load_ohm);
    if proposals.is_empty() {
        return Err(BriefError::NothingFound);
    }
    Ok(Outcome {
        job,
        alignments,
        depths,
        proposals,
        shapes_tried,
        interrupted: stop(),
    })
}

/// Impedances of the ways of a project over the audio band, leads included, for the load.
///
/// # Errors
/// Never for the band of this function; the error is that of [`Grid::log_spaced`].
pub fn audio_loads(
    project: &netlist::project::Project,
    job: &Job,
) -> Result<AudioLoads, BriefError> {
    let grid = Grid::log_spaced(20.0, 20_000.0, 300)?;
    let z_ohm = (job.ways.iter())
        .map(|way| {
            let driver = &project.drivers[way.name.as_str()];
            driver_load(driver, &grid, &Conditions::default())
                .behind_lead(lead_ohm(project, &way.name))
                .z_ohm
        })
        .collect();
    Ok(AudioLoads { grid, z_ohm })
}

/// Error and parts in one number: a part more must be worth a twentieth of what is acceptable.
fn rank(candidate: &Candidate) -> f64 {
    candidate.cost + 0.05 * candidate.part_count() as f64
}

/// The best fits, each with fewer parts than all better ones, then the next best.
fn shortlist(fits: Vec<WayFit>, count: usize) -> Vec<WayFit> {
    let mut fewest = usize::MAX;
    let (mut list, mut rest) = (Vec::new(), Vec::new());
    for fit in fits {
        if list.len() < count && fit.shape.part_count() < fewest {
            fewest = fit.shape.part_count();
            list.push(fit);
        } else {
            rest.push(fit);
        }
    }
    let missing = count - list.len();
    list.extend(rest.into_iter().take(missing));
    list
}

fn combine(shortlists: &[Vec<WayFit>]) -> Vec<Vec<&WayFit>> {
    let mut combinations: Vec<Vec<&WayFit>> = vec![Vec::new()];
    for list in shortlists {
        combinations = (combinations.iter())
            .flat_map(|head| {
                list.iter().map(move |fit| {
                    let mut whole = head.clone();
                    whole.push(fit);
                    whole
                })
            })
            .collect();
    }
    combinations
}

/// Tries every polarity of the ways above the lowest briefly, and the best one longer.
fn best_polarity(
    job: &Job,
    targets: &crate::goal::Targets,
    fits: &[&WayFit],
    level_db: f64,
) -> Option<Candidate> {
    let upper = fits.len() - 1;
    let best = (0..1usize << upper)
        .filter_map(|bits| {
            let inverted: Vec<bool> = (0..fits.len())
                .map(|way| way > 0 && bits >> (way - 1) & 1 == 1)
                .collect();
            fit_jointly(job, targets, fits, &inverted, level_db, 4)
        })
        .min_by(|a, b| a.cost.total_cmp(&b.cost))?;
    improve(job, targets, &best, 40)
}

/// The best by rank, and with them the best of every smaller number of parts.
fn finalists(candidates: Vec<Candidate>, count: usize) -> Vec<Candidate> {
    let mut list: Vec<Candidate> = Vec::new();
    let mut fewest = usize::MAX;
    for candidate in candidates {
        let fewer = candidate.part_count() < fewest;
        if list.len() < count || (fewer && list.len() < 2 * count) {
            fewest = fewest.min(candidate.part_count());
            list.push(candidate);
        }
    }
    list
}

/// Names the proposals by what they are best at.
fn choose(mut proposals: Vec<Proposal>, least_load_ohm: f64) -> Vec<(Merit, Proposal)> {
    let Some(best) = (proposals.iter())
        .map(|p| p.snapped.cost)
        .min_by(f64::total_cmp)
    else {
        return Vec::new();
    };
    // Twice the least error is still good: what the eye sees as the next curve.
    let good = |p: &Proposal| p.snapped.cost <= 2.0 * best + 0.5;
    let mut chosen = Vec::new();
    let mut take =
        |merit: Merit, proposals: &mut Vec<Proposal>, score: &dyn Fn(&Proposal) -> f64| {
            let pick = (0..proposals.len())
                .filter(|&i| good(&proposals[i]))
                .min_by(|&a, &b| score(&proposals[a]).total_cmp(&score(&proposals[b])));
            if let Some(i) = pick {
                chosen.push((merit, proposals.remove(i)));
            }
        };
    take(Merit::Balanced, &mut proposals, &|p| {
        // A load below what is asked for has its price in the goal; near it, one more reason.
        let short = (least_load_ohm / p.load.least_ohm - 1.0).max(0.0);
        rank(&p.snapped) + 100.0 * short
    });
    take(Merit::BestFit, &mut proposals, &|p| p.snapped.cost);
    take(Merit::FewestParts, &mut proposals, &|p| {
        p.snapped.part_count() as f64 + 0.1 * p.snapped.cost
    });
    take(Merit::KindestLoad, &mut proposals, &|p| -p.load.least_ohm);
    chosen
}

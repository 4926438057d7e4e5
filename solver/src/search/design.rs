//! From a brief to networks: every way fitted to its own target in every shape, the best joined and
//! searched together, the best of those moved onto the stock.

use netlist::project::AlignmentPair;
use rayon::prelude::*;

use super::alternatives::{Merit, PART_WORTH, choose, rank};
use super::depth::{Depth, alignment_choices, depths};
use super::job::{BriefError, Job};
use super::joint::{AudioLoads, Candidate, JOINT_WEIGHTS, fit_jointly, improve, judge};
use super::protection::{protects_all, retain_safe};
use super::simplify::simplify;
use super::snap::{Selection, SnapGoal, SnapSettings, snap_best, snap_quickly};
use super::stated;
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
    /// Of the best networks, how many are looked at for sections that could be left out.
    pub simplified: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self {
            seed: 1,
            starts: 8,
            shortlist: 4,
            finalists: 12,
            simplified: 6,
        }
    }
}

/// What is being done, for those who wait.
#[derive(Debug, Clone, PartialEq)]
pub enum Progress {
    /// Slopes were tried in a quick design.
    Slopes {
        /// The slopes, one pair a crossover.
        alignments: Vec<AlignmentPair>,
        /// What they came to with values of the stock, dB rms.
        flatness_db: f64,
    },
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
        /// Best flatness so far, with ideal values, dB rms.
        flatness_db: Option<f64>,
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
    /// The shapes of each way that were tried with those of the others, best match first.
    pub shortlists: Vec<Vec<WayFit>>,
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
    // Slopes whose ideal sum bears the depth best need not be those that the drivers follow best:
    // the best few compete in quick designs.
    let mut choices = alignment_choices(&job);
    let mut tried = 0;
    if choices.len() > 1 {
        let quick = Effort {
            starts: effort.starts.min(3),
            shortlist: 2,
            finalists: 3,
            simplified: 0,
            ..effort
        };
        let mut best: Option<(f64, Vec<AlignmentPair>)> = None;
        for choice in choices {
            if best.is_some() && stop() {
                break;
            }
            let outcome =
                design_with(job.clone(), choice.clone(), audio, quick, stop, &mut |_| {})?;
            tried += outcome.shapes_tried;
            progress(Progress::Slopes {
                alignments: choice.clone(),
                flatness_db: outcome.proposals[0].1.figures.rms_db,
            });
            let cost = rank(&outcome.proposals[0].1.snapped);
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, choice));
            }
        }
        choices = best.into_iter().map(|(_, choice)| choice).collect();
    }
    let chosen = choices.swap_remove(0);
    let outcome = design_with(job, chosen, audio, effort, stop, progress)?;
    Ok(Outcome {
        shapes_tried: outcome.shapes_tried + tried,
        ..outcome
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
            _ => WayShape::for_upper(way + 1 == job.ways.len(), &tap_steps(&job, way, level_db)),
        };
        // Even a search that is ended at once fits one shape, so that there is something to keep.
        let mut fits = fit_way(&job, way, &targets, &shapes, level_db, effort, stop);
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
        retain_safe(&mut fits, |fit| fit.protects);
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
    let mut finalists = finalists(candidates, effort.finalists);
    let simplified: Vec<Candidate> = finalists[..finalists.len().min(effort.simplified)]
        .par_iter()
        .map(|candidate| simplify(&job, &targets, candidate, effort, stop))
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    for candidate in simplified {
        // Several can end at the same shapes; the first comes from the best.
        if !(finalists.iter()).any(|known| known.shapes == candidate.shapes) {
            shapes_tried += 1;
            finalists.push(candidate);
        }
    }
    finalists.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    progress(Progress::Snapping {
        networks: finalists.len(),
        flatness_db: (finalists.first())
            .and_then(|best| judge(&job, &best.network, &targets, audio))
            .map(|(figures, _)| figures.rms_db),
    });
    let mut proposals: Vec<Proposal> = finalists
        .par_iter()
        .enumerate()
        .map(|(number, candidate)| {
            if number > 0 && stop() {
                return None;
            }
            let mut ideal = improve(&job, &targets, candidate, 150)?;
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
    retain_safe(&mut proposals, |proposal| {
        protects_all(&job, &proposal.snapped.network)
    });
    let mut proposals = choose(proposals, job.least_load_ohm);
    proposals.par_iter_mut().for_each(|(_, proposal)| {
        if !stop() {
            look_closer(&job, &targets, audio, proposal, stop);
        }
    });
    if proposals.is_empty() {
        return Err(BriefError::NothingFound);
    }
    Ok(Outcome {
        job,
        alignments,
        depths,
        proposals,
        shortlists,
        shapes_tried,
        interrupted: stop(),
    })
}

fn towards_the_aim() -> SnapSettings {
    SnapSettings {
        goal: SnapGoal::Aim,
        ..SnapSettings::default()
    }
}

/// A candidate with values of the stock.
fn on_stock(ideal: &Candidate, selection: Selection) -> Candidate {
    Candidate {
        network: selection.network,
        cost: selection.nominal,
        level_db: selection.level_db,
        ..ideal.clone()
    }
}

/// Takes what a thorough search among the values of the stock finds where that is better than what a quick one
/// has found.
fn look_closer(
    job: &Job,
    targets: &crate::goal::Targets,
    audio: &AudioLoads,
    proposal: &mut Proposal,
    stop: &(dyn Fn() -> bool + Sync),
) {
    let ideal = &proposal.ideal;
    let (network, level_db) = (&ideal.network, ideal.level_db);
    let Some(best) = snap_best(job, targets, network, level_db, towards_the_aim(), stop) else {
        return;
    };
    let Some((figures, load)) = judge(job, &best.network, targets, audio) else {
        return;
    };
    proposal.snapped = on_stock(ideal, best);
    (proposal.figures, proposal.load) = (figures, load);
}

/// Impedances of the ways of a project over the audio band, leads included, for the load.
#[must_use]
pub fn audio_loads(project: &netlist::project::Project, job: &Job) -> AudioLoads {
    let grid = Grid::audio_band();
    let z_ohm = (job.ways.iter())
        .map(|way| {
            let driver = &project.drivers[way.name.as_str()];
            driver_load(driver, &grid, &Conditions::default())
                .behind_lead(lead_ohm(project, &way.name))
                .z_ohm
        })
        .collect();
    AudioLoads { grid, z_ohm }
}

/// Most combinations that are searched jointly: all of three ways, the most promising of four.
const COMBINATIONS: usize = 64;

/// Taps worth trying for a way: the one that takes away what is too much, and its neighbours.
fn tap_steps(job: &Job, way: usize, level_db: f64) -> Vec<u8> {
    let Some(range) = job.stock.autoformers else {
        return Vec::new();
    };
    let wanted = (job.ways[way].level_db - level_db) / range.step.0;
    let around = [-1.0, 0.0, 1.0].map(|by| (wanted + by).round());
    (around.into_iter())
        .filter(|steps| *steps >= 1.0 && *steps <= f64::from(range.taps()))
        .map(|steps| steps as u8)
        .collect()
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
    // What the ways came to alone, in the measure of the joint goal.
    let promise = |fits: &Vec<&WayFit>| -> f64 {
        let each = fits.iter().map(|fit| {
            fit.cost / JOINT_WEIGHTS.match_db.powi(2) + PART_WORTH * fit.shape.part_count() as f64
        });
        each.sum()
    };
    if combinations.len() > COMBINATIONS {
        combinations.sort_by(|a, b| promise(a).total_cmp(&promise(b)));
        combinations.truncate(COMBINATIONS);
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

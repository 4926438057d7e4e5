//! From a brief to networks: what is left open decided, networks grown, the best of every size fitted on all
//! frequencies and moved onto the stock.

use std::collections::BTreeMap;

use netlist::project::{AlignmentPair, Project};
use rayon::prelude::*;

use super::assess::{AudioLoads, audio_loads, judge};
use super::brief_error::BriefError;
use super::choice::{as_safe_as_chosen, choose, front_of, nearest_to_choice};
use super::grow::{
    Catalogue, Effort, Fitted, Growth, GrowthDirection, Pace, Population, Problem, in_reading_order,
};
use super::job::Job;
use super::open::{Variant, decide};
use super::proposal::{DesignSettings, Proposal, Reason};
use super::protection::wide_open_db;
use super::snap::{SnapGoal, SnapSettings, snap_quickly, snap_well};
use super::variant::{FULL, QUICK, SearchProgress, Thoroughness, grow_variant};
use super::worth::{short_load, wide_open};
use crate::goal::Targets;

/// Outcome of a design.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The project with everything decided that the brief leaves open.
    pub project: Project,
    /// The prepared brief.
    pub job: Job,
    /// Impedances for the load.
    pub audio: AudioLoads,
    /// Slopes in use, one pair a crossover.
    pub alignments: Vec<AlignmentPair>,
    /// What was tried where the brief leaves something open, best first; empty where it does not.
    pub variants: Vec<Variant>,
    /// Proposals from the fewest parts to the most, none beaten in everything by another.
    pub proposals: Vec<Proposal>,
    /// Position of the one that is taken when nobody chooses.
    pub chosen: usize,
    /// Why.
    pub reason: Reason,
    /// What was searched.
    pub effort: Effort,
    /// The search was ended early.
    pub interrupted: bool,
}

/// Says of each proposal how much flatter it is than the one before it.
fn say_what_was_bought(proposals: &mut [Proposal]) {
    for i in 1..proposals.len() {
        let gained = proposals[i - 1].figures.rms_db - proposals[i].figures.rms_db;
        proposals[i].bought_db = Some(gained);
    }
}

/// Designs networks for a brief. `stop` is asked at least ten times a second; when it says yes the best so far is
/// returned.
///
/// # Errors
/// If the brief cannot be designed, or no network could be found at all.
pub fn design(
    project: &Project,
    settings: DesignSettings,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(SearchProgress),
) -> Result<Outcome, BriefError> {
    let mut effort = Effort::default();
    let decided = decide(project, stop, &mut effort, progress)?;
    let job = Job::new(&decided.project)?;
    let audio = audio_loads(&decided.project);
    let pace = if settings.quick { QUICK } else { FULL };
    let how = Thoroughness {
        starts: settings.starts,
        seed: settings.seed,
        whole: Pace {
            asked: settings.most_parts,
            ..pace.whole
        },
        ..pace
    };
    let alignments = decided.alignments;
    let (population, spent) = grow_variant(&job, &alignments, how, stop, progress);
    effort += spent;
    let targets = job.targets(&alignments);
    let whole = Problem::whole(&job, &targets);
    let refined = refine(&whole, &population, stop, &mut effort, progress);
    let candidates = candidates(&refined, settings.most_parts);
    progress(SearchProgress::Snapping {
        networks: candidates.len(),
    });
    let snap_settings = SnapSettings {
        goal: SnapGoal::Aim,
        budget: settings.budget,
        seed: settings.seed,
        ..SnapSettings::default()
    };
    let proposals: Vec<Option<Proposal>> = candidates
        .into_par_iter()
        .enumerate()
        .map(|(number, ideal)| {
            if number > 0 && stop() {
                return None;
            }
            propose(&whole, &targets, &audio, ideal, snap_settings)
        })
        .collect();
    let proposals = best_of_every_size(proposals.into_iter().flatten());
    let mut proposals = front_of(proposals);
    if proposals.is_empty() {
        return Err(BriefError::NothingFound);
    }
    if !stop() && !settings.quick {
        let better: Vec<Option<Proposal>> = nearest_to_choice(&proposals, settings)
            .into_par_iter()
            .map(|near| {
                let ideal = &proposals[near].ideal;
                let (network, level_db) = (&ideal.network, ideal.level_db);
                let selection = snap_well(&job, &targets, network, level_db, snap_settings, stop)?;
                let better = with_values(&whole, &targets, &audio, &proposals[near], selection)?;
                (better.expected() < proposals[near].expected()).then_some(better)
            })
            .collect();
        for better in better.into_iter().flatten() {
            let parts = better.part_count();
            if let Some(known) = proposals.iter_mut().find(|p| p.part_count() == parts) {
                *known = better;
            }
        }
        proposals = front_of(proposals);
    }
    let (chosen, reason) = choose(&proposals, settings);
    let (mut proposals, chosen) = as_safe_as_chosen(proposals, chosen);
    say_what_was_bought(&mut proposals);
    Ok(Outcome {
        project: decided.project,
        variants: decided.variants,
        job,
        audio,
        alignments,
        proposals,
        chosen,
        reason,
        effort,
        interrupted: stop(),
    })
}

/// Pace of the last look at what could be left out.
const REFINING: Pace = Pace {
    breadth: 1,
    tried: 8,
    kept: 3,
    exchanged: 0,
    short_steps: 8,
    long_steps: 40,
    rounds: 1,
    beyond: 4,
    asked: None,
    most_parts: usize::MAX,
};

/// The best of every size fitted on all frequencies, and once more looked at for parts that do too little.
fn refine(
    whole: &Problem<'_>,
    population: &Population,
    stop: &(dyn Fn() -> bool + Sync),
    effort: &mut Effort,
    progress: &mut dyn FnMut(SearchProgress),
) -> Population {
    let coarse: Vec<&Fitted> = population.about_front(|_| OF_A_SIZE).collect();
    progress(SearchProgress::Refining {
        networks: coarse.len(),
    });
    let fine: Vec<Option<Fitted>> = coarse
        .par_iter()
        .map(|fitted| {
            let steps = if stop() { 1 } else { 60 };
            whole.fit(&fitted.network, fitted.level_db, steps)
        })
        .collect();
    effort.fits += fine.len();
    let mut refined = Population::new(OF_A_SIZE);
    for fitted in fine.into_iter().flatten() {
        refined.offer(fitted);
    }
    let growth = Growth {
        problem: whole,
        catalogue: &Catalogue::new(whole.job),
        pace: REFINING,
        stop,
    };
    *effort += growth.pass(&mut refined, GrowthDirection::Down, &mut |_, _| {});
    refined
}

/// Networks of one size that are moved onto the stock: some values are nearer to what can be bought than others.
const OF_A_SIZE: usize = 3;
/// Sizes about the best one of which so many are.
const NEAR: usize = 4;

/// What is moved onto the stock: the front, and near the best size the next best networks as well.
fn candidates(refined: &Population, asked: Option<usize>) -> Vec<Fitted> {
    let best = refined.best().map_or(0, Fitted::part_count);
    let wanted = asked.unwrap_or(best);
    let of_a_size = |size: usize| match size.abs_diff(wanted) <= NEAR {
        true => OF_A_SIZE,
        false => 1,
    };
    refined.about_front(of_a_size).cloned().collect()
}

/// Of every number of parts what is best with values of the stock.
fn best_of_every_size(proposals: impl Iterator<Item = Proposal>) -> Vec<Proposal> {
    let mut best: BTreeMap<usize, Proposal> = BTreeMap::new();
    for proposal in proposals {
        let better = |known: &Proposal| proposal.expected() < known.expected();
        if best.get(&proposal.part_count()).is_none_or(better) {
            best.insert(proposal.part_count(), proposal);
        }
    }
    best.into_values().collect()
}

/// A network moved onto the stock, with its figures.
fn propose(
    whole: &Problem<'_>,
    targets: &Targets,
    audio: &AudioLoads,
    mut ideal: Fitted,
    settings: SnapSettings,
) -> Option<Proposal> {
    ideal.network = in_reading_order(&ideal.network);
    super::values::round_parts(&mut ideal.network);
    let selection = snap_quickly(whole.job, targets, &ideal.network, ideal.level_db, settings)?;
    let (ideal_figures, load) = judge(whole.job, &ideal.network, targets, audio)?;
    let bare = Proposal {
        snapped: ideal.clone(),
        figures: ideal_figures.clone(),
        ideal,
        ideal_figures,
        load,
        price: None,
        hazard: 0.0,
        bought_db: None,
    };
    with_values(whole, targets, audio, &bare, selection)
}

/// The same with other values of the stock.
fn with_values(
    whole: &Problem<'_>,
    targets: &Targets,
    audio: &AudioLoads,
    proposal: &Proposal,
    selection: super::snap::Selection,
) -> Option<Proposal> {
    let snapped = whole.rate(&selection.network, selection.level_db)?;
    let (figures, load) = judge(whole.job, &snapped.network, targets, audio)?;
    let hazard = short_load(load.least_ohm / whole.job.least_load_ohm)
        + wide_open(wide_open_db(whole.job, &snapped.network));
    Some(Proposal {
        snapped,
        figures,
        load,
        hazard,
        price: selection.price,
        ..proposal.clone()
    })
}

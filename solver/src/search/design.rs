//! From a brief to networks: what is left open decided, networks grown, the best of every size fitted on all
//! frequencies and moved onto the stock.

use std::collections::BTreeMap;

use netlist::project::{AlignmentPair, Project};
use rayon::prelude::*;

use super::assess::{AudioLoads, audio_loads, judge};
use super::brief_error::BriefError;
use super::grow::{
    Catalogue, EARNS, Effort, Fitted, GrowthDirection, PART_WORTH, Pace, Population, Problem,
    in_reading_order, pass,
};
use super::job::Job;
use super::open::{Variant, decide};
use super::protection::wide_open_db;
use super::snap::{SnapGoal, SnapSettings, snap_quickly, snap_well};
use super::variant::{FULL, QUICK, SearchProgress, Thoroughness, grow_variant};
use super::worth::{short_load, wide_open};
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
    /// A quick look in place of a thorough search.
    pub quick: bool,
}

impl Default for DesignSettings {
    fn default() -> Self {
        Self {
            seed: 1,
            starts: 2,
            most_parts: None,
            budget: None,
            quick: false,
        }
    }
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
    /// Price of all parts; `None` where one has none.
    pub price: Option<f64>,
    /// What a least load below the one asked for, which the goal hears at the search's frequencies only, and a diaphragm
    /// wide open below its resonance add to the goal.
    pub hazard: f64,
    /// How much flatter it is than the proposal before it, dB rms; `None` of the first.
    pub bought_db: Option<f64>,
}

impl Proposal {
    /// Number of parts, drivers not counted.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.snapped.part_count()
    }

    /// What it is judged by among proposals of as many parts.
    #[must_use]
    pub fn expected(&self) -> f64 {
        self.snapped.expected() + self.hazard
    }

    /// What it is chosen by where parts and price are not limited, the less the better.
    #[must_use]
    pub fn score(&self) -> f64 {
        self.expected() + CHOICE_WORTH * self.part_count() as f64
    }
}

/// Why a proposal is the one that is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// A part more gains less than it is worth, a part less loses more.
    Balanced,
    /// The best with so many parts or fewer.
    Parts(usize),
    /// The best that costs no more than this.
    Budget(f64),
    /// Nothing is within the number of parts or the budget: the nearest.
    OutOfReach,
}

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
    let catalogue = Catalogue::new(whole.job);
    let down = GrowthDirection::Down;
    *effort += pass(
        whole,
        &catalogue,
        &mut refined,
        REFINING,
        down,
        stop,
        &mut |_, _| {},
    );
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

/// More hazard than that of the network that is taken is nothing to offer beside it.
const AS_SAFE: f64 = 1.0;

/// Without those that are more of a hazard to amplifier or diaphragm than the chosen one; and where that one is then.
fn as_safe_as_chosen(proposals: Vec<Proposal>, chosen: usize) -> (Vec<Proposal>, usize) {
    let most = proposals[chosen].hazard + AS_SAFE;
    let safe = |p: &Proposal| p.hazard <= most;
    let before = proposals[..chosen].iter().filter(|p| safe(p)).count();
    (proposals.into_iter().filter(safe).collect(), before)
}

/// Those that no smaller one beats with values of the stock.
fn front_of(proposals: Vec<Proposal>) -> Vec<Proposal> {
    let mut front: Vec<Proposal> = Vec::new();
    for proposal in proposals {
        let pays = |smaller: &Proposal| {
            let more = (proposal.part_count() - smaller.part_count()) as f64;
            let expected = proposal.expected();
            expected <= smaller.expected() - EARNS * PART_WORTH * more
        };
        if front.iter().all(pays) {
            front.push(proposal);
        }
    }
    front
}

/// What a part more must gain of the goal for the richer network to be the one that is taken. More than the
/// search asks of a part: it shows what lies beyond.
pub const CHOICE_WORTH: f64 = 0.45;

/// Proposals that are moved onto the stock once more, with more effort.
const MOVED_AGAIN: usize = 4;

/// Of all proposals that are within the limits those that are next to being chosen, where there are any.
fn nearest_to_choice(proposals: &[Proposal], settings: DesignSettings) -> Vec<usize> {
    let mut near: Vec<usize> = (0..proposals.len()).collect();
    near.retain(|&i| within(&proposals[i], settings));
    near.sort_by(|&a, &b| {
        let (a, b) = (&proposals[a], &proposals[b]);
        score(a, settings).total_cmp(&score(b, settings))
    });
    near.truncate(MOVED_AGAIN);
    near
}

/// Whether a proposal keeps the asked number of parts and the budget.
fn within(proposal: &Proposal, settings: DesignSettings) -> bool {
    let parts = (settings.most_parts).is_none_or(|most| proposal.part_count() <= most);
    let price = |most| proposal.price.is_some_and(|price| price <= most);
    parts && settings.budget.is_none_or(price)
}

/// What proposals are chosen by, the less the better: error alone where parts or price are limited, else parts
/// count too.
fn score(proposal: &Proposal, settings: DesignSettings) -> f64 {
    match settings.most_parts.is_some() || settings.budget.is_some() {
        true => proposal.expected(),
        false => proposal.score(),
    }
}

fn choose(proposals: &[Proposal], settings: DesignSettings) -> (usize, Reason) {
    if let Some(&chosen) = nearest_to_choice(proposals, settings).first() {
        let reason = match (settings.most_parts, settings.budget) {
            (_, Some(budget)) => Reason::Budget(budget),
            (Some(parts), None) => Reason::Parts(parts),
            (None, None) => Reason::Balanced,
        };
        return (chosen, reason);
    }
    let least =
        |p: &Proposal| p.price.unwrap_or(f64::INFINITY).min(1e12) + p.part_count() as f64 * 1e-6;
    let nearest =
        (0..proposals.len()).min_by(|&a, &b| least(&proposals[a]).total_cmp(&least(&proposals[b])));
    (nearest.unwrap_or(0), Reason::OutOfReach)
}

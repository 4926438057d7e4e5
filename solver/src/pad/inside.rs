//! The level of a driver whose way has no pad that stands by itself: which parts of the way to change.
//!
//! In a network that was grown for its drivers what takes the level is part of the filter, and each part of it bends
//! the response as well. What moves the level most evenly over the way's band is found by trial: every part of the
//! way, a resistor more before the driver or across it, and every two of these, in the values of the stock.

use netlist::network::{Network, PartKind};
use netlist::project::{Project, StockKind};
use serde::Serialize;

use super::levers::{
    Lever, LeverChoices, Trial, Tried, Where, candidates, changed, kind_word, tried,
    with_new_resistors,
};
use super::trials::{LoudspeakerFigures, PadTrials};
use crate::judge::{Rating, stress};
use crate::search::Job;
use crate::search::grow::block_of;

/// Of the frequencies of a job every so many are enough to rank changes by.
const EVERY: usize = 3;
/// Changes of one step that are solved as whole loudspeakers.
const LOOKED_AT: usize = 8;
/// A step further off than this, or as uneven, is not offered, dB.
const MISSED_DB: f64 = 0.5;
/// Below this share of the least load before, each tenth less counts as so much off the step.
const LOAD_KEPT: f64 = 0.98;
const A_TENTH_DB: f64 = 1.0;

/// How the level of a driver is set inside its filter.
#[derive(Debug, Clone)]
pub struct Inside {
    /// The driver's band, Hz.
    pub band_hz: (f64, f64),
    /// What the network takes of the bare driver's level there, in the mean, dB.
    pub taken_db: f64,
    /// Parts of the way, those first that move the level most.
    pub levers: Vec<Lever>,
    /// The loudspeaker as it is.
    pub speaker: LoudspeakerFigures,
    /// From the softest to the loudest, the design among them.
    pub steps: Vec<LevelStep>,
}

/// A step of level.
#[derive(Debug, Clone)]
pub struct LevelStep {
    /// The step, dB; 0 is the design.
    pub level_db: f64,
    /// What is changed for it; empty for the design, and where nothing in the stock comes near.
    pub changes: Vec<PartChange>,
    /// What it comes to; `None` where nothing in the stock comes near.
    pub met: Option<StepMet>,
}

impl LevelStep {
    /// Whether it is the network as it is.
    #[must_use]
    pub fn is_design(&self) -> bool {
        self.changes.is_empty() && self.met.is_some()
    }
}

/// A part exchanged, or put in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartChange {
    /// Name of the part.
    pub part: String,
    /// Its kind.
    #[serde(serialize_with = "kind_word")]
    pub kind: StockKind,
    /// Where it is.
    pub place: Where,
    /// Its value in the network, SI; `None` of a new one.
    pub from_si: Option<f64>,
    /// Its value for the step, SI.
    pub to_si: f64,
    /// What it must be rated for; `None` of a coil without a core, and where the amplifier's power is not stated.
    pub rating: Option<Rating>,
}

/// What a step comes to.
#[derive(Debug, Clone)]
pub struct StepMet {
    /// Change of the driver's level in its band, dB.
    pub change_db: f64,
    /// Rms of the change about its mean over the band, dB.
    pub uneven_db: f64,
    /// The whole loudspeaker.
    pub speaker: LoudspeakerFigures,
}

/// How the level of `driver` is set in `network`, and what moves it by up to `range_db` in steps of 1 dB.
///
/// `None` where it is the lowest way, the network does not feed it, it shares its filter with another driver, nothing of the stock moves
/// its level evenly, or nothing can be solved.
#[must_use]
pub fn inside(
    project: &Project,
    job: &Job,
    network: &Network,
    driver: &str,
    range_db: u8,
) -> Option<Inside> {
    let way = job.ways.iter().position(|way| way.name == driver)?;
    // A resistor before a woofer spoils its box; the others are set to its level.
    if way == 0 {
        return None;
    }
    let block = block_of(network, driver);
    let drivers = (network.parts().values().zip(&block))
        .filter(|(part, inside)| **inside && matches!(part.kind, PartKind::Driver { .. }));
    if drivers.count() != 1 {
        return None;
    }
    let (with_new, new) = with_new_resistors(network, driver)?;
    let coarse = job.thinned(EVERY);
    let mut trial = Trial::new(&coarse, &with_new, way)?;
    let candidates = candidates(job, &mut trial, &block, new);
    let loudspeaker = PadTrials::new(project, job);
    let speaker = loudspeaker.figures(network).ok()?;
    let tried = tried(&candidates, &trial);
    let range = i32::from(range_db);
    let design = StepMet {
        change_db: 0.0,
        uneven_db: 0.0,
        speaker: speaker.clone(),
    };
    let steps: Vec<LevelStep> = (-range..=range)
        .map(|step| match step {
            0 => LevelStep {
                level_db: 0.0,
                changes: Vec::new(),
                met: Some(design.clone()),
            },
            _ => best(
                (project, &loudspeaker, &with_new, new),
                &candidates,
                &tried,
                &speaker,
                f64::from(step),
            ),
        })
        .collect();
    if steps.iter().all(|step| step.changes.is_empty()) {
        return None;
    }
    Some(Inside {
        band_hz: job.band_hz(way),
        taken_db: trial.taken_db(),
        levers: (candidates.into_iter())
            .filter(|candidate| candidate.place == Where::InPlace)
            .map(|candidate| candidate.lever)
            .collect(),
        speaker,
        steps,
    })
}

/// The change that comes nearest to a step of `level_db`, and lowers the loudspeaker's load least.
fn best(
    (project, loudspeaker, with_new, new): (&Project, &PadTrials<'_>, &Network, [usize; 2]),
    candidates: &[LeverChoices],
    tried: &[Tried],
    speaker: &LoudspeakerFigures,
    level_db: f64,
) -> LevelStep {
    let mut near: Vec<&Tried> = (tried.iter())
        .filter(|tried| {
            (tried.change_db - level_db).abs() < MISSED_DB && tried.uneven_db < MISSED_DB
        })
        .collect();
    near.sort_by(|a, b| a.missed_db(level_db).total_cmp(&b.missed_db(level_db)));
    near.truncate(LOOKED_AT);
    let least =
        |figures: &LoudspeakerFigures| figures.load.map_or(f64::INFINITY, |load| load.least_ohm);
    let kept_ohm = loudspeaker.job().least_load_ohm.min(least(speaker));
    let looked = (near.into_iter())
        .filter_map(|tried| {
            let network = changed(with_new, new, candidates, &tried.picks);
            let figures = loudspeaker.figures(&network).ok()?;
            let short = (LOAD_KEPT - least(&figures) / kept_ohm).max(0.0);
            let missed_db = tried.missed_db(level_db) + 10.0 * A_TENTH_DB * short;
            Some((missed_db, tried, network, figures))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, tried, network, speaker)) = looked else {
        return LevelStep {
            level_db,
            changes: Vec::new(),
            met: None,
        };
    };
    let stresses = stress(&Project {
        network: Some(network),
        ..project.clone()
    });
    let rating = |part: &str| {
        let stress = stresses.as_ref().ok()?.as_ref()?;
        stress.parts.iter().find(|stress| stress.part == part)?.buy
    };
    let changes = (tried.picks.iter())
        .map(|&(c, i)| {
            let LeverChoices {
                lever,
                place,
                choices,
                ..
            } = &candidates[c];
            PartChange {
                part: lever.part.clone(),
                kind: lever.kind,
                place: *place,
                from_si: (*place == Where::InPlace).then_some(lever.value_si),
                to_si: choices[i].0,
                rating: rating(&lever.part),
            }
        })
        .collect();
    LevelStep {
        level_db,
        changes,
        met: Some(StepMet {
            change_db: tried.change_db,
            uneven_db: tried.uneven_db,
            speaker,
        }),
    }
}

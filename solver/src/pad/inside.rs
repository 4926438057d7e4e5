//! The level of a driver whose way has no pad that stands by itself: which parts of the way to change.
//!
//! In a network that was grown for its drivers what takes the level is part of the filter, and each part of it bends
//! the response as well. What moves the level most evenly over the way's band is found by trial: every part of the
//! way, a resistor more before the driver or across it, and every two of these, in the values of the stock.

use netlist::network::{Network, PartKind};
use netlist::project::{Project, StockKind};
use serde::Serialize;

use super::levers::{Exchange, Lever, Levers, PlaceOfChange, Tried, kind_word};
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
    pub place: PlaceOfChange,
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
    let coarse = job.thinned(EVERY);
    let levers = Levers::new(&coarse, network, way, &block)?;
    let loudspeaker = PadTrials::new(project, job);
    let speaker = loudspeaker.figures(network).ok()?;
    let search = LevelSearch {
        project,
        loudspeaker,
        tried: levers.tried(),
        levers,
        kept_ohm: job.least_load_ohm.min(least_ohm(&speaker)),
    };
    let range = i32::from(range_db);
    let step = |step: i32| match step {
        0 => LevelStep {
            level_db: 0.0,
            changes: Vec::new(),
            met: Some(StepMet {
                change_db: 0.0,
                uneven_db: 0.0,
                speaker: speaker.clone(),
            }),
        },
        _ => search.step(f64::from(step)),
    };
    let steps: Vec<LevelStep> = (-range..=range).map(step).collect();
    if steps.iter().all(|step| step.changes.is_empty()) {
        return None;
    }
    Some(Inside {
        band_hz: job.band_hz(way),
        taken_db: search.levers.taken_db(),
        levers: (search.levers.exchanges.into_iter())
            .filter(|exchange| exchange.place == PlaceOfChange::InPlace)
            .map(|exchange| exchange.lever)
            .collect(),
        speaker,
        steps,
    })
}

/// Least load of a loudspeaker, ohm.
fn least_ohm(speaker: &LoudspeakerFigures) -> f64 {
    speaker.load.map_or(f64::INFINITY, |load| load.least_ohm)
}

/// All that is tried.
struct LevelSearch<'a> {
    project: &'a Project,
    loudspeaker: PadTrials<'a>,
    levers: Levers<'a>,
    tried: Vec<Tried>,
    /// The load that a step should keep, ohm.
    kept_ohm: f64,
}

impl LevelSearch<'_> {
    /// The change that comes nearest to a step of `level_db`, and lowers the loudspeaker's load least.
    fn step(&self, level_db: f64) -> LevelStep {
        let near = |tried: &&Tried| {
            (tried.change_db - level_db).abs() < MISSED_DB && tried.uneven_db < MISSED_DB
        };
        let mut near: Vec<&Tried> = self.tried.iter().filter(near).collect();
        near.sort_by(|a, b| a.missed_db(level_db).total_cmp(&b.missed_db(level_db)));
        let had = |tried: &&Tried| self.levers.can_be_had(&self.project.stock, &tried.picks);
        let looked_at = near.into_iter().filter(had).take(LOOKED_AT);
        let looked_at = looked_at.filter_map(|tried| {
            let network = self.levers.changed(&tried.picks);
            let speaker = self.loudspeaker.figures(&network).ok()?;
            let short = (LOAD_KEPT - least_ohm(&speaker) / self.kept_ohm).max(0.0);
            let missed_db = tried.missed_db(level_db) + 10.0 * A_TENTH_DB * short;
            Some((missed_db, tried, network, speaker))
        });
        let best = looked_at.min_by(|a, b| a.0.total_cmp(&b.0));
        let (changes, met) = match best {
            None => (Vec::new(), None),
            Some((_, tried, network, speaker)) => {
                let met = StepMet {
                    change_db: tried.change_db,
                    uneven_db: tried.uneven_db,
                    speaker,
                };
                (self.changes(&tried.picks, network), Some(met))
            }
        };
        LevelStep {
            level_db,
            changes,
            met,
        }
    }

    /// What is exchanged for a network, and what that must stand there.
    fn changes(&self, picks: &[(usize, usize)], network: Network) -> Vec<PartChange> {
        let stresses = stress(&Project {
            network: Some(network),
            ..self.project.clone()
        });
        let rating = |part: &str| {
            let stress = stresses.as_ref().ok()?.as_ref()?;
            stress.parts.iter().find(|stress| stress.part == part)?.buy
        };
        let change = |&(a, i): &(usize, usize)| {
            let Exchange {
                lever,
                place,
                choices,
                ..
            } = &self.levers.exchanges[a];
            PartChange {
                part: lever.part.clone(),
                kind: lever.kind,
                place: *place,
                from_si: (*place == PlaceOfChange::InPlace).then_some(lever.value_si),
                to_si: choices[i].0,
                rating: rating(&lever.part),
            }
        };
        picks.iter().map(change).collect()
    }
}

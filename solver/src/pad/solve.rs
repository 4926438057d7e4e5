//! Works out what is said of a pad: recognised, changed, solved.

use std::borrow::Cow;

use netlist::project::Project;
use netlist::quantity::Watts;

use super::answer::{HotPad, LevelOff, PadAnswer, PadColumn};
use super::bench::PadBench;
use super::candidate::Candidate;
use super::drive::{DriveChange, driver_level_db, level_on_resistor_db};
use super::drive_source::PadSourceKind;
use super::findings::pad_findings;
use super::ideal::{ideal, ideal_at_driver};
use super::inside::{Inside, inside};
use super::load::PadLoad;
use super::question::{PadError, PadGoal, PadQuestion};
use super::steps::steps;
use super::study::Study;
use super::target::PadTarget;
use super::trials::{LoudspeakerFigures, PadTrials};
use crate::judge::sort_findings;
use crate::search::Job;
use crate::sound::{FLOOR_DB, level_db};
use crate::synthesis::{Pad, PadKind};

/// Pads from stock that are offered: a document holds them all, a screen the first ones.
const OFFERED: usize = 5;

/// What is said of a driver's level.
#[derive(Debug)]
pub enum PadFound<'a> {
    /// By a pad.
    Pad(Box<PadAnswer<'a>>),
    /// By parts of its filter.
    Inside(Box<Inside>),
}

/// Answers a question about a pad on a bench that was made with its load and its power. Where the network's own pad is
/// asked for and there is none, parts of the filter are, if `may_be_inside`.
///
/// # Errors
/// If there is no such pad: see [`PadError`].
pub fn answer<'a>(
    bench: PadBench<'a>,
    question: &'a PadQuestion,
    may_be_inside: bool,
) -> Result<PadFound<'a>, PadError> {
    let driver = bench.project().zip(bench.driver());
    let job = driver.and_then(|(project, _)| Job::new(project).ok());
    let no_pad = (bench.place.as_ref()).is_some_and(|place| place.pad.is_none());
    if may_be_inside
        && question.goal == PadGoal::AsBuilt
        && no_pad
        && let (Some((project, name)), Some(job)) = (driver, &job)
        && let Some(network) = &project.network
        && let project = with_power(project, question.power_w)
        && let Some(inside) = inside(&project, job, network, name, question.steps_db)
    {
        return Ok(PadFound::Inside(Box::new(inside)));
    }
    let trials = (driver.zip(job.as_ref())).map(|((project, _), job)| PadTrials::new(project, job));
    let pad = of_pad(question, bench, trials.as_ref())?;
    Ok(PadFound::Pad(Box::new(pad)))
}

/// The project with an amplifier of another power, where one is asked for.
fn with_power(project: &Project, power_w: Option<f64>) -> Cow<'_, Project> {
    let mut project = Cow::Borrowed(project);
    if let Some(power_w) = power_w {
        project.to_mut().amplifier.rated_power = Some(Watts(power_w));
    }
    project
}

fn of_pad<'a>(
    question: &'a PadQuestion,
    bench: PadBench<'a>,
    trials: Option<&PadTrials<'_>>,
) -> Result<PadAnswer<'a>, PadError> {
    let built_pad = bench.place.as_ref().and_then(|place| place.pad);
    let Chosen {
        pad,
        wanted_db,
        target,
        ideal,
        candidates,
    } = chosen(question, &bench)?;
    let columns = PadTable::new(&bench, trials, built_pad, wanted_db);
    let as_built = question.goal == PadGoal::AsBuilt;
    let chosen = columns.column(pad, as_built);
    let built = built_pad.filter(|_| !as_built);
    let built = built.map(|pad| columns.column(pad, true));
    let textbook = bench.driver().and_then(|_| {
        let own_db = wanted_db - bench.load.mean_tail_db();
        let pad = Pad::size(PadKind::LPad, own_db, bench.load.rated_ohm).ok()?;
        Some(columns.column(pad, false))
    });
    let level = columns.level(&chosen, &target);
    let at = question.at.as_ref().map(|grid| bench.on_grid(pad, grid));
    let mut answer = PadAnswer {
        question,
        built,
        textbook,
        ideal,
        candidates,
        steps: steps(&chosen.study, bench.site(), &target, question.steps_db),
        hot: hot_coil(&bench, pad, question.hot_k),
        at: at.transpose()?,
        level,
        findings: Vec::new(),
        chosen,
        target,
        bench,
    };
    answer.findings = pad_findings(&answer);
    sort_findings(&mut answer.findings);
    Ok(answer)
}

/// The pad that is looked at, and what is said of how it was found.
struct Chosen {
    pad: Pad,
    /// What a textbook's pad in its place takes, dB.
    wanted_db: f64,
    target: PadTarget,
    ideal: Option<Study>,
    candidates: Vec<Candidate>,
}

fn chosen(question: &PadQuestion, bench: &PadBench<'_>) -> Result<Chosen, PadError> {
    let place = bench.place.as_ref();
    let pad = match question.goal {
        PadGoal::Size {
            kind,
            attenuation_db,
        } => {
            let target = bench.target(kind, attenuation_db, &question.taps);
            return from_stock(bench, target);
        }
        PadGoal::Check(pad) => pad,
        PadGoal::AsBuilt => {
            let driver = bench.driver().unwrap_or_default().to_owned();
            let place = place.ok_or_else(|| PadError::NotFed(driver.clone()))?;
            let stays = place.stays.clone();
            place.pad.ok_or(PadError::NoPad { driver, stays })?
        }
    };
    // What bridges the series resistor is for the horn; the textbook knows only the resistors.
    let bare = bench.load.clone().without_bridge();
    Ok(Chosen {
        pad,
        wanted_db: Study::new(pad, &bare, &bench.feed).mean_db,
        target: bench.target(pad.kind(), 0.0, &question.taps),
        ideal: None,
        candidates: Vec::new(),
    })
}

fn from_stock(bench: &PadBench<'_>, target: PadTarget) -> Result<Chosen, PadError> {
    let (wanted_db, takes_db) = (target.attenuation_db, bench.load.mean_tail_db());
    if wanted_db <= takes_db {
        let place = bench.place.as_ref();
        let behind = place.map_or_else(Vec::new, |place| place.behind.clone());
        return Err(PadError::TailTakesMore { behind, takes_db });
    }
    let ideal = ideal(&bench.load, &bench.feed, &target)?;
    let candidates = bench.site().sized(&target, OFFERED);
    let best = candidates.first().ok_or(PadError::NoResistors)?;
    Ok(Chosen {
        pad: best.study.pad,
        wanted_db,
        ideal: Some(bench.study(ideal)),
        target,
        candidates,
    })
}

/// Columns of a table, and what they are held against.
struct PadTable<'a> {
    bench: &'a PadBench<'a>,
    trials: Option<&'a PadTrials<'a>>,
    /// What the filter was made for: the pad in the file, or a resistor.
    before_db: Option<Vec<f64>>,
    /// The loudspeaker as it is in the file.
    speaker: Option<LoudspeakerFigures>,
}

impl<'a> PadTable<'a> {
    fn new(
        bench: &'a PadBench<'a>,
        trials: Option<&'a PadTrials<'a>>,
        built_pad: Option<Pad>,
        wanted_db: f64,
    ) -> Self {
        let (load, feed) = (&bench.load, &bench.feed);
        let mut columns = Self {
            bench,
            trials,
            before_db: match feed.kind {
                PadSourceKind::Network => Some(driver_level_db(built_pad, load, feed)),
                PadSourceKind::Textbook => {
                    Some(level_on_resistor_db(load.rated_ohm, wanted_db, load, feed))
                }
                PadSourceKind::Amplifier => None,
            },
            speaker: None,
        };
        columns.speaker = columns.speaker(built_pad);
        columns
    }

    /// The loudspeaker with this pad in the place of the one that is there.
    fn speaker(&self, pad: Option<Pad>) -> Option<LoudspeakerFigures> {
        let (network, place) = self.bench.in_network()?;
        self.trials?.figures(&place.with_pad(network, pad)).ok()
    }

    fn column(&self, pad: Pad, as_built: bool) -> PadColumn {
        let study = self.bench.study(pad);
        let before_db = self.before_db.as_ref().filter(|_| !as_built);
        let speaker = self.speaker(Some(pad));
        let changes = (self.speaker.as_ref().zip(speaker.as_ref())).filter(|_| !as_built);
        PadColumn {
            change: before_db.map(|before_db| {
                DriveChange::new(before_db, &study.curves.level_db, &self.bench.load)
            }),
            study,
            speaker_change: (self.trials.zip(changes))
                .map(|(trials, (before, after))| trials.change(before, after)),
            speaker,
        }
    }

    /// Level of the way, and the pad with which it is right.
    fn level(&self, chosen: &PadColumn, target: &PadTarget) -> Option<LevelOff> {
        let off_db = self.level_off_db(&chosen.study, chosen.speaker.as_ref())?;
        let right_db = self.right_db(&chosen.study, target, off_db);
        Some(LevelOff { off_db, right_db })
    }

    /// Attenuation of a pad of this kind with which the way has the level of the others, dB.
    fn right_db(&self, study: &Study, target: &PadTarget, mut off_db: f64) -> Option<f64> {
        /// The way's level is taken over a band of its own: a few rounds find it.
        const ROUNDS: usize = 4;
        let (load, feed) = (&self.bench.load, &self.bench.feed);
        if feed.kind != PadSourceKind::Network {
            return Some(study.mean_db + off_db).filter(|right_db| *right_db > 0.0);
        }
        // The filter gives another level to another pad: it is solved anew.
        let mut insertion_db = study.insertion_db;
        let mut right_db = None;
        for _ in 0..ROUNDS {
            insertion_db += off_db;
            let study = ideal_at_driver(load, feed, target, insertion_db)?;
            let speaker = self.speaker(Some(study.pad));
            off_db = self.level_off_db(&study, speaker.as_ref())?;
            right_db = Some(study.mean_db);
        }
        right_db
    }

    /// Level of the way against the loudspeaker, dB, with a pad and these figures of the loudspeaker.
    fn level_off_db(&self, study: &Study, speaker: Option<&LoudspeakerFigures>) -> Option<f64> {
        let job = self.trials?.job();
        let way =
            (job.ways.iter()).position(|way| Some(way.name.as_str()) == self.bench.driver())?;
        let aim_db = job.aim.level.map(|level| level.0);
        match (self.bench.feed.kind, &self.speaker) {
            (PadSourceKind::Network, Some(built)) => {
                let way_db = speaker?.way_level_db[way];
                Some(way_db - aim_db.unwrap_or(built.figures.level_db))
            }
            (PadSourceKind::Textbook, _) if way != job.weakest() => {
                let reference_db = aim_db.unwrap_or(job.ways[job.weakest()].level_db);
                Some(job.ways[way].level_db - study.mean_db - reference_db)
            }
            _ => None,
        }
    }
}

/// What a hotter voice coil does behind a pad and without one.
fn hot_coil(bench: &PadBench<'_>, pad: Pad, rise_k: f64) -> Option<HotPad> {
    let hot = bench.hot(rise_k)?;
    let feed = &bench.feed;
    let sound_db = |load: &PadLoad, pad: Option<Pad>| {
        let driver_db = driver_level_db(pad, load, feed);
        load.mean_over(load.band(), |i| {
            let sound = load.pressure_pa_per_v.as_ref();
            let sound_db = sound.map_or(FLOOR_DB, |sound| level_db(sound.at(i)));
            driver_db[i] + sound_db
        })
    };
    let change_db = |pad| sound_db(&hot, pad) - sound_db(&bench.load, pad);
    Some(HotPad {
        rise_k,
        mean_db: Study::new(pad, &hot, feed).mean_db,
        level_db: change_db(Some(pad)),
        level_without_pad_db: change_db(None),
    })
}

//! What the JSON documents of several commands have in common.
//!
//! A document is a plain struct beside its command, whose fields are the names in the document, in their order.
//! A number that is not finite is written as null.

use std::io;
use std::path::Path;

use indexmap::IndexMap;
use netlist::project::AlignmentPair;
use netlist::quantity::Quantity;
use serde::Serialize;
use solver::goal::{Figures, LoadFigures};
use solver::judge::check::Check;
use solver::search::Job;

/// Something for each name, in the order of the project.
pub(crate) type ByName<T> = IndexMap<String, T>;

/// Writes a document as one line.
pub(crate) fn write(document: &impl Serialize, out: &mut dyn io::Write) -> io::Result<()> {
    writeln!(out, "{}", serde_json::to_string(document)?)
}

/// Name of a file that was written.
pub(crate) fn file_name(path: Option<&Path>) -> Option<String> {
    path.map(|path| path.display().to_string())
}

/// Figures of merit of a loudspeaker.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct FiguresOfMerit {
    level_db: f64,
    flatness: Flatness,
    ways: ByName<WayMatch>,
    crossovers: Vec<CrossoverMatch>,
    load: LeastLoad,
}

/// How far the sum is off the aim.
#[derive(Debug, Clone, Copy, Serialize)]
pub(crate) struct Flatness {
    rms_db: f64,
    max_db: f64,
    max_at_hz: f64,
}

/// How far a way is off its target.
#[derive(Debug, Clone, Copy, Serialize)]
struct WayMatch {
    match_db: f64,
}

/// How far two ways are apart in phase.
#[derive(Debug, Clone, Copy, Serialize)]
struct CrossoverMatch {
    frequency_hz: f64,
    phase_match_deg: f64,
}

/// What the amplifier sees at the least.
#[derive(Debug, Clone, Copy, Serialize)]
pub(crate) struct LeastLoad {
    least_ohm: f64,
    at_hz: f64,
    phase_deg: f64,
    least_epdr_ohm: f64,
}

impl FiguresOfMerit {
    pub(crate) fn new(job: &Job, figures: &Figures, load: &LoadFigures) -> Self {
        let ways = job.ways.iter().zip(&figures.match_db);
        let crossovers = job.crossovers.iter().zip(&figures.crossovers);
        Self {
            level_db: figures.level_db,
            flatness: figures.into(),
            ways: ways
                .map(|(way, &match_db)| (way.name.clone(), WayMatch { match_db }))
                .collect(),
            crossovers: crossovers
                .map(|(crossover, figures)| CrossoverMatch {
                    frequency_hz: crossover.frequency.si(),
                    phase_match_deg: figures.phase_match_deg,
                })
                .collect(),
            load: load.into(),
        }
    }
}

impl From<&Figures> for Flatness {
    fn from(figures: &Figures) -> Self {
        Self {
            rms_db: figures.rms_db,
            max_db: figures.max_db,
            max_at_hz: figures.max_at_hz,
        }
    }
}

impl From<&LoadFigures> for LeastLoad {
    fn from(load: &LoadFigures) -> Self {
        Self {
            least_ohm: load.least_ohm,
            at_hz: load.at_hz,
            phase_deg: load.phase_deg,
            least_epdr_ohm: load.least_epdr_ohm,
        }
    }
}

/// Figures of merit; null or empty where the design cannot be held against what was asked for.
#[derive(Serialize)]
pub(crate) struct CheckedFigures {
    level_db: Option<f64>,
    flatness: Option<Flatness>,
    ways: ByName<CheckedWay>,
    crossovers: Vec<CheckedCrossover>,
}

#[derive(Serialize)]
struct CheckedWay {
    match_db: f64,
    bare_level_db: f64,
}

#[derive(Serialize)]
struct CheckedCrossover {
    frequency_hz: f64,
    phase_match_deg: f64,
    alignment: AlignmentNames,
}

#[derive(Serialize)]
struct AlignmentNames {
    lower: String,
    upper: String,
}

impl CheckedFigures {
    pub(crate) fn new(check: &Check) -> Self {
        let Ok(done) = &check.assessment else {
            return Self {
                level_db: None,
                flatness: None,
                ways: ByName::new(),
                crossovers: Vec::new(),
            };
        };
        let figures = &done.figures;
        let ways = (done.job.ways.iter().zip(&figures.match_db)).map(|(way, &match_db)| {
            let checked = CheckedWay {
                match_db,
                bare_level_db: way.level_db,
            };
            (way.name.clone(), checked)
        });
        let crossovers = done.job.crossovers.iter().zip(&figures.crossovers);
        let crossovers = crossovers.zip(&done.alignments);
        Self {
            level_db: Some(figures.level_db),
            flatness: Some(figures.into()),
            ways: ways.collect(),
            crossovers: crossovers
                .map(|((crossover, figures), &pair)| CheckedCrossover {
                    frequency_hz: crossover.frequency.si(),
                    phase_match_deg: figures.phase_match_deg,
                    alignment: pair.into(),
                })
                .collect(),
        }
    }
}

impl From<AlignmentPair> for AlignmentNames {
    fn from(pair: AlignmentPair) -> Self {
        Self {
            lower: pair.lower.to_string(),
            upper: pair.upper.to_string(),
        }
    }
}

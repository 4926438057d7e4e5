//! The figures that loudspeakers are compared by.

use netlist::project::Project;
use serde::Serialize;

use crate::goal::Figures;
use crate::judge::check::Check;
use crate::search::{CHOICE_WORTH, JOINT_WEIGHTS, Job};

/// A figure of a loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// Error and parts in one number: what they are ordered by.
    Score,
    /// Rms deviation of the sum from the aim, dB.
    Flatness,
    /// Largest deviation of the sum, dB.
    Farthest,
    /// Rms deviation of the sum over the band that all aims have in common, dB; only where they differ.
    CommonFlatness,
    /// The way that is farthest from its target, dB rms.
    Ways,
    /// The crossover whose ways are farthest apart, degrees.
    Phases,
    /// Level, dB SPL; better only where nobody asks for one.
    Level,
    /// Least load, ohm.
    LeastLoad,
    /// Least equivalent peak dissipation resistance, ohm.
    LeastEpdr,
    /// What 95 of 100 builds stay within, ± dB.
    Builds,
    /// Parts of one loudspeaker.
    Parts,
    /// Price of the parts of a pair.
    Price,
    /// Copper in the coils of a pair, kg.
    Copper,
}

/// How a figure shows that one loudspeaker is better than another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum DecidedBy {
    /// By builds drawn at random.
    ByBuilds,
    /// By itself, where it differs by more than this share.
    ByItself(f64),
}

impl Figure {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Figure; 13] = [
        Figure::Flatness,
        Figure::Farthest,
        Figure::CommonFlatness,
        Figure::Ways,
        Figure::Phases,
        Figure::Level,
        Figure::LeastLoad,
        Figure::LeastEpdr,
        Figure::Builds,
        Figure::Parts,
        Figure::Price,
        Figure::Copper,
        Figure::Score,
    ];

    /// Whether more of it is better.
    #[must_use]
    pub fn more_is_better(self) -> bool {
        matches!(self, Figure::Level | Figure::LeastLoad | Figure::LeastEpdr)
    }

    /// Whether it depends on the band of the aim, so that it says nothing where bands differ.
    pub(super) fn of_own_band(self) -> bool {
        matches!(self, Figure::Flatness | Figure::Farthest | Figure::Builds)
    }

    pub(super) fn decided_by(self) -> DecidedBy {
        match self {
            // What 10 000 builds say is itself uncertain by two or three percent.
            Figure::Builds => DecidedBy::ByItself(0.05),
            Figure::Parts => DecidedBy::ByItself(0.0),
            Figure::Price | Figure::Copper => DecidedBy::ByItself(0.01),
            _ => DecidedBy::ByBuilds,
        }
    }
}

/// What is bought for a loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bill {
    /// Parts of one, drivers not counted.
    pub parts: usize,
    /// Price of a pair; `None` where a part has none.
    pub price_of_pair: Option<f64>,
    /// Copper in the coils of a pair, kg.
    pub copper_of_pair_kg: f64,
}

/// A loudspeaker to be compared.
#[derive(Debug, Clone, Copy)]
pub struct Contender<'a> {
    /// The project with its network.
    pub project: &'a Project,
    /// What `check` says of it.
    pub check: &'a Check,
    /// What is bought for it.
    pub bill: Bill,
    /// Whether it keeps what is asked for, see [`Wish::is_asked`](super::Wish::is_asked): one that does comes before
    /// all that do not.
    pub keeps: bool,
}

/// The figures of one loudspeaker, or of one build of it, that tolerance moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ToleranceFigures {
    pub(super) level_db: f64,
    pub(super) rms_db: f64,
    pub(super) max_db: f64,
    pub(super) common_rms_db: Option<f64>,
    pub(super) ways_db: f64,
    pub(super) phases_deg: f64,
    pub(super) least_ohm: f64,
    pub(super) least_epdr_ohm: f64,
    pub(super) score: f64,
}

/// A load that is short by so much of the limit, where it is least, is just not acceptable. The search asks for a mean
/// over all frequencies of a fifth of that: the same where a dip is two fifths of an octave wide.
const LOAD_SHORT: f64 = 0.05;

impl ToleranceFigures {
    pub(super) fn new(
        job: &Job,
        figures: &Figures,
        common_rms_db: Option<f64>,
        [least_ohm, least_epdr_ohm]: [f64; 2],
        parts: usize,
    ) -> Self {
        let phases: Vec<f64> = figures
            .crossovers
            .iter()
            .map(|c| c.phase_match_deg)
            .collect();
        let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
        let rms_db = common_rms_db.unwrap_or(figures.rms_db);
        let short = (1.0 - least_ohm / job.least_load_ohm.max(f64::MIN_POSITIVE)).max(0.0);
        let asked = job.aim.level.is_some();
        let given_away_db = if asked {
            0.0
        } else {
            job.loudest_db() - figures.level_db
        };
        // As the search weighs them; ways and phases in their mean, so that a two-way and a three-way can be
        // held against each other.
        let weights = &JOINT_WEIGHTS;
        let mean_square = |values: &[f64], unit: f64| {
            let sum: f64 = values.iter().map(|value| (value / unit).powi(2)).sum();
            sum / values.len().max(1) as f64
        };
        let score = (rms_db / weights.sum_db).powi(2)
            + mean_square(&figures.match_db, weights.match_db)
            + mean_square(&phases, weights.phase_deg)
            + (short / LOAD_SHORT).powi(2)
            + (given_away_db.max(0.0) / weights.level_db).powi(2)
            + CHOICE_WORTH * parts as f64;
        Self {
            level_db: figures.level_db,
            rms_db: figures.rms_db,
            max_db: figures.max_db,
            common_rms_db,
            ways_db: most(&figures.match_db),
            phases_deg: most(&phases),
            least_ohm,
            least_epdr_ohm,
            score,
        }
    }

    /// A figure that tolerance moves; `None` for others.
    pub(super) fn value(&self, figure: Figure) -> Option<f64> {
        match figure {
            Figure::Score => Some(self.score),
            Figure::Flatness => Some(self.rms_db),
            Figure::Farthest => Some(self.max_db),
            Figure::CommonFlatness => self.common_rms_db,
            Figure::Ways => Some(self.ways_db),
            Figure::Phases => Some(self.phases_deg),
            Figure::Level => Some(self.level_db),
            Figure::LeastLoad => Some(self.least_ohm),
            Figure::LeastEpdr => Some(self.least_epdr_ohm),
            Figure::Builds | Figure::Parts | Figure::Price | Figure::Copper => None,
        }
    }
}

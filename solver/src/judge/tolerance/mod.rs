//! What the tolerance of parts and the spread of drivers do to a loudspeaker: many builds with values
//! drawn at random, and the first-order estimate beside them.
//!
//! # What varies
//!
//! Every part's value within its tolerance (its own, else that of the catalogue's line for its value,
//! else of the stock's series, else what is usual), each piece of a part that is made of several on its
//! own; and the level of every driver, as two samples of one type differ. A coil that stands alone has
//! the resistance of its wire, which follows its inductance as `L^0.6`; other losses stay.
//!
//! # What is looked at
//!
//! The sum over the aim's band. Where the aim leaves the level open, a deviation common to all
//! frequencies is taken out of each build first, as the volume control does: all deviations are those of
//! a build *at its own best level* (least rms), and the spread of that level stands beside them. Two
//! builds side by side differ by it too. Where the aim names a level, nothing is taken out: a build that
//! is too loud is off the aim.
//!
//! - [`Tolerance::low_db`], [`Tolerance::high_db`]: the band in which 95 of 100 builds stay, at each
//!   frequency for itself, relative to the design.
//! - [`Yield::within_db`]: 95 of 100 builds stay within ± this of the design at all frequencies at once.
//! - [`Yield::shares`]: the share of builds within given limits of the design, and of the aim.
//!
//! # Determinism
//!
//! One random stream a build, results in the order of the builds: the same input and seed give the same
//! bits on any number of threads, and a run of fewer builds is the beginning of a longer one.
//!
//! | file | what |
//! |---|---|
//! | `spread` | what varies, by how much |
//! | `draws` | random numbers |
//! | `builds` | the builds |
//! | `first_order` | variance from sensitivities |
//! | `figures` | percentiles, shares, ranking |
//! | `findings` | what the builder must know |

mod builds;
mod draws;
mod figures;
mod findings;
mod first_order;
mod spread;

use std::ops::ControlFlow;

use serde::Serialize;

use self::builds::{Builds, ToleranceBench};
use super::judged_loudspeaker::JudgedLoudspeaker;
use crate::nodal::PlanError;

pub use draws::Distribution;
pub use figures::{Contributor, LoadSpread, Share, Yield};
pub use findings::tolerance_findings;
pub use spread::Amount;
pub(crate) use spread::{Varying, VaryingTarget, varying};

/// Builds below which the band that 95 of 100 stay in is a guess: of so many only one in twenty, five, are
/// outside it.
pub const FEW_BUILDS: usize = 100;
/// Limits that the share of builds is told for, dB.
pub const LIMITS_DB: [f64; 3] = [1.0, 1.5, 2.0];

/// How the builds are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToleranceOptions {
    /// Seed of the random numbers.
    pub seed: u64,
    /// Number of builds, at least 1.
    pub builds: usize,
    /// Spread of each driver's level, ± dB. Samples of one type mostly stay within 1 dB (common
    /// practice).
    pub driver_level_db: f64,
    /// How values are spread within their tolerance.
    pub distribution: Distribution,
}

impl Default for ToleranceOptions {
    fn default() -> Self {
        Self {
            seed: 1,
            builds: 10_000,
            driver_level_db: 1.0,
            distribution: Distribution::default(),
        }
    }
}

/// What tolerance does to a loudspeaker.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tolerance {
    /// Seed of the random numbers.
    pub seed: u64,
    /// Builds that were made: fewer than asked for when interrupted.
    pub builds: usize,
    /// How values are spread within their tolerance.
    pub distribution: Distribution,
    /// Whether each build is held against the design at its own level; where the aim names a level it is
    /// not.
    pub own_level: bool,
    /// Frequencies of the aim's band, Hz.
    pub frequency_hz: Vec<f64>,
    /// 2.5 of 100 builds are lower than this against the design, at each frequency; dB.
    pub low_db: Vec<f64>,
    /// 2.5 of 100 builds are higher than this; dB.
    pub high_db: Vec<f64>,
    /// Standard deviation of the builds at each frequency, dB.
    pub deviation_db: Vec<f64>,
    /// The same to first order in all tolerances, from sensitivities; dB.
    pub first_order_db: Vec<f64>,
    /// Level of a build against the design: 95 of 100 are between these; dB.
    pub level_db: [f64; 2],
    /// Least load of the builds.
    pub load: LoadSpread,
    /// How the builds do.
    pub all: Yield,
    /// The same with drivers that all have the level they should, so that only parts differ; `None`
    /// when interrupted before.
    pub parts_alone: Option<Yield>,
    /// What varies, the one that contributes most first.
    pub contributors: Vec<Contributor>,
    /// What buying the part that contributes most with half its tolerance gains; `None` when
    /// interrupted before, or when no part varies.
    pub tighter: Option<Tighter>,
}

/// What one part of half the tolerance gains, all else and all random numbers the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tighter {
    /// The part.
    pub part: String,
    /// Its tolerance, a share of its value.
    pub from: f64,
    /// Half of it.
    pub to: f64,
    /// How the builds do then.
    pub all: Yield,
    /// How they do with drivers of equal level.
    pub parts_alone: Yield,
}

/// Why there is no result.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ToleranceError {
    /// Interrupted before any build was made.
    #[error("interrupted before the first builds were made")]
    Interrupted,
    /// No frequency of the grid is in the aim's band.
    #[error("none of the frequencies is in the aim's band, {from_hz} Hz to {to_hz} Hz")]
    NoBand {
        /// Lower end of the aim, Hz.
        from_hz: f64,
        /// Upper end of the aim, Hz.
        to_hz: f64,
    },
    /// The spread of the drivers' level is no number from 0 to 20 dB.
    #[error("a driver's level cannot vary by {0} dB; give a number from 0 to 20 dB")]
    DriverLevel(f64),
    /// The network cannot be solved.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

/// Makes the builds of a loudspeaker, on all threads of the current rayon pool.
///
/// `progress` is called from the calling thread now and then with the builds done and those to do in
/// all; when it breaks, what has been made so far is evaluated.
///
/// # Errors
/// See [`ToleranceError`].
pub fn tolerance(
    speaker: &JudgedLoudspeaker,
    options: &ToleranceOptions,
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Tolerance, ToleranceError> {
    let level_db = options.driver_level_db;
    if !(0.0..=20.0).contains(&level_db) {
        return Err(ToleranceError::DriverLevel(level_db));
    }
    let bench = ToleranceBench::new(speaker, options)?;
    let asked = options.builds.max(1);
    let mut runs = Runs {
        bench: &bench,
        asked,
        // All builds, those with equal drivers, and both again with a tighter part.
        to_do: asked * if level_db > 0.0 { 4 } else { 2 },
        before: 0,
        progress,
    };
    let everything = vec![1.0; bench.varying.len()];
    let made = runs.make(&everything)?;
    if made.count() == 0 {
        return Err(ToleranceError::Interrupted);
    }
    let first_order = first_order::variances(&bench)?;
    let contributors = figures::contributors(&bench, &made, &first_order);
    let all = figures::yields(&made);
    // The rest only if nobody interrupted.
    let parts_alone = match made.count() == asked {
        true => runs.parts_alone(&everything, &all)?,
        false => None,
    };
    let tighter = match parts_alone {
        Some(_) => runs.tighter(&contributors)?,
        None => None,
    };
    let [low_db, high_db] = figures::band(&made);
    Ok(Tolerance {
        seed: options.seed,
        builds: made.count(),
        distribution: options.distribution,
        own_level: bench.own_level(),
        frequency_hz: bench.judged_hz(),
        low_db,
        high_db,
        deviation_db: figures::deviations(&made),
        first_order_db: first_order.total_db(),
        level_db: figures::level(&made),
        load: figures::load(&made, bench.nominal_ohm, speaker.least_load_ohm),
        all,
        parts_alone,
        contributors,
        tighter,
    })
}

/// The runs of builds, one after the other.
struct Runs<'a> {
    bench: &'a ToleranceBench<'a>,
    /// Builds of each run.
    asked: usize,
    /// Builds of all runs.
    to_do: usize,
    /// Builds of the runs before.
    before: usize,
    progress: &'a mut dyn FnMut(usize, usize) -> ControlFlow<()>,
}

impl Runs<'_> {
    /// One run with each tolerance times its scale; fewer builds than asked for when interrupted.
    fn make(&mut self, scale: &[f64]) -> Result<Builds, PlanError> {
        let (before, to_do) = (self.before, self.to_do);
        self.before += self.asked;
        let progress = &mut *self.progress;
        self.bench.make(scale, self.asked, &mut |done| {
            progress(before + done, to_do)
        })
    }

    /// How the builds of a run do; `None` when interrupted.
    fn whole(&mut self, scale: &[f64]) -> Result<Option<Yield>, PlanError> {
        let made = self.make(scale)?;
        Ok((made.count() == self.asked).then(|| figures::yields(&made)))
    }

    /// The same with drivers of equal level; `all` when they are equal anyway.
    fn parts_alone(&mut self, scale: &[f64], all: &Yield) -> Result<Option<Yield>, PlanError> {
        let scale: Vec<f64> = (scale.iter().zip(&self.bench.varying))
            .map(|(&scale, varying)| match varying.amount {
                Amount::LevelDb(_) => 0.0,
                Amount::Share(_) => scale,
            })
            .collect();
        if self.bench.options.driver_level_db > 0.0 {
            self.whole(&scale)
        } else {
            Ok(Some(all.clone()))
        }
    }

    /// What half the tolerance gains for the part that contributes most.
    fn tighter(&mut self, contributors: &[Contributor]) -> Result<Option<Tighter>, PlanError> {
        let worst = contributors.iter().find_map(|found| match found.amount {
            Amount::Share(share) if share > 0.0 => Some((&found.name, share)),
            _ => None,
        });
        let Some((part, from)) = worst else {
            return Ok(None);
        };
        let scale: Vec<f64> = (self.bench.varying.iter())
            .map(|varying| match varying.amount {
                Amount::Share(_) if varying.name == *part => 0.5,
                _ => 1.0,
            })
            .collect();
        let Some(all) = self.whole(&scale)? else {
            return Ok(None);
        };
        let parts_alone = self.parts_alone(&scale, &all)?;
        Ok(parts_alone.map(|parts_alone| Tighter {
            part: part.clone(),
            from,
            to: 0.5 * from,
            all,
            parts_alone,
        }))
    }
}

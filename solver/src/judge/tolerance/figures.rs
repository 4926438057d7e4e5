//! From builds to figures: bands, shares, ranking.

use rayon::prelude::*;
use serde::Serialize;

use super::LIMITS_DB;
use super::builds::{Build, Builds, ToleranceBench};
use super::first_order::FirstOrder;
use super::spread::Amount;
use crate::stock::Origin;

/// Share of builds that a band leaves out at each side.
const TAIL: f64 = 0.025;

/// How well builds keep to the design and to the aim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Yield {
    /// 95 of 100 builds stay within ± this of the design at all frequencies of the aim's band, dB.
    pub within_db: f64,
    /// 95 of 100 builds stay within ± this of the aim, dB.
    pub within_of_aim_db: f64,
    /// Share of builds within each of [`LIMITS_DB`].
    pub shares: Vec<Share>,
}

/// Share of builds within a limit at all frequencies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// The limit, ± dB.
    pub limit_db: f64,
    /// Share of builds, 0 to 1, within it of the design.
    pub of_design: f64,
    /// Share within it of the aim.
    pub of_aim: f64,
}

/// Least |Z| of the builds over the grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LoadSpread {
    /// The design's own, ohm.
    pub nominal_ohm: f64,
    /// The lowest of all builds, ohm.
    pub lowest_ohm: f64,
    /// 2.5 of 100 builds are below, ohm.
    pub low_ohm: f64,
    /// Half of the builds are below, ohm.
    pub median_ohm: f64,
    /// 2.5 of 100 builds are above, ohm.
    pub high_ohm: f64,
    /// Share of builds below the least load asked for; `None` where no load is asked for.
    pub below_limit: Option<f64>,
}

/// What one thing contributes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contributor {
    /// Name of the part, or of the driver.
    pub name: String,
    /// How much it varies.
    pub amount: Amount,
    /// Where that is from.
    pub origin: Origin,
    /// Its share of the variance of the builds, 0 to 1, in the mean over the aim's band: the part of
    /// their deviation that goes with its own.
    pub share: f64,
    /// The same to first order, from sensitivities.
    pub first_order: f64,
}

/// The value below which `share` of the values are: the nearest rank.
fn percentile(values: &mut [f64], share: f64) -> f64 {
    let rank = (share * (values.len() - 1) as f64).round() as usize;
    *values.select_nth_unstable_by(rank, f64::total_cmp).1
}

fn each(builds: &Builds, figure: impl Fn(&Build) -> f64) -> Vec<f64> {
    builds.figures.iter().map(figure).collect()
}

fn share_of(builds: &Builds, holds: impl Fn(&Build) -> bool) -> f64 {
    builds.figures.iter().filter(|build| holds(build)).count() as f64 / builds.count() as f64
}

pub(super) fn yields(builds: &Builds) -> Yield {
    Yield {
        within_db: percentile(&mut each(builds, |b| b.off_design_db), 1.0 - 2.0 * TAIL),
        within_of_aim_db: percentile(&mut each(builds, |b| b.off_aim_db), 1.0 - 2.0 * TAIL),
        shares: LIMITS_DB
            .map(|limit_db| Share {
                limit_db,
                of_design: share_of(builds, |b| b.off_design_db <= limit_db),
                of_aim: share_of(builds, |b| b.off_aim_db <= limit_db),
            })
            .to_vec(),
    }
}

pub(super) fn load(builds: &Builds, nominal_ohm: f64, least_load_ohm: Option<f64>) -> LoadSpread {
    let mut ohm = each(builds, |b| b.least_ohm);
    LoadSpread {
        nominal_ohm,
        lowest_ohm: percentile(&mut ohm, 0.0),
        low_ohm: percentile(&mut ohm, TAIL),
        median_ohm: percentile(&mut ohm, 0.5),
        high_ohm: percentile(&mut ohm, 1.0 - TAIL),
        below_limit: least_load_ohm.map(|limit| share_of(builds, |b| b.least_ohm < limit)),
    }
}

pub(super) fn level(builds: &Builds) -> [f64; 2] {
    let mut level = each(builds, |b| b.level_db);
    [TAIL, 1.0 - TAIL].map(|share| percentile(&mut level, share))
}

/// The deviations of all builds, frequency by frequency, each as `of` sees them.
fn by_frequency<T: Send>(builds: &Builds, of: impl Fn(&mut [f64]) -> T + Sync) -> Vec<T> {
    let columns = builds.rows.len() / builds.count();
    (0..columns)
        .into_par_iter()
        .map_init(
            || vec![0.0; builds.count()],
            |column, i| {
                for (value, row) in column.iter_mut().zip(builds.rows.chunks(columns)) {
                    *value = row[i];
                }
                of(column)
            },
        )
        .collect()
}

/// The band in which 95 of 100 builds stay at each frequency: lower limits, upper limits; dB.
pub(super) fn band(builds: &Builds) -> [Vec<f64>; 2] {
    let limits = by_frequency(builds, |column| {
        [TAIL, 1.0 - TAIL].map(|share| percentile(column, share))
    });
    [0, 1].map(|end| limits.iter().map(|limits| limits[end]).collect())
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn variance(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64
}

/// Standard deviation of the builds at each frequency, dB.
pub(super) fn deviations(builds: &Builds) -> Vec<f64> {
    by_frequency(builds, |column| variance(column).sqrt())
}

/// What contributes how much, the most first; equals stay in their order.
///
/// What varies is independent, so that the part of the builds' variance that goes with one thing is
/// `cov(thing, deviation)² / var(thing)`, and these parts add up to all of it as far as the deviation is
/// linear in the things.
pub(super) fn contributors(
    bench: &ToleranceBench<'_>,
    builds: &Builds,
    first_order: &FirstOrder,
) -> Vec<Contributor> {
    let things = bench.varying.len();
    let drawn: Vec<Vec<f64>> = (0..things)
        .map(|k| {
            let values: Vec<f64> = builds.drawn.chunks(things).map(|drawn| drawn[k]).collect();
            let mean = mean(&values);
            values.iter().map(|v| v - mean).collect()
        })
        .collect();
    let spreads: Vec<f64> = drawn.iter().map(|drawn| variance(drawn)).collect();
    let count = builds.count() as f64;
    // Of each frequency: variance of the builds, and what of it goes with each thing.
    let explained = by_frequency(builds, |column| {
        let parts: Vec<f64> = (drawn.iter().zip(&spreads))
            .map(|(drawn, &spread)| {
                let covariance =
                    drawn.iter().zip(&*column).map(|(d, c)| d * c).sum::<f64>() / count;
                if spread > 0.0 {
                    covariance * covariance / spread
                } else {
                    0.0
                }
            })
            .collect();
        (variance(column), parts)
    });
    let whole: f64 = explained.iter().map(|(whole, _)| whole).sum();
    let first_order = first_order.means();
    let first_order_whole: f64 = first_order.iter().sum();
    let share = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
    let mut list: Vec<Contributor> = (bench.varying.iter().enumerate())
        .map(|(k, varying)| {
            let part: f64 = explained.iter().map(|(_, parts)| parts[k]).sum();
            Contributor {
                name: varying.name.clone(),
                amount: varying.amount,
                origin: varying.origin,
                share: share(part, whole),
                first_order: share(first_order[k], first_order_whole),
            }
        })
        .collect();
    list.sort_by(|a, b| b.share.total_cmp(&a.share));
    list
}

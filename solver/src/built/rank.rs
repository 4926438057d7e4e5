//! From the measurement to an order of hypotheses: screened all, fitted those that can be, weighed
//! against each other.

use rayon::prelude::*;

use super::assembly::Assembly;
use super::bench::{Bench, SweepGrid};
use super::evidence::ln_likelihood;
use super::fit::{BuiltFit, fit, residuals, rows};
use super::hypothesis::{BuiltChange, MistakeKind, PRIOR_AS_DESIGNED, prior};
use super::named;
use super::screen::Screen;
use crate::nodal::PlanError;

/// Points at which all mistakes are screened.
const SCREEN_POINTS: usize = 120;
/// Hypotheses that are fitted to these points, and of those to all points.
const FITTED: usize = 56;
const FITTED_TO_ALL: usize = 24;
/// Screening is to first order in what may differ: it must not be too sure. Least noise, a share.
const SCREEN_NOISE: f64 = 0.03;
/// Curves nearer than this are one: the share of the impedance, everywhere.
const SAME_CURVE: f64 = 1e-3;
/// Hypotheses that fit as well as the first, by a factor of 20 in likelihood, cannot be told from it.
pub(super) const SAME_LN: f64 = 3.0;
/// Deviation of what is no loudspeaker of this design, alike within a third of an octave.
const ELSE_DEVIATION: f64 = 0.2;
/// Its prior, on the scale of the mistakes.
const ELSE_PRIOR: f64 = 1.0;
/// Squares above those of the noise by this factor are not explained.
const UNEXPLAINED: f64 = 1.6;
/// First mistakes to which a second is sought.
const FIRSTS: usize = 4;

/// A hypothesis that was fitted, or has the curve of one that was.
#[derive(Debug, Clone)]
pub(super) struct RankedBuild {
    pub(super) changes: Vec<BuiltChange>,
    pub(super) ln_prior: f64,
    pub(super) ln_likelihood: f64,
    /// How well it fits at its best.
    pub(super) ln_fit: f64,
    /// Its fit, among all of them.
    pub(super) fit: usize,
    pub(super) share: f64,
}

/// All candidates, the likeliest first; without changes that is the build as drawn.
#[derive(Debug, Clone)]
pub(super) struct Ranking {
    pub(super) candidates: Vec<RankedBuild>,
    pub(super) fits: Vec<BuiltFit>,
    /// Share of what is none of them.
    pub(super) something_else: f64,
    pub(super) noise: f64,
    /// Squares of the best fit over those of the noise.
    pub(super) reduced: f64,
}

/// A change that was screened.
struct Screened {
    changes: Vec<BuiltChange>,
    ln_likelihood: f64,
    ln_prior: f64,
    /// ln |Z| and phase over the screen's points.
    curve: Vec<f64>,
    /// Others with this curve.
    twins: Vec<(Vec<BuiltChange>, f64)>,
}

/// Ranks all single mistakes, and two where one does not explain the measurement.
pub(super) fn rank(bench: &Bench) -> Result<Ranking, PlanError> {
    let drawn = Assembly::new(bench, &[])?;
    let (none, sigma) = (vec![0.0; bench.drift.len()], bench.sigmas());
    let off: Vec<Vec<f64>> = (bench.sets.iter())
        .filter_map(|set| Some(residuals(set, &drawn.curve(bench, set, &none, &sigma)?)))
        .collect();
    let noise = bench.noise(&off);
    let thinned: Vec<SweepGrid> = (bench.sets.iter())
        .map(|set| set.thinned(set.grid.len().div_ceil(SCREEN_POINTS)))
        .collect();
    let screen = Screen::new(bench, thinned.clone())?;
    let mut changes: Vec<Vec<BuiltChange>> = vec![Vec::new()];
    changes.extend(bench.all_single().into_iter().map(|change| vec![change]));
    let screened = screened(&screen, bench, changes, noise);
    let mut ranking = fitted(bench, &thinned, screened, noise);
    if ranking.reduced > UNEXPLAINED {
        let pairs = pairs(bench, &ranking);
        let screened = self::screened(&screen, bench, pairs, noise);
        let more = fitted(bench, &thinned, screened, ranking.noise);
        ranking = joined(bench, ranking, more);
    }
    Ok(ranking)
}

/// Screens changes; those with one curve are put together, of the values of a part the best are kept.
fn screened(
    screen: &Screen<'_>,
    bench: &Bench,
    changes: Vec<Vec<BuiltChange>>,
    noise: f64,
) -> Vec<Screened> {
    let weights: Vec<f64> = (screen.sets.iter())
        .flat_map(|prepared| prepared.set.weights(noise.max(SCREEN_NOISE)))
        .collect();
    let mut list: Vec<Screened> = changes
        .into_par_iter()
        .filter_map(|changes| {
            let curves = screen.curves(&changes)?;
            let size = bench.drift.len();
            let (mut slopes, mut off, mut curve) = (Vec::new(), Vec::new(), Vec::new());
            for (prepared, found) in screen.sets.iter().zip(&curves) {
                slopes.extend(rows(&prepared.set, found));
                off.extend(residuals(&prepared.set, found));
                curve.extend(found.ln_z.iter().map(|ln_z| ln_z.re));
                if prepared.set.phase.is_some() {
                    curve.extend(found.ln_z.iter().map(|ln_z| ln_z.im));
                }
            }
            let ln_likelihood = ln_likelihood(size, &slopes, &off, &weights)?;
            Some(Screened {
                ln_prior: ln_prior(bench, &changes),
                changes,
                ln_likelihood,
                curve,
                twins: Vec::new(),
            })
        })
        .collect();
    list = best_values(list);
    // The likeliest first; equals keep their order.
    list.sort_by(|a, b| b.score().total_cmp(&a.score()));
    let mut kept: Vec<Screened> = Vec::new();
    for next in list {
        let twin = kept.iter().position(|known| {
            !is_open(&next.changes)
                && !is_open(&known.changes)
                && (known.ln_likelihood - next.ln_likelihood).abs() < 1.0
                && known.is_like(&next)
        });
        match twin {
            Some(known) => kept[known].twins.push((next.changes, next.ln_prior)),
            None if kept.len() < FITTED => kept.push(next),
            None => {}
        }
    }
    kept
}

impl Screened {
    fn score(&self) -> f64 {
        // The build as drawn is always fitted.
        match self.changes.is_empty() {
            true => f64::INFINITY,
            false => self.ln_likelihood + self.ln_prior,
        }
    }

    fn is_like(&self, other: &Screened) -> bool {
        let mut pairs = self.curve.iter().zip(&other.curve);
        pairs.all(|(a, b)| (a - b).abs() < SAME_CURVE)
    }
}

fn is_open(changes: &[BuiltChange]) -> bool {
    changes.iter().any(|change| change.number().is_some())
}

/// Logarithm of the prior of changes, against 100 for none.
pub(super) fn ln_prior(bench: &Bench, changes: &[BuiltChange]) -> f64 {
    let none = PRIOR_AS_DESIGNED.ln();
    let each = |change: &BuiltChange| prior(*change, &bench.network).ln() - none;
    none + changes.iter().map(each).sum::<f64>()
}

/// Of the numbers tried for one part only those from which a fit may begin: peaks of the likelihood.
fn best_values(list: Vec<Screened>) -> Vec<Screened> {
    const STARTS: usize = 2;
    let (open, mut kept): (Vec<_>, Vec<_>) = list
        .into_iter()
        .partition(|screened| is_open(&screened.changes));
    let key = |screened: &Screened| -> Vec<(usize, Option<MistakeKind>)> {
        let one =
            |change: &BuiltChange| (change.parts()[0], change.number().map(|_| change.kind()));
        screened.changes.iter().map(one).collect()
    };
    let number = |screened: &Screened| -> f64 {
        let last = screened.changes.last();
        last.and_then(|change| change.number()).unwrap_or(0.0)
    };
    let mut groups: Vec<Vec<Screened>> = Vec::new();
    for screened in open {
        match groups
            .iter_mut()
            .find(|group| key(&group[0]) == key(&screened))
        {
            Some(group) => group.push(screened),
            None => groups.push(vec![screened]),
        }
    }
    for mut group in groups {
        group.sort_by(|a, b| number(a).total_cmp(&number(b)));
        let height = |i: usize| group[i].ln_likelihood;
        let mut peaks: Vec<usize> = (0..group.len())
            .filter(|&i| {
                (i == 0 || height(i) >= height(i - 1))
                    && (i + 1 == group.len() || height(i) > height(i + 1))
            })
            .collect();
        peaks.sort_by(|&a, &b| height(b).total_cmp(&height(a)));
        peaks.truncate(STARTS);
        for (i, screened) in group.into_iter().enumerate() {
            if peaks.contains(&i) {
                kept.push(screened);
            }
        }
    }
    kept
}

/// Fits what was screened, first to the screen's points, the best to all.
fn fitted(bench: &Bench, thinned: &[SweepGrid], screened: Vec<Screened>, noise: f64) -> Ranking {
    let mut first: Vec<(BuiltFit, Screened)> = screened
        .into_par_iter()
        .filter_map(|screened| {
            Some((
                fit(bench, thinned, &screened.changes, noise, None)?,
                screened,
            ))
        })
        .collect();
    let posterior = |fit: &BuiltFit, screened: &Screened| {
        let drawn = screened.changes.is_empty();
        if drawn {
            f64::INFINITY
        } else {
            fit.ln_likelihood + screened.ln_prior
        }
    };
    first.sort_by(|a, b| posterior(&b.0, &b.1).total_cmp(&posterior(&a.0, &a.1)));
    first.truncate(FITTED_TO_ALL);
    let mut noise = noise;
    let mut both: Vec<(BuiltFit, Screened)> = all_points(bench, first, noise);
    // Now the noise is known better: what is left of the best fit is little else.
    let best = both.iter().max_by(|a, b| {
        let value = |pair: &(BuiltFit, Screened)| pair.0.ln_likelihood + pair.1.ln_prior;
        value(a).total_cmp(&value(b))
    });
    let known = best.map_or(noise, |(fit, _)| bench.noise(&fit.residuals));
    if (known / noise).ln().abs() > 0.15 {
        noise = known;
        both = all_points(bench, both, noise);
    }
    let mut candidates = Vec::new();
    let mut fits = Vec::new();
    for (fit, screened) in both {
        let number = fits.len();
        let candidate = |changes: Vec<BuiltChange>, ln_prior: f64| RankedBuild {
            changes,
            ln_prior,
            ln_likelihood: fit.ln_likelihood,
            ln_fit: fit.ln_fit,
            fit: number,
            share: 0.0,
        };
        candidates.push(candidate(fit.changes.clone(), screened.ln_prior));
        candidates.extend(
            screened
                .twins
                .into_iter()
                .map(|(changes, prior)| candidate(changes, prior)),
        );
        fits.push(fit);
    }
    weighed(bench, candidates, fits, noise)
}

fn all_points(
    bench: &Bench,
    list: Vec<(BuiltFit, Screened)>,
    noise: f64,
) -> Vec<(BuiltFit, Screened)> {
    list.into_par_iter()
        .filter_map(|(known, screened)| {
            // A number is fitted about the start from which it was found, so that `u` stays what it was.
            let found = fit(bench, &bench.sets, &screened.changes, noise, Some(&known.u))?;
            Some((found, screened))
        })
        .collect()
}

/// Weighs candidates against each other, and against what is none of them.
fn weighed(
    bench: &Bench,
    mut candidates: Vec<RankedBuild>,
    fits: Vec<BuiltFit>,
    noise: f64,
) -> Ranking {
    let posterior = |candidate: &RankedBuild| candidate.ln_likelihood + candidate.ln_prior;
    candidates.sort_by(|a, b| posterior(b).total_cmp(&posterior(a)));
    let mut seen: Vec<Vec<BuiltChange>> = Vec::new();
    candidates.retain(|candidate| {
        let known = seen
            .iter()
            .any(|known| is_same_mistake(bench, known, &candidate.changes));
        seen.push(candidate.changes.clone());
        !known
    });
    let (expected, ln_else) = something_else(bench, noise);
    let best = candidates.first().map_or(0, |candidate| candidate.fit);
    let reduced = fits
        .get(best)
        .map_or(f64::INFINITY, |fit| fit.squares / expected);
    let sharpness = 1.0 / reduced.max(1.0);
    let top = candidates.first().map_or(ln_else, posterior).max(ln_else);
    let weight = |ln: f64| ((ln - top) * sharpness).exp();
    let all: f64 = candidates.iter().map(|c| weight(posterior(c))).sum::<f64>() + weight(ln_else);
    for candidate in &mut candidates {
        candidate.share = weight(posterior(candidate)) / all;
    }
    Ranking {
        something_else: weight(ln_else) / all,
        candidates,
        fits,
        noise,
        reduced,
    }
}

/// One mistake found from two starts.
fn is_same_mistake(bench: &Bench, one: &[BuiltChange], other: &[BuiltChange]) -> bool {
    let near = |change: BuiltChange, other: BuiltChange| {
        let close = named::off_drawn(bench, change) - named::off_drawn(bench, other);
        close.abs() < 0.1
    };
    one.len() == other.len()
        && one.iter().zip(other).all(|(a, b)| match a.number() {
            Some(_) => a.kind() == b.kind() && a.parts() == b.parts() && near(*a, *b),
            None => a == b,
        })
}

/// Squares that noise alone would give, and the logarithm of the likelihood of a loudspeaker that is not
/// this one: off by [`ELSE_DEVIATION`], alike within a third of an octave; its prior included.
fn something_else(bench: &Bench, noise: f64) -> (f64, f64) {
    let (mut expected, mut ln) = (0.0, ELSE_PRIOR.ln());
    for set in &bench.sets {
        let weights = set.weights(noise);
        let points = set.ln_ohm.len();
        for (row, weight) in weights.iter().enumerate() {
            let alike = set.dense[row % points].max(1.0);
            expected += weight * noise * noise;
            ln -= 0.5 * (1.0 + alike * ELSE_DEVIATION * ELSE_DEVIATION * weight).ln() / alike;
        }
    }
    (expected, ln - 0.5 * expected)
}

/// A second mistake beside each of the likeliest first ones.
fn pairs(bench: &Bench, ranking: &Ranking) -> Vec<Vec<BuiltChange>> {
    let mut firsts: Vec<&RankedBuild> = Vec::new();
    for candidate in ranking.candidates.iter().filter(|c| c.changes.len() == 1) {
        if firsts.len() < FIRSTS && firsts.iter().all(|first| first.fit != candidate.fit) {
            firsts.push(candidate);
        }
    }
    let seconds: Vec<BuiltChange> = (bench.all_single().into_iter())
        .filter(|change| !matches!(change, BuiltChange::Move(..)))
        .collect();
    let mut list = Vec::new();
    for first in firsts {
        for second in &seconds {
            let own = first.changes[0].parts();
            let apart = second.parts().iter().all(|part| !own.contains(part));
            if apart {
                list.push(vec![first.changes[0], *second]);
            }
        }
    }
    list
}

/// Two rankings as one.
fn joined(bench: &Bench, one: Ranking, other: Ranking) -> Ranking {
    let shift = one.fits.len();
    let noise = one.noise;
    let mut candidates = one.candidates;
    let mut fits = one.fits;
    fits.extend(other.fits);
    candidates.extend(other.candidates.into_iter().map(|mut candidate| {
        candidate.fit += shift;
        candidate
    }));
    weighed(bench, candidates, fits, noise)
}

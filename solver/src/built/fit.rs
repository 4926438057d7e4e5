//! One hypothesis fitted to the measurement: all that may differ, and the value that it leaves open.
//!
//! Gauss–Newton on `½ rᵀW r + ½ uᵀu`, each step halved until it gets better, each step solved anew;
//! then the integral over everything that was fitted after Laplace: `ln p = −Φ(û) − ½ ln det A`.

use super::assembly::{Assembly, AssemblyCurve};
use super::bench::{Bench, SweepGrid};
use super::evidence::{Normal, Solved};
use super::hypothesis::BuiltChange;
use super::named;

/// Deviation of what is left open, over its logarithm: wide enough not to matter.
const WIDE: f64 = 2.0;
/// Most that an open value moves in one step, over its logarithm.
const MOST_STEP: f64 = 0.3;
/// Steps at most.
const MOST_STEPS: usize = 14;
/// A step that gains less than this ends the search.
const LEAST_GAIN: f64 = 0.02;
/// Times that a step is halved.
const HALVINGS: usize = 5;

/// A hypothesis fitted.
#[derive(Debug, Clone)]
pub(super) struct BuiltFit {
    /// The changes, with the numbers that were found.
    pub(super) changes: Vec<BuiltChange>,
    /// The changes, with the numbers that `u` is about.
    pub(super) start: Vec<BuiltChange>,
    /// Everything that may differ, in its deviations.
    pub(super) u: Vec<f64>,
    /// Deviations used.
    pub(super) sigma: Vec<f64>,
    /// Logarithm of the likelihood, all that was fitted integrated out; without the prior of the kind.
    pub(super) ln_likelihood: f64,
    /// `−Φ(û)`: how well it fits, whatever the prior says of the number that was found.
    pub(super) ln_fit: f64,
    /// `rᵀW r`
    pub(super) squares: f64,
    /// Residuals, set by set: logarithms of the magnitude, then phases.
    pub(super) residuals: Vec<Vec<f64>>,
    /// Fitted ln Z with its slopes, set by set.
    pub(super) curves: Vec<AssemblyCurve>,
}

/// Residuals of a curve against a set.
pub(super) fn residuals(set: &SweepGrid, curve: &AssemblyCurve) -> Vec<f64> {
    let magnitudes = (set.ln_ohm.iter().zip(&curve.ln_z)).map(|(y, ln_z)| y - ln_z.re);
    let phases = set
        .phase
        .iter()
        .flatten()
        .zip(&curve.ln_z)
        .map(|(y, ln_z)| {
            let off = y - ln_z.im;
            off - std::f64::consts::TAU * (off / std::f64::consts::TAU).round()
        });
    magnitudes.chain(phases).collect()
}

/// Slopes of the rows of a set, row by row.
pub(super) fn rows(set: &SweepGrid, curve: &AssemblyCurve) -> Vec<f64> {
    let mut rows: Vec<f64> = curve.slopes.iter().map(|slope| slope.re).collect();
    if set.phase.is_some() {
        rows.extend(curve.slopes.iter().map(|slope| slope.im));
    }
    rows
}

/// What is left open by each change: place of its parameter.
fn open_parameters(bench: &Bench, changes: &[BuiltChange]) -> Vec<(usize, usize)> {
    (changes.iter().enumerate())
        .filter_map(|(which, change)| {
            let place = match *change {
                BuiltChange::Value(part, _) => bench.place_of[part][0],
                BuiltChange::Loss(part, _) => bench.place_of[part][1],
                BuiltChange::Impedance(part, _) => {
                    bench.driver_of[part].map(|driver| bench.first_of_driver[driver])
                }
                BuiltChange::Tuning(part, _) => bench.driver_of[part].and_then(|driver| {
                    Some(bench.first_of_driver[driver] + bench.models[driver].tuning()?)
                }),
                _ => None,
            };
            Some((which, place?))
        })
        .collect()
}

struct BuiltProblem<'a> {
    bench: &'a Bench,
    sets: &'a [SweepGrid],
    assembly: Assembly,
    sigma: Vec<f64>,
    weights: Vec<Vec<f64>>,
}

struct At {
    curves: Vec<AssemblyCurve>,
    residuals: Vec<Vec<f64>>,
    squares: f64,
    cost: f64,
}

impl BuiltProblem<'_> {
    fn at(&self, u: &[f64]) -> Option<At> {
        let curves: Vec<AssemblyCurve> = (self.sets.iter())
            .map(|set| self.assembly.curve(self.bench, set, u, &self.sigma))
            .collect::<Option<_>>()?;
        let residuals: Vec<Vec<f64>> = (self.sets.iter().zip(&curves))
            .map(|(set, curve)| residuals(set, curve))
            .collect();
        let squares = (residuals.iter().flatten())
            .zip(self.weights.iter().flatten())
            .map(|(r, w)| w * r * r)
            .sum::<f64>();
        let cost = 0.5 * (squares + u.iter().map(|u| u * u).sum::<f64>());
        cost.is_finite().then_some(At {
            curves,
            residuals,
            squares,
            cost,
        })
    }

    fn solve(&self, at: &At, u: &[f64]) -> Option<Solved> {
        let rows: Vec<f64> = (self.sets.iter().zip(&at.curves))
            .flat_map(|(set, curve)| rows(set, curve))
            .collect();
        let residuals = at.residuals.concat();
        let weights = self.weights.concat();
        Normal::new(u.len(), &rows, &residuals, &weights)
            .about(u)
            .solve()
    }
}

/// Fits a hypothesis to sets for noise of that share, from `start`. `None` where it is no network, or
/// where what it leaves open comes out as drawn.
pub(super) fn fit(
    bench: &Bench,
    sets: &[SweepGrid],
    changes: &[BuiltChange],
    noise: f64,
    start: Option<&[f64]>,
) -> Option<BuiltFit> {
    let open = open_parameters(bench, changes);
    let mut sigma = bench.sigmas();
    for &(_, place) in &open {
        sigma[place] = WIDE;
    }
    let problem = BuiltProblem {
        bench,
        sets,
        assembly: Assembly::new(bench, changes).ok()?,
        sigma,
        weights: sets.iter().map(|set| set.weights(noise)).collect(),
    };
    let mut u = start.map_or(vec![0.0; bench.drift.len()], <[f64]>::to_vec);
    let mut here = problem.at(&u)?;
    let mut solved = problem.solve(&here, &u)?;
    for _ in 0..MOST_STEPS {
        let widest = (open.iter())
            .map(|&(_, place)| (WIDE * solved.u[place]).abs())
            .fold(0.0, f64::max);
        let mut step = (MOST_STEP / widest.max(MOST_STEP)).min(1.0);
        let mut better = None;
        for _ in 0..HALVINGS {
            let tried: Vec<f64> = u
                .iter()
                .zip(&solved.u)
                .map(|(u, du)| u + step * du)
                .collect();
            if let Some(at) = problem.at(&tried).filter(|at| at.cost < here.cost) {
                better = Some((tried, at));
                break;
            }
            step *= 0.5;
        }
        let Some((tried, at)) = better else { break };
        let gain = here.cost - at.cost;
        (u, here) = (tried, at);
        solved = problem.solve(&here, &u)?;
        if gain < LEAST_GAIN {
            break;
        }
    }
    let mut ln_likelihood = -here.cost - 0.5 * solved.ln_det;
    let mut found = changes.to_vec();
    for &(which, place) in &open {
        found[which] = changes[which].times((WIDE * u[place]).exp());
        let deviation = WIDE * solved.variance(place).sqrt();
        let wide = -0.5 * u[place] * u[place] - (WIDE * (std::f64::consts::TAU).sqrt()).ln();
        let off = named::off_drawn(bench, found[which]);
        ln_likelihood += named::ln_density(bench, found[which], off, deviation)? - wide;
    }
    ln_likelihood.is_finite().then_some(BuiltFit {
        changes: found,
        start: changes.to_vec(),
        u,
        sigma: problem.sigma,
        ln_likelihood,
        ln_fit: -here.cost,
        squares: here.squares,
        residuals: here.residuals,
        curves: here.curves,
    })
}

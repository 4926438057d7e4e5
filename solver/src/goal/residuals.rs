//! The terms of the goal as residuals, and how each moves with every part value.
//!
//! A residual is, to first order, the real part of a weighted sum of the voltages at the drivers
//! and of the admittance at `in`. So its derivatives are one complex coefficient for each of these
//! times their sensitivities: the coefficients are worked out once a point, and a variable's column
//! is then a few multiplications a frequency.

use std::ops::Range;

use num_complex::Complex64;

use super::objective::{DB_PER_NEPER, Objective, Variable, Weights};
use super::target::Targets;
use crate::nodal::Sensitivities;
use crate::search::least_squares::Residuals;
use crate::sound::level_db;
use crate::spectrum::Spectrum;

/// What a residual is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum About {
    /// Level of a way against its target.
    Way(usize),
    /// Level of the sum against the aim.
    Sum,
    /// Phase between the ways at a crossover.
    Phase(usize),
    /// Load below the least allowed.
    Load,
    /// Level given away; one residual, whatever the frequency.
    Level,
}

impl About {
    /// Ways whose voltages it looks at, of `all`.
    fn ways(self, all: usize) -> Range<usize> {
        match self {
            About::Way(way) => way..way + 1,
            About::Sum => 0..all,
            About::Phase(crossover) => crossover..crossover + 2,
            About::Load | About::Level => 0..0,
        }
    }
}

/// Residuals of one kind at neighbouring frequencies.
#[derive(Debug, Clone)]
struct Term {
    about: About,
    /// First frequency.
    first: usize,
    /// Residual for one unit of deviation, one a frequency; 0 where it is not looked at.
    scale: Vec<f64>,
    /// Place of its first residual.
    at: usize,
}

/// All residuals in order.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    list: Vec<Term>,
    count: usize,
}

impl Terms {
    pub(super) fn new(
        targets: &Targets,
        weights: &Weights,
        points: usize,
        free_level: bool,
    ) -> Self {
        let mut terms = Self {
            list: Vec::new(),
            count: 0,
        };
        let mean_square = |counts: &[bool], acceptable: f64| -> Vec<f64> {
            let count = counts.iter().filter(|&&c| c).count().max(1) as f64;
            let scale = 1.0 / (count.sqrt() * acceptable);
            let scaled = counts.iter().map(|&c| if c { scale } else { 0.0 });
            scaled.collect()
        };
        for (way, target) in targets.ways.iter().enumerate() {
            let total: f64 = target.weight.iter().sum();
            let scaled = (target.weight.iter()).map(|w| (w / total).sqrt() / weights.match_db);
            terms.push(About::Way(way), &scaled.collect::<Vec<f64>>());
        }
        // An infinite weight leaves a term out: all its scales are 0.
        terms.push(About::Sum, &mean_square(&targets.judged, weights.sum_db));
        for (crossover, near) in targets.near_crossover.iter().enumerate() {
            let scale = mean_square(near, weights.phase_deg);
            terms.push(About::Phase(crossover), &scale);
        }
        if free_level {
            terms.push(About::Level, &[1.0 / weights.level_db]);
        }
        terms.push(About::Load, &mean_square(&vec![true; points], weights.load));
        terms
    }

    /// Takes the frequencies from the first that counts to the last.
    fn push(&mut self, about: About, scale: &[f64]) {
        let counts = |s: &f64| *s > 0.0;
        let Some(first) = scale.iter().position(counts) else {
            return;
        };
        let last = scale.iter().rposition(counts).expect("there is a first");
        let scale = scale[first..=last].to_vec();
        let at = self.count;
        self.count += scale.len();
        self.list.push(Term {
            about,
            first,
            scale,
            at,
        });
    }
}

/// Coefficients of one term, over its frequencies.
#[derive(Debug, Clone)]
struct TermCoefficients {
    /// Of the voltage at the driver of each way that it looks at.
    voltage: Vec<Spectrum>,
    /// Of what a part gives to all ways through `in`.
    drawn: Spectrum,
}

/// Room for the derivatives.
#[derive(Debug, Clone, Default)]
pub(super) struct Room {
    terms: Vec<TermCoefficients>,
    /// One variable's own sensitivity of a way, and what it gives to all; loss included.
    own: Spectrum,
    drawn: Spectrum,
    inverse_omega: Vec<f64>,
}

impl Room {
    pub(super) fn new(terms: &Terms, ways: usize, omega: &[f64]) -> Self {
        let coefficients = terms.list.iter().map(|term| {
            let zeros = Spectrum::zeros(term.scale.len());
            TermCoefficients {
                voltage: vec![zeros.clone(); term.about.ways(ways).len()],
                drawn: zeros,
            }
        });
        Self {
            terms: coefficients.collect(),
            own: Spectrum::zeros(omega.len()),
            drawn: Spectrum::zeros(omega.len()),
            inverse_omega: omega.iter().map(|omega| omega.recip()).collect(),
        }
    }
}

fn finite(residual: f64) -> f64 {
    if residual.is_finite() { residual } else { 1e6 }
}

impl Objective {
    fn fill_residuals(&self, level_db_aimed: f64, residuals: &mut [f64]) {
        for term in &self.terms.list {
            let out = &mut residuals[term.at..][..term.scale.len()];
            let counted = (out.iter_mut().zip(&term.scale)).zip(term.first..);
            match term.about {
                About::Way(way) => {
                    let target_db = &self.targets.ways[way].level_db;
                    let sound = &self.pressure[way];
                    for ((out, &scale), i) in counted {
                        let off = level_db(sound.at(i)) - level_db_aimed - target_db[i];
                        *out = if scale > 0.0 {
                            finite(scale * off)
                        } else {
                            0.0
                        };
                    }
                }
                About::Sum => {
                    for ((out, &scale), i) in counted {
                        let off =
                            level_db(self.sum_at(i)) - level_db_aimed - self.targets.tilt_db[i];
                        *out = if scale > 0.0 {
                            finite(scale * off)
                        } else {
                            0.0
                        };
                    }
                }
                About::Phase(c) => {
                    for ((out, &scale), i) in counted {
                        let turn = self.pressure[c].at(i) * self.pressure[c + 1].at(i).conj();
                        *out = finite(scale * turn.arg().to_degrees());
                    }
                }
                About::Level => out[0] = term.scale[0] * (self.loudest_db - level_db_aimed),
                About::Load => {
                    let (g, b) = self.solution.input_admittance();
                    for ((out, &scale), i) in counted {
                        // Squares first: few frequencies need the root.
                        let square = self.least_load_ohm.powi(2) * (g[i] * g[i] + b[i] * b[i]);
                        let short = if square > 1.0 {
                            square.sqrt() - 1.0
                        } else {
                            0.0
                        };
                        *out = finite(scale * short);
                    }
                }
            }
        }
    }

    fn sum_at(&self, i: usize) -> Complex64 {
        self.pressure.iter().map(|p| p.at(i)).sum()
    }

    /// Fills the coefficients of a term, its first frequency at 0.
    fn fill_coefficients(&self, term: &Term, out: &mut TermCoefficients) {
        let ways = term.about.ways(self.sound.len());
        let (g, b) = self.solution.input_admittance();
        for (i, (&scale, f)) in term.scale.iter().zip(term.first..).enumerate() {
            if term.about == About::Load {
                let d = Complex64::new(g[f], b[f]);
                let size = d.norm_sqr().sqrt();
                let short = self.least_load_ohm * size > 1.0;
                let v = self.solution.node_at(netlist::network::NodeId::IN, f);
                let by = if short {
                    -scale * self.least_load_ohm * size / (d * v * v)
                } else {
                    Complex64::ZERO
                };
                out.drawn.set(i, by);
                continue;
            }
            let level = scale * DB_PER_NEPER;
            let whole = match term.about {
                About::Sum => level / self.sum_at(f),
                _ => Complex64::ZERO,
            };
            let mut drawn = Complex64::ZERO;
            for (way, out) in ways.clone().zip(&mut out.voltage) {
                let by = match term.about {
                    About::Way(_) => level / self.voltage[way].at(f),
                    About::Sum => whole * self.sound[way].at(f),
                    About::Phase(c) => {
                        let turn = scale * 1f64.to_degrees();
                        let turn = if way == c { -turn } else { turn };
                        Complex64::new(0.0, turn) / self.voltage[way].at(f)
                    }
                    About::Load | About::Level => Complex64::ZERO,
                };
                let (re, im) = self.sensitivities.shared(way);
                drawn += by * Complex64::new(re[f], im[f]);
                out.set(i, by);
            }
            out.drawn.set(i, drawn);
        }
    }
}

/// From a sensitivity to a value alone to that to its logarithm, with the loss that follows it:
/// `value · (1 + loss slope / jω)`, as `∂V/∂r` of a coil is `∂V/∂L / jω`.
#[inline(always)]
fn chain(
    value: f64,
    loss_slope: f64,
    inverse_omega: &[f64],
    (re, im): (&[f64], &[f64]),
    out: &mut Spectrum,
) {
    let points = inverse_omega.len();
    let (re, im) = (&re[..points], &im[..points]);
    let (out_re, out_im) = (&mut out.re[..points], &mut out.im[..points]);
    let turn = -value * loss_slope;
    for i in 0..points {
        let turned = turn * inverse_omega[i];
        out_re[i] = value * re[i] - turned * im[i];
        out_im[i] = value * im[i] + turned * re[i];
    }
}

/// `out += Re(coefficient · slope)`
#[inline(always)]
fn add_real_product(out: &mut [f64], coefficient: &Spectrum, slope: &Spectrum, first: usize) {
    let n = out.len();
    let (a_re, a_im) = (&coefficient.re[..n], &coefficient.im[..n]);
    let (b_re, b_im) = (&slope.re[first..][..n], &slope.im[first..][..n]);
    for i in 0..n {
        out[i] += a_re[i] * b_re[i] - a_im[i] * b_im[i];
    }
}

/// The columns of all part values.
#[multiversion::multiversion(targets("x86_64+avx2"))]
fn fill_columns(objective: &Objective, room: &mut Room, jacobian: &mut [f64]) {
    let Room {
        terms,
        own,
        drawn,
        inverse_omega,
    } = room;
    let sensitivities: &Sensitivities = &objective.sensitivities;
    let ways = objective.sound.len();
    let variables = objective.variables.iter();
    let columns = jacobian.chunks_exact_mut(objective.terms.count);
    for (&Variable { part, law }, column) in variables.zip(columns) {
        let value = objective.values.value[part];
        let loss_slope = law.derivative(value);
        let given = sensitivities.drawn(part);
        chain(value, loss_slope, inverse_omega, given, drawn);
        for (term, coefficients) in objective.terms.list.iter().zip(&*terms) {
            let out = &mut column[term.at..][..term.scale.len()];
            out.fill(0.0);
            add_real_product(out, &coefficients.drawn, drawn, term.first);
        }
        for way in 0..ways {
            let Some(sensitivity) = sensitivities.own(way, part) else {
                continue;
            };
            chain(value, loss_slope, inverse_omega, sensitivity, own);
            for (term, coefficients) in objective.terms.list.iter().zip(&*terms) {
                let looked_at = term.about.ways(ways);
                if looked_at.contains(&way) {
                    let out = &mut column[term.at..][..term.scale.len()];
                    let of_way = &coefficients.voltage[way - looked_at.start];
                    add_real_product(out, of_way, own, term.first);
                }
            }
        }
    }
}

impl Residuals for Objective {
    fn variables(&self) -> usize {
        self.variables.len() + usize::from(self.level_db.is_none())
    }

    fn residuals(&self) -> usize {
        self.terms.count
    }

    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], slopes_follow: bool) {
        self.run(x, slopes_follow);
        self.fill_residuals(self.level_at(x), residuals);
    }

    fn slopes(&mut self, jacobian: &mut [f64]) {
        if !self.sensitive {
            self.run_sensitivities();
        }
        let mut room = std::mem::take(&mut self.room);
        for (term, coefficients) in self.terms.list.iter().zip(&mut room.terms) {
            self.fill_coefficients(term, coefficients);
        }
        fill_columns(self, &mut room, jacobian);
        self.room = room;
        if self.level_db.is_none() {
            let column = &mut jacobian[self.variables.len() * self.terms.count..];
            for term in &self.terms.list {
                let by = match term.about {
                    About::Way(_) | About::Sum | About::Level => -DB_PER_NEPER,
                    About::Phase(_) | About::Load => 0.0,
                };
                let out = &mut column[term.at..][..term.scale.len()];
                for (out, scale) in out.iter_mut().zip(&term.scale) {
                    *out = by * scale;
                }
            }
        }
    }
}

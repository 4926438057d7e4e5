//! How every residual moves with every part value.
//!
//! A residual is, to first order, the real part of a weighted sum of the voltages at the drivers
//! and of the admittance at `in`. So its derivatives are one complex coefficient for each of these
//! times their sensitivities: the coefficients are worked out once a point, and a variable's column
//! is then a few multiplications a frequency.

use num_complex::Complex64;

use super::objective::Objective;
use super::setting::Variable;
use super::slope_buffers::{SlopeBuffers, TermCoefficients};
use super::terms::{About, Term, TermSounds, graded_slope};
use crate::least_squares::Residuals;
use crate::nodal::Sensitivities;
use crate::sound::DB_PER_NEPER;
use crate::spectrum::Spectrum;

impl Objective {
    /// The point last evaluated.
    pub(crate) fn heard(&self) -> TermSounds<'_> {
        TermSounds {
            voltage: &self.voltage,
            pressure: &self.pressure,
            admittance: self.solution.input_admittance(),
            level_db: self.aimed_db,
        }
    }

    /// What turns a small change of each way's sound into one of the logarithm of the sum's level, at a frequency.
    fn sum_slope(&self, i: usize, way: usize) -> Complex64 {
        let sound = |way: usize| self.pressure[way].at(i);
        match &self.measure.targets.window {
            None => self
                .pressure
                .iter()
                .map(|p| p.at(i))
                .sum::<Complex64>()
                .inv(),
            Some(window) => {
                let power = window.power(i, sound).max(f64::MIN_POSITIVE);
                window.slope(i, way, sound) / power
            }
        }
    }

    /// Fills the coefficients of a term, its first frequency at 0.
    fn fill_coefficients(&self, term: &Term, out: &mut TermCoefficients) {
        let ways = term.about.ways(self.sound.len());
        let (g, b) = self.solution.input_admittance();
        for (i, (&scale, f)) in term.scale.iter().zip(term.first..).enumerate() {
            if term.about == About::Load {
                let d = Complex64::new(g[f], b[f]);
                let size = d.norm_sqr().sqrt();
                let short = self.measure.least_load_ohm * size > 1.0;
                let v = self.solution.node_at(netlist::network::NodeId::IN, f);
                let by = if short {
                    let slope = graded_slope(self.measure.least_load_ohm * size - 1.0);
                    -scale * slope * self.measure.least_load_ohm * size / (d * v * v)
                } else {
                    Complex64::ZERO
                };
                out.drawn.set(i, by);
                continue;
            }
            let level = scale * DB_PER_NEPER;
            let mut drawn = Complex64::ZERO;
            for (way, out) in ways.clone().zip(&mut out.voltage) {
                let by = match term.about {
                    About::Way(_) => level / self.voltage[way].at(f),
                    About::Protection(_) if self.measure.over_allowed(&self.heard(), way, f) => {
                        level / self.voltage[way].at(f)
                    }
                    About::Sum => level * self.sum_slope(f, way) * self.sound[way].at(f),
                    About::Phase(c) => {
                        let turn = scale * 1f64.to_degrees();
                        let turn = if way == c { -turn } else { turn };
                        Complex64::new(0.0, turn) / self.voltage[way].at(f)
                    }
                    About::Protection(_) | About::Load | About::Level => Complex64::ZERO,
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
fn fill_columns(objective: &Objective, room: &mut SlopeBuffers, jacobian: &mut [f64]) {
    let SlopeBuffers {
        terms,
        own,
        drawn,
        inverse_omega,
    } = room;
    let sensitivities: &Sensitivities = &objective.sensitivities;
    let ways = objective.sound.len();
    let variables = objective.variables.iter();
    let columns = jacobian.chunks_exact_mut(objective.measure.terms.count);
    for (&Variable { part, law }, column) in variables.zip(columns) {
        let value = objective.values.value[part];
        let loss_slope = law.derivative(value);
        let given = sensitivities.drawn(part);
        chain(value, loss_slope, inverse_omega, given, drawn);
        for (term, coefficients) in objective.measure.terms.list.iter().zip(&*terms) {
            let out = &mut column[term.at..][..term.scale.len()];
            out.fill(0.0);
            add_real_product(out, &coefficients.drawn, drawn, term.first);
        }
        for way in 0..ways {
            let Some(sensitivity) = sensitivities.own(way, part) else {
                continue;
            };
            chain(value, loss_slope, inverse_omega, sensitivity, own);
            for (term, coefficients) in objective.measure.terms.list.iter().zip(&*terms) {
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
        self.measure.terms.count
    }

    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], slopes_follow: bool) {
        self.run(x, slopes_follow);
        self.aimed_db = self.level_at(x);
        self.measure.fill(&self.heard(), None, residuals);
    }

    fn slopes(&mut self, jacobian: &mut [f64]) {
        if !self.sensitive {
            self.run_sensitivities();
        }
        let mut room = std::mem::take(&mut self.room);
        for (term, coefficients) in self.measure.terms.list.iter().zip(&mut room.terms) {
            self.fill_coefficients(term, coefficients);
        }
        fill_columns(self, &mut room, jacobian);
        self.room = room;
        if self.level_db.is_none() {
            let column = &mut jacobian[self.variables.len() * self.measure.terms.count..];
            for term in &self.measure.terms.list {
                let out = &mut column[term.at..][..term.scale.len()];
                for ((out, scale), i) in out.iter_mut().zip(&term.scale).zip(term.first..) {
                    let moves = match term.about {
                        About::Way(_) | About::Sum | About::Level => true,
                        About::Protection(way) => self.measure.over_allowed(&self.heard(), way, i),
                        About::Phase(_) | About::Load => false,
                    };
                    *out = if moves { -DB_PER_NEPER * scale } else { 0.0 };
                }
            }
        }
    }
}

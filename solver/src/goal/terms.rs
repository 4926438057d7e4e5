//! The terms of the goal as residuals: what each is about, where it counts, and its value at a solved
//! point.

use std::ops::Range;

use super::setting::{Protected, Weights};
use super::target::Targets;
use crate::air::REFERENCE_PRESSURE_PA;
use crate::logarithm::ln_each;
use crate::sound::DB_PER_NEPER;
use crate::spectrum::Spectrum;

/// What a residual is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
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
    /// Voltage of a delicate driver at and below its resonance.
    Protection(usize),
}

impl About {
    /// Ways whose voltages it looks at, of `all`.
    pub(super) fn ways(self, all: usize) -> Range<usize> {
        match self {
            About::Way(way) | About::Protection(way) => way..way + 1,
            About::Sum => 0..all,
            About::Phase(crossover) => crossover..crossover + 2,
            About::Load | About::Level => 0..0,
        }
    }
}

/// Residuals of one kind at neighbouring frequencies.
#[derive(Debug, Clone)]
pub(super) struct Term {
    pub(super) about: About,
    /// First frequency.
    pub(super) first: usize,
    /// Residual for one unit of deviation, one a frequency; 0 where it is not looked at.
    pub(super) scale: Vec<f64>,
    /// Place of its first residual.
    pub(super) at: usize,
}

/// All residuals in order.
#[derive(Debug, Clone)]
pub(crate) struct Terms {
    pub(super) list: Vec<Term>,
    pub(super) count: usize,
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

    /// Adds the voltage of a delicate driver, see [`protection_scale`].
    pub(super) fn protect(&mut self, protected: &Protected, f_hz: &[f64], acceptable_db: f64) {
        let scales = protection_scale(protected, f_hz, acceptable_db);
        self.push(About::Protection(protected.way), &scales);
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

/// Residual for one dB of voltage too much at a delicate driver, one a frequency: an octave below its
/// resonance counts in the mean, and whatever lies below as much.
pub(crate) fn protection_scale(
    protected: &Protected,
    f_hz: &[f64],
    acceptable_db: f64,
) -> Vec<f64> {
    let resonance_hz = protected.resonance_hz;
    let octave = (f_hz.iter()).filter(|f| **f <= resonance_hz && **f >= 0.5 * resonance_hz);
    let scale = 1.0 / ((octave.count().max(1) as f64).sqrt() * acceptable_db);
    (f_hz.iter())
        .map(|f| if *f <= resonance_hz { scale } else { 0.0 })
        .collect()
}

/// A loudspeaker at a solved point, as the terms look at it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TermSounds<'a> {
    /// Voltage at each driver, volt.
    pub(crate) voltage: &'a [Spectrum],
    /// Sound of each way at the listener, pascal.
    pub(crate) pressure: &'a [Spectrum],
    /// Admittance of the network at `in`, real and imaginary parts, siemens.
    pub(crate) admittance: (&'a [f64], &'a [f64]),
    /// Aim level, dB SPL.
    pub(crate) level_db: f64,
}

/// The terms with all that they are measured by.
#[derive(Debug, Clone)]
pub(crate) struct GoalMeasure {
    pub(crate) terms: Terms,
    pub(crate) targets: Targets,
    pub(crate) loudest_db: f64,
    pub(crate) least_load_ohm: f64,
    /// For each way, the most dB re 1 V that a delicate driver may have below its resonance, less the aim level.
    pub(crate) allowed_db: Vec<f64>,
}

impl GoalMeasure {
    /// Whether what a way does moves a residual of the term, `in` being held still.
    fn touches(about: About, way: usize, ways: usize) -> bool {
        about == About::Load || about.ways(ways).contains(&way)
    }

    /// Ranges of the residuals that a change within `only` moves where the amplifier is stiff; all of them without.
    pub(crate) fn touched(&self, only: Option<usize>) -> impl Iterator<Item = Range<usize>> {
        let ways = self.targets.ways.len();
        let touched = self.terms.list.iter();
        touched
            .filter(move |term| only.is_none_or(|way| Self::touches(term.about, way, ways)))
            .map(|term| term.at..term.at + term.scale.len())
    }

    /// Fills all residuals; with `only` just those that [`GoalMeasure::touched`] names for that way.
    pub(crate) fn fill(&self, heard: &TermSounds<'_>, only: Option<usize>, residuals: &mut [f64]) {
        fill(self, heard, only, residuals);
    }

    /// Whether a delicate driver has more voltage than it may.
    pub(crate) fn over_allowed(&self, heard: &TermSounds<'_>, way: usize, i: usize) -> bool {
        let square = heard.voltage[way].at(i).norm_sqr();
        0.5 * DB_PER_NEPER * square.ln() > heard.level_db + self.allowed_db[way]
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn fill(measure: &GoalMeasure, heard: &TermSounds<'_>, only: Option<usize>, residuals: &mut [f64]) {
    let ways = measure.targets.ways.len();
    for term in &measure.terms.list {
        if only.is_some_and(|way| !GoalMeasure::touches(term.about, way, ways)) {
            continue;
        }
        let out = &mut residuals[term.at..][..term.scale.len()];
        measure.fill_term(term, heard, out);
    }
}

/// `out = scale · (dB of the squares in out − aim)`
#[inline(always)]
fn deviations(out: &mut [f64], scale: &[f64], aim_db: impl Fn(usize) -> f64) {
    ln_each(out);
    for (i, (out, &scale)) in out.iter_mut().zip(scale).enumerate() {
        let off = 0.5 * DB_PER_NEPER * *out - aim_db(i);
        *out = if scale > 0.0 {
            finite(scale * off)
        } else {
            0.0
        };
    }
}

impl GoalMeasure {
    #[inline(always)]
    fn fill_term(&self, term: &Term, heard: &TermSounds<'_>, out: &mut [f64]) {
        const PER_PASCAL_SQUARE: f64 = 1.0 / (REFERENCE_PRESSURE_PA * REFERENCE_PRESSURE_PA);
        let n = out.len();
        let (scale, first) = (&term.scale[..n], term.first);
        match term.about {
            About::Way(way) => {
                let re = &heard.pressure[way].re[first..][..n];
                let im = &heard.pressure[way].im[first..][..n];
                for i in 0..n {
                    out[i] = (re[i] * re[i] + im[i] * im[i]) * PER_PASCAL_SQUARE;
                }
                let target_db = &self.targets.ways[way].level_db[first..][..n];
                deviations(out, scale, |i| heard.level_db + target_db[i]);
            }
            About::Sum => {
                if let Some(window) = &self.targets.window {
                    for i in 0..n {
                        let at = first + i;
                        let power = window.power(at, |way| heard.pressure[way].at(at));
                        out[i] = power.max(f64::MIN_POSITIVE) * PER_PASCAL_SQUARE;
                    }
                    let tilt_db = &self.targets.tilt_db[first..][..n];
                    deviations(out, scale, |i| heard.level_db + tilt_db[i]);
                    return;
                }
                for i in 0..n {
                    let (mut re, mut im) = (0.0, 0.0);
                    for pressure in heard.pressure {
                        re += pressure.re[first + i];
                        im += pressure.im[first + i];
                    }
                    out[i] = (re * re + im * im) * PER_PASCAL_SQUARE;
                }
                let tilt_db = &self.targets.tilt_db[first..][..n];
                deviations(out, scale, |i| heard.level_db + tilt_db[i]);
            }
            About::Phase(c) => {
                let between =
                    |i: usize| heard.pressure[c].at(i) * heard.pressure[c + 1].at(i).conj();
                let reference = &self.targets.between[c];
                let turn = &reference.turns[reference.nearest(first..first + n, between)];
                for i in 0..n {
                    let off = between(first + i) * turn.at(first + i);
                    out[i] = finite(scale[i] * off.arg().to_degrees());
                }
            }
            About::Level => out[0] = scale[0] * (self.loudest_db - heard.level_db),
            About::Load => {
                let (g, b) = (
                    &heard.admittance.0[first..][..n],
                    &heard.admittance.1[first..][..n],
                );
                let least = self.least_load_ohm * self.least_load_ohm;
                for i in 0..n {
                    // Squares first: few frequencies need the root.
                    let square = least * (g[i] * g[i] + b[i] * b[i]);
                    let short = if square > 1.0 {
                        graded(square.sqrt() - 1.0)
                    } else {
                        0.0
                    };
                    out[i] = finite(scale[i] * short);
                }
            }
            About::Protection(way) => {
                let voltage = &heard.voltage[way];
                for i in 0..n {
                    out[i] = voltage.at(first + i).norm_sqr();
                }
                let allowed_db = heard.level_db + self.allowed_db[way];
                deviations(out, scale, |_| allowed_db);
                out.iter_mut().for_each(|out| *out = out.max(0.0));
            }
        }
    }
}

/// A load that is short by this share counts half of what it would count in proportion.
const SHORT_LOAD_GRADED: f64 = 0.1;

/// What a shortage of load counts as: in proportion while it is small, and no more than
/// [`SHORT_LOAD_GRADED`] where it is hopeless, so that an unreachable limit does not spoil all else.
#[inline(always)]
pub(crate) fn graded(short: f64) -> f64 {
    short / (1.0 + short / SHORT_LOAD_GRADED)
}

/// Its derivative.
pub(super) fn graded_slope(short: f64) -> f64 {
    (1.0 + short / SHORT_LOAD_GRADED).powi(-2)
}

fn finite(residual: f64) -> f64 {
    if residual.is_finite() { residual } else { 1e6 }
}

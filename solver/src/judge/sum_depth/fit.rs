//! The sum of some ways held against a measured one, and its least squares.

use std::f64::consts::TAU;

use nalgebra::DMatrix;
use netlist::project::Project;
use netlist::table::Table;
use num_complex::Complex64;

use super::{LEAST_ROWS, SumDepthError};
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::grid::Grid;
use crate::least_squares::{Residuals, Settings, minimise};
use crate::loudspeaker::Loudspeaker;
use crate::sound::{DB_PER_NEPER, level_db};
use crate::spectrum::Spectrum;

/// Rows to an octave that are used.
const PER_OCTAVE: f64 = 24.0;
/// Octaves on each side of the outer crossovers that are used: beyond, one way is all of the sum.
const BEYOND: f64 = 4.0;
/// Depths that are looked for beyond what the file says, mm.
const MOST_MM: f64 = 300.0;
/// Depths that are tried to a wavelength at the crossover, and how far apart they are at most, mm: where two ways nearly
/// cancel, the valley is much narrower than a wavelength.
const PER_WAVELENGTH: f64 = 16.0;
const STEP_MM: f64 = 4.0;
/// By how much the upper ways are louder than the lower ones where fits begin, dB: a dip is as deep with the one way
/// louder as with the other.
const LOUDER_DB: [f64; 3] = [0.0, 2.0, -2.0];
/// How far the level of a way may be off that of all, dB (judgement), and how far it can be.
const LEVEL_SIGMA_DB: f64 = 3.0;
const MOST_DB: f64 = 40.0;
/// Least error of a measured level, dB.
const LEAST_DB: f64 = 0.05;
/// Another fit is nearly as likely whose squares, in units of the error, are no more than this above the best's:
/// three standard deviations.
const NEARLY: f64 = 9.0;
/// Depths that are nearer to each other are the same, mm.
const SAME_MM: f64 = 1.0;

/// What is fitted.
#[derive(Debug, Clone)]
pub(super) struct DepthState {
    /// Of each way against the file.
    pub(super) level_db: Vec<f64>,
    /// Beyond what the file says; 0 for the lowest.
    depth_mm: Vec<f64>,
    /// Against the file.
    pub(super) reversed: Vec<bool>,
}

impl DepthState {
    /// As the file says, all at one level.
    pub(super) fn stated(ways: usize, level_db: f64) -> Self {
        Self {
            level_db: vec![level_db; ways],
            depth_mm: vec![0.0; ways],
            reversed: vec![false; ways],
        }
    }

    /// How much farther the upper way of a crossover is than the file says, mm.
    pub(super) fn farther_mm(&self, crossover: usize) -> f64 {
        self.depth_mm[crossover + 1] - self.depth_mm[crossover]
    }
}

/// A state with what is left of the sum.
#[derive(Debug, Clone)]
pub(super) struct FittedDepth {
    pub(super) state: DepthState,
    pub(super) rms_db: f64,
}

/// A measured sum and the ways that it is of.
pub(super) struct DepthFit {
    f_hz: Vec<f64>,
    measured_db: Vec<f64>,
    sounds: Vec<Spectrum>,
}

impl DepthFit {
    pub(super) fn new(
        project: &Project,
        names: &[String],
        crossovers_hz: &[f64],
        sum: &Table,
    ) -> Result<Self, SumDepthError> {
        let from_hz = crossovers_hz[0] / BEYOND;
        let to_hz = crossovers_hz[crossovers_hz.len() - 1] * BEYOND;
        let band = from_hz..=to_hz;
        let rows = sum.rows_apart(PER_OCTAVE, |i| band.contains(&sum.f_hz[i]));
        let f_hz: Vec<f64> = rows.iter().map(|&i| sum.f_hz[i]).collect();
        let measured_db = rows.iter().map(|&i| sum.magnitude[i]).collect();
        let too_few = SumDepthError::TooFewRows {
            rows: f_hz.len(),
            from_hz,
            to_hz,
        };
        if f_hz.len() < LEAST_ROWS {
            return Err(too_few);
        }
        let grid = Grid::new(f_hz.clone()).map_err(|_| too_few)?;
        let system = Loudspeaker::new(project, grid)?.ok_or(SumDepthError::NoNetwork)?;
        let curves = system.curves()?;
        let sounds = (names.iter())
            .filter_map(|name| curves.ways.iter().find(|(way, _)| way == name))
            .map(|(_, sound)| sound.clone())
            .collect();
        Ok(Self {
            f_hz,
            measured_db,
            sounds,
        })
    }

    /// The band that is looked at, Hz.
    pub(super) fn band_hz(&self) -> [f64; 2] {
        [self.f_hz[0], self.f_hz[self.f_hz.len() - 1]]
    }

    /// How much louder the sum was measured than it is computed, dB.
    pub(super) fn mean_off_db(&self) -> f64 {
        let state = DepthState::stated(self.sounds.len(), 0.0);
        let mut problem = DepthProblem::new(self, &state, false);
        let mut off = vec![0.0; problem.residuals()];
        problem.evaluate(&state.level_db, &mut off, false);
        off[..self.f_hz.len()].iter().sum::<f64>() / self.f_hz.len() as f64
    }

    /// The levels that suit the depths of a state best.
    pub(super) fn levels(&self, state: &DepthState) -> FittedDepth {
        DepthProblem::new(self, state, false).fitted()
    }

    /// The same from several starts of the levels: those that were fitted for another depth lead astray.
    fn levels_from(&self, state: &DepthState, c: usize) -> FittedDepth {
        let mean_db = self.mean_off_db();
        let from = |louder_db: f64| {
            let mut state = state.clone();
            for (way, level_db) in state.level_db.iter_mut().enumerate() {
                *level_db = mean_db + 0.5 * if way > c { louder_db } else { -louder_db };
            }
            self.levels(&state)
        };
        let fits = LOUDER_DB.map(from).into_iter();
        let best = fits.min_by(|a, b| a.rms_db.total_cmp(&b.rms_db));
        best.unwrap_or_else(|| self.levels(state))
    }

    /// The bottoms of all valleys over the depth at one crossover, both polarities, best first.
    pub(super) fn valleys(
        &self,
        about: &DepthState,
        c: usize,
        crossover_hz: f64,
    ) -> Vec<FittedDepth> {
        let wavelength_mm = 1000.0 * SPEED_OF_SOUND_M_PER_S / crossover_hz;
        let step_mm = (wavelength_mm / PER_WAVELENGTH).min(STEP_MM);
        let count = (MOST_MM / step_mm).ceil() as i32;
        let mut bottoms: Vec<FittedDepth> = Vec::new();
        for turned in [false, true] {
            let along: Vec<FittedDepth> = (-count..=count)
                .map(|k| {
                    let mut state = about.clone();
                    for way in c + 1..state.depth_mm.len() {
                        state.depth_mm[way] += f64::from(k) * step_mm;
                        state.reversed[way] ^= turned;
                    }
                    self.levels_from(&state, c)
                })
                .collect();
            let rms = |k: usize| along.get(k).map_or(f64::INFINITY, |one| one.rms_db);
            let lowest = (0..along.len())
                .filter(|&k| rms(k) <= rms(k.wrapping_sub(1)) && rms(k) <= rms(k + 1));
            bottoms.extend(lowest.map(|k| DepthProblem::new(self, &along[k].state, true).fitted()));
        }
        bottoms.retain(|one| one.state.farther_mm(c).abs() <= MOST_MM && one.rms_db.is_finite());
        bottoms.sort_by(|a, b| a.rms_db.total_cmp(&b.rms_db));
        bottoms
    }

    /// Another depth than the best that is nearly as likely.
    pub(super) fn other(&self, valleys: &[FittedDepth], c: usize) -> Option<f64> {
        let (best, others) = valleys.split_first()?;
        let error = best.rms_db.max(LEAST_DB);
        let rows = self.f_hz.len() as f64;
        let other = others.iter().find(|other| {
            let above = rows * (other.rms_db.powi(2) - best.rms_db.powi(2)) / error.powi(2);
            let apart_mm = other.state.farther_mm(c) - best.state.farther_mm(c);
            above < NEARLY && apart_mm.abs() > SAME_MM
        });
        other.map(|other| other.state.farther_mm(c))
    }

    /// One standard deviation of the depth at each crossover, mm.
    pub(super) fn sigmas_mm(&self, best: &FittedDepth) -> Vec<f64> {
        let n = self.sounds.len();
        let rows = self.f_hz.len();
        let mut problem = DepthProblem::new(self, &best.state, true);
        let mut residuals = vec![0.0; problem.residuals()];
        let mut slopes = vec![0.0; problem.residuals() * problem.variables()];
        let x = problem.start.clone();
        problem.evaluate(&x, &mut residuals, true);
        problem.slopes(&mut slopes);
        let all = DMatrix::from_vec(problem.residuals(), problem.variables(), slopes);
        let jacobian = all.rows(0, rows);
        let sigma_db = best.rms_db.max(LEAST_DB);
        let mut normal = jacobian.tr_mul(&jacobian) / sigma_db.powi(2);
        for way in 0..n {
            normal[(way, way)] += LEVEL_SIGMA_DB.powi(-2);
        }
        let Some(inverse) = normal.cholesky().map(|c| c.inverse()) else {
            return vec![f64::INFINITY; n - 1];
        };
        (0..n - 1)
            .map(|c| {
                let upper = n + c;
                let mut square = inverse[(upper, upper)];
                if c > 0 {
                    square += inverse[(upper - 1, upper - 1)] - 2.0 * inverse[(upper, upper - 1)];
                }
                square.sqrt()
            })
            .collect()
    }
}

/// Measured less computed sum in dB, over the level of each way and, where they are fitted too, the depth of each but
/// the lowest in mm. Behind the rows stands how far each level is off that of all, by what is likely of it.
struct DepthProblem<'a> {
    fit: &'a DepthFit,
    state: DepthState,
    depths: bool,
    start: Vec<f64>,
    /// Sound of each way at each frequency at the point last looked at.
    sounds: Vec<Vec<Complex64>>,
}

impl<'a> DepthProblem<'a> {
    fn new(fit: &'a DepthFit, state: &DepthState, depths: bool) -> Self {
        let mut start = state.level_db.clone();
        if depths {
            start.extend_from_slice(&state.depth_mm[1..]);
        }
        Self {
            fit,
            state: state.clone(),
            depths,
            start,
            sounds: vec![Vec::new(); fit.sounds.len()],
        }
    }

    fn fitted(mut self) -> FittedDepth {
        let n = self.fit.sounds.len();
        let start = self.start.clone();
        let within = |place: usize| if place < n { MOST_DB } else { 2.0 * MOST_MM };
        let [lower, upper] = [-1.0, 1.0].map(|sign| -> Vec<f64> {
            (start.iter().enumerate())
                .map(|(place, value)| value + sign * within(place))
                .collect()
        });
        let found = minimise(&mut self, &start, &lower, &upper, Settings::default());
        self.put(&found.x);
        let mut off = vec![0.0; self.residuals()];
        self.evaluate(&found.x, &mut off, false);
        let rows = self.fit.f_hz.len();
        let square = off[..rows].iter().map(|db| db * db).sum::<f64>();
        FittedDepth {
            state: self.state,
            rms_db: (square / rows as f64).sqrt(),
        }
    }

    fn put(&mut self, x: &[f64]) {
        let n = self.fit.sounds.len();
        self.state.level_db.copy_from_slice(&x[..n]);
        if self.depths {
            self.state.depth_mm[1..].copy_from_slice(&x[n..]);
        }
    }

    /// What a dB of level off the others' counts: an error of the rows for what is likely.
    fn level_weight() -> f64 {
        LEAST_DB / LEVEL_SIGMA_DB
    }
}

impl Residuals for DepthProblem<'_> {
    fn variables(&self) -> usize {
        self.start.len()
    }

    fn residuals(&self) -> usize {
        self.fit.f_hz.len() + self.fit.sounds.len()
    }

    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], _slopes_follow: bool) {
        self.put(x);
        let fit = self.fit;
        for (way, sound) in fit.sounds.iter().enumerate() {
            let gain = (self.state.level_db[way] / DB_PER_NEPER).exp();
            let sign = if self.state.reversed[way] {
                -gain
            } else {
                gain
            };
            let delay_s = self.state.depth_mm[way] / 1000.0 / SPEED_OF_SOUND_M_PER_S;
            let late = |f: f64| Complex64::from_polar(1.0, -TAU * f * delay_s);
            self.sounds[way] = (fit.f_hz.iter().enumerate())
                .map(|(i, &f)| sound.at(i) * late(f) * sign)
                .collect();
        }
        let rows = fit.f_hz.len();
        for i in 0..rows {
            let sum: Complex64 = self.sounds.iter().map(|sound| sound[i]).sum();
            residuals[i] = fit.measured_db[i] - level_db(sum);
        }
        let levels = &self.state.level_db;
        let mean = levels.iter().sum::<f64>() / levels.len() as f64;
        for (off, level) in residuals[rows..].iter_mut().zip(levels) {
            *off = Self::level_weight() * (level - mean);
        }
    }

    fn slopes(&mut self, jacobian: &mut [f64]) {
        let n = self.fit.sounds.len();
        let (rows, height) = (self.fit.f_hz.len(), self.residuals());
        for (k, column) in jacobian.chunks_mut(height).enumerate() {
            for (i, slope) in column[..rows].iter_mut().enumerate() {
                let sum: Complex64 = self.sounds.iter().map(|sound| sound[i]).sum();
                *slope = -if k < n {
                    (self.sounds[k][i] / sum).re
                } else {
                    let per_mm = -TAU * self.fit.f_hz[i] / 1000.0 / SPEED_OF_SOUND_M_PER_S;
                    let turned = self.sounds[k - n + 1][i] * Complex64::new(0.0, per_mm);
                    DB_PER_NEPER * (turned / sum).re
                };
            }
            for (way, slope) in column[rows..].iter_mut().enumerate() {
                let own = if way == k { 1.0 } else { 0.0 };
                *slope = match k < n {
                    true => Self::level_weight() * (own - 1.0 / n as f64),
                    false => 0.0,
                };
            }
        }
    }
}

//! Depth between ways from a measured sum of them.
//!
//! The network and the drivers say what each way does; how far apart the acoustic centres are shows in the level of
//! the sum where two ways play alike loud. Fitted are the level of each way and the way of the sound of each but the
//! lowest, from many starts, since depth and polarity can stand for each other.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use netlist::project::Project;
use netlist::quantity::Quantity;
use netlist::table::Table;
use num_complex::Complex64;
use serde::Serialize;

use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::grid::Grid;
use crate::nodal::PlanError;
use crate::sound::{DB_PER_NEPER, level_db};
use crate::spectrum::Spectrum;
use crate::system::System;

/// Rows to an octave that are used.
const PER_OCTAVE: f64 = 24.0;
/// Octaves on each side of the outer crossovers that are used: beyond, one way is all of the sum.
const BEYOND: f64 = 4.0;
/// Rows that tell a depth.
const LEAST_ROWS: usize = 8;
/// Depths that are looked for beyond what the file says, m.
const MOST_M: f64 = 0.3;
/// Starts to a wavelength at the crossover.
const STARTS_PER_WAVELENGTH: f64 = 8.0;
/// Steps of one fit.
const STEPS: usize = 40;
/// How far the level of a way may be off, dB (judgement), and a step that is not worth taking, dB or mm.
const LEVEL_SIGMA_DB: f64 = 3.0;
const SMALL_STEP: f64 = 1e-6;
/// Least error of a measured level, dB.
const LEAST_DB: f64 = 0.05;
/// Another fit is nearly as likely whose squares, in units of the error, are no more than this above the best's:
/// three standard deviations.
const NEARLY: f64 = 9.0;

/// What a measured sum says of depth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SumDepth {
    /// The ways that played, lowest first.
    pub ways: Vec<WayInSum>,
    /// Each pair of neighbours.
    pub crossovers: Vec<DepthFound>,
    /// Band that was looked at, Hz.
    pub from_hz: f64,
    /// Its upper end, Hz.
    pub to_hz: f64,
    /// What is left between measured and fitted sum, dB rms.
    pub rms_db: f64,
    /// The same with the depths that the file says.
    pub rms_as_stated_db: f64,
}

/// A way of the sum.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayInSum {
    /// Its driver.
    pub driver: String,
    /// Its level against the file's, the mean of all ways taken off, dB.
    pub level_db: f64,
}

/// The depth between two ways.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DepthFound {
    /// The lower and the upper driver.
    pub between: [String; 2],
    /// How much farther back the upper one is than the file says, mm.
    pub farther_mm: f64,
    /// One standard deviation, mm.
    pub sigma_mm: f64,
    /// `position.back` of the upper driver with which the file says so, the lower one's left as it is, mm.
    pub back_mm: f64,
    /// Whether the upper one is wired the other way round than in the file.
    pub reversed: bool,
    /// Another depth that this sum can hardly tell from it, mm.
    pub or_mm: Option<f64>,
}

/// Why a sum says nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SumDepthError {
    /// The project is a brief.
    #[error("a measured sum says something only of a network, and this project has no parts")]
    NoNetwork,
    /// A way that is none.
    #[error("there is no way '{name}'; the ways are {ways}")]
    NoWay {
        /// As asked for.
        name: String,
        /// Those that are.
        ways: String,
    },
    /// Fewer than two ways, or not neighbours.
    #[error(
        "depth lies between ways that hand over to each other; name two or more neighbours of {ways}"
    )]
    NotNeighbours {
        /// Those that are.
        ways: String,
    },
    /// A table without enough rows about the crossovers.
    #[error(
        "only {rows} rows of the measured sum lie between {from_hz:.0} Hz and {to_hz:.0} Hz, about the crossovers; {LEAST_ROWS} are needed"
    )]
    TooFewRows {
        /// Rows there.
        rows: usize,
        /// Band that is looked at, Hz.
        from_hz: f64,
        /// Its upper end, Hz.
        to_hz: f64,
    },
    /// The network cannot be solved.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

/// Fits the depths between neighbouring ways to a measured sum of them, dB SPL or any level: its mean is free. With
/// no `ways` named all have played. What is not named is connected to the network as it is, and silent.
///
/// # Errors
/// If the ways are none, or the table says nothing about their crossovers.
pub fn sum_depth(
    project: &Project,
    ways: &[String],
    sum: &Table,
) -> Result<SumDepth, SumDepthError> {
    let names = neighbours(project, ways)?;
    let crossovers_hz: Vec<f64> = (names.windows(2))
        .filter_map(|pair| {
            let mut crossovers = project.crossovers.iter();
            crossovers.find(|c| c.between[0] == pair[0] && c.between[1] == pair[1])
        })
        .map(|crossover| crossover.frequency.si())
        .collect();
    let fit = Fit::new(project, &names, &crossovers_hz, sum)?;
    let n = names.len();
    let stated = fit.from(&State::stated(n)).levels_only();
    // One crossover after the other, with all ways above moved along; twice, for what they do to each other.
    let mut best = stated.clone();
    let mut others = vec![None; n - 1];
    for _ in 0..2 {
        for c in 0..n - 1 {
            let tried = fit.starts(&best.state, c, crossovers_hz[c]);
            (best, others[c]) = of_tried(&fit, tried, c);
        }
    }
    let sigma = fit.sigmas_mm(&best);
    let back_mm = |name: &str| 1000.0 * project.drivers[name].position.back.0;
    let mean_db = best.state.level_db.iter().sum::<f64>() / n as f64;
    let found = (0..n - 1).map(|c| {
        let farther_mm = best.state.depth_mm[c + 1] - best.state.depth_mm[c];
        DepthFound {
            between: [names[c].clone(), names[c + 1].clone()],
            farther_mm,
            sigma_mm: sigma[c],
            back_mm: back_mm(&names[c + 1]) + farther_mm,
            reversed: best.state.reversed[c] != best.state.reversed[c + 1],
            or_mm: others[c],
        }
    });
    Ok(SumDepth {
        crossovers: found.collect(),
        from_hz: fit.f_hz[0],
        to_hz: fit.f_hz[fit.f_hz.len() - 1],
        rms_db: best.rms_db(),
        rms_as_stated_db: stated.rms_db(),
        ways: (names.iter().zip(&best.state.level_db))
            .map(|(driver, level_db)| WayInSum {
                driver: driver.clone(),
                level_db: level_db - mean_db,
            })
            .collect(),
    })
}

/// The ways that were named, lowest first, if they are neighbours; all where none is.
fn neighbours(project: &Project, asked: &[String]) -> Result<Vec<String>, SumDepthError> {
    let Some(network) = &project.network else {
        return Err(SumDepthError::NoNetwork);
    };
    let mut all: Vec<String> = Vec::new();
    for crossover in &project.crossovers {
        for name in &crossover.between {
            if !all.contains(name) && network.driver_names().any(|fed| fed == name) {
                all.push(name.clone());
            }
        }
    }
    let ways = all.join(", ");
    if let Some(name) = asked.iter().find(|name| !all.contains(name)) {
        let name = name.clone();
        return Err(SumDepthError::NoWay { name, ways });
    }
    let places: Vec<usize> = (0..all.len())
        .filter(|&i| asked.is_empty() || asked.contains(&all[i]))
        .collect();
    if places.len() < 2 || places.windows(2).any(|pair| pair[1] != pair[0] + 1) {
        return Err(SumDepthError::NotNeighbours { ways });
    }
    Ok(places.into_iter().map(|i| all[i].clone()).collect())
}

/// What is fitted.
#[derive(Debug, Clone)]
struct State {
    level_db: Vec<f64>,
    /// Beyond what the file says; 0 for the lowest.
    depth_mm: Vec<f64>,
    /// Against the file.
    reversed: Vec<bool>,
}

impl State {
    fn stated(ways: usize) -> Self {
        Self {
            level_db: vec![0.0; ways],
            depth_mm: vec![0.0; ways],
            reversed: vec![false; ways],
        }
    }
}

struct Fit {
    f_hz: Vec<f64>,
    measured_db: Vec<f64>,
    sounds: Vec<Spectrum>,
}

#[derive(Clone)]
struct Fitted<'a> {
    fit: &'a Fit,
    state: State,
    off_db: Vec<f64>,
}

impl Fit {
    fn new(
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
        let system = System::new(project, grid)?.ok_or(SumDepthError::NoNetwork)?;
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

    /// At a state, nothing moved.
    fn from(&self, state: &State) -> Fitted<'_> {
        let mut fitted = Fitted {
            fit: self,
            state: state.clone(),
            off_db: Vec::new(),
        };
        fitted.off_db = fitted.off(None);
        fitted
    }

    /// How much louder the sum was measured than it is computed, dB.
    fn mean_off_db(&self) -> f64 {
        let off = self.from(&State::stated(self.sounds.len())).off_db;
        off.iter().sum::<f64>() / off.len() as f64
    }

    /// Fits from many depths at one crossover, both polarities.
    fn starts(&self, about: &State, c: usize, crossover_hz: f64) -> Vec<Fitted<'_>> {
        let step_mm = 1000.0 * SPEED_OF_SOUND_M_PER_S / crossover_hz / STARTS_PER_WAVELENGTH;
        let count = (1000.0 * MOST_M / step_mm).ceil() as i32;
        let mut tried = Vec::new();
        for turned in [false, true] {
            for k in -count..=count {
                let mut state = about.clone();
                for way in c + 1..state.depth_mm.len() {
                    state.depth_mm[way] += f64::from(k) * step_mm;
                    state.reversed[way] ^= turned;
                }
                // Levels that were fitted for another depth lead astray.
                let plain = State {
                    level_db: vec![self.mean_off_db(); state.level_db.len()],
                    ..state.clone()
                };
                for state in [plain, state] {
                    tried.push(self.from(&state).fitted(true));
                }
            }
        }
        tried.retain(|fitted| {
            let depth = &fitted.state.depth_mm;
            (depth[c + 1] - depth[c]).abs() <= 1000.0 * MOST_M && fitted.rms_db().is_finite()
        });
        if tried.is_empty() {
            tried.push(self.from(about));
        }
        tried
    }

    /// One standard deviation of the depth at each crossover, mm.
    fn sigmas_mm(&self, best: &Fitted<'_>) -> Vec<f64> {
        let n = self.sounds.len();
        let jacobian = best.slopes(true);
        let sigma_db = best.rms_db().max(LEAST_DB);
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

/// The best of some fits, and another depth that is nearly as likely.
fn of_tried<'a>(fit: &'a Fit, mut tried: Vec<Fitted<'a>>, c: usize) -> (Fitted<'a>, Option<f64>) {
    tried.sort_by(|a, b| a.rms_db().total_cmp(&b.rms_db()));
    let best = tried[0].clone();
    let depth = |fitted: &Fitted<'_>| fitted.state.depth_mm[c + 1] - fitted.state.depth_mm[c];
    let error = best.rms_db().max(LEAST_DB);
    let rows = fit.f_hz.len() as f64;
    let other = (tried.iter().skip(1)).find(|other| {
        let above = rows * (other.rms_db().powi(2) - best.rms_db().powi(2)) / error.powi(2);
        above < NEARLY && (depth(other) - depth(&best)).abs() > 1.0
    });
    let other = other.map(depth);
    (best, other)
}

impl<'a> Fitted<'a> {
    fn rms_db(&self) -> f64 {
        (self.off_db.iter().map(|db| db * db).sum::<f64>() / self.off_db.len() as f64).sqrt()
    }

    fn levels_only(self) -> Self {
        self.fitted(false)
    }

    /// Sound of each way at a frequency, as fitted.
    fn sound(&self, way: usize, i: usize) -> Complex64 {
        let state = &self.state;
        let gain = (state.level_db[way] / DB_PER_NEPER).exp();
        let sign = if state.reversed[way] { -gain } else { gain };
        let delay_s = state.depth_mm[way] / 1000.0 / SPEED_OF_SOUND_M_PER_S;
        let omega = TAU * self.fit.f_hz[i];
        self.fit.sounds[way].at(i) * Complex64::from_polar(1.0, -omega * delay_s) * sign
    }

    /// Measured less fitted, dB; the mean is free.
    fn off(&self, of: Option<&State>) -> Vec<f64> {
        let here = match of {
            Some(state) => Self {
                state: state.clone(),
                ..self.clone()
            },
            None => self.clone(),
        };
        let ways = 0..self.fit.sounds.len();
        (0..self.fit.f_hz.len())
            .map(|i| {
                let sum: Complex64 = ways.clone().map(|way| here.sound(way, i)).sum();
                self.fit.measured_db[i] - level_db(sum)
            })
            .collect()
    }

    /// Slopes of the fitted sum in dB: the level of each way, then the depth of each but the lowest, mm.
    fn slopes(&self, depths: bool) -> DMatrix<f64> {
        let n = self.fit.sounds.len();
        let columns = if depths { 2 * n - 1 } else { n };
        DMatrix::from_fn(self.fit.f_hz.len(), columns, |i, k| {
            let sum: Complex64 = (0..n).map(|way| self.sound(way, i)).sum();
            if k < n {
                return (self.sound(k, i) / sum).re;
            }
            let per_mm = -TAU * self.fit.f_hz[i] / 1000.0 / SPEED_OF_SOUND_M_PER_S;
            let turned = self.sound(k - n + 1, i) * Complex64::new(0.0, per_mm);
            DB_PER_NEPER * (turned / sum).re
        })
    }

    /// Levenberg and Marquardt from here.
    fn fitted(mut self, depths: bool) -> Self {
        let n = self.fit.sounds.len();
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let jacobian = self.slopes(depths);
            let off = DVector::from_column_slice(&self.off_db);
            let mut normal = jacobian.tr_mul(&jacobian);
            let gradient = jacobian.tr_mul(&off);
            for k in 0..normal.nrows() {
                normal[(k, k)] *= 1.0 + damping;
                normal[(k, k)] += 1e-9;
            }
            let Some(step) = normal.cholesky().map(|c| c.solve(&gradient)) else {
                break;
            };
            let mut state = self.state.clone();
            for way in 0..n {
                state.level_db[way] += step[way];
                if depths && way > 0 {
                    state.depth_mm[way] += step[n + way - 1];
                }
            }
            let moved = self.off(Some(&state));
            let square = |off: &[f64]| off.iter().map(|db| db * db).sum::<f64>();
            if square(&moved) < square(&self.off_db) {
                (self.state, self.off_db) = (state, moved);
                damping *= 0.2;
                if step.amax() < SMALL_STEP {
                    break;
                }
            } else {
                damping *= 8.0;
                if damping > 1e9 {
                    break;
                }
            }
        }
        self
    }
}

//! Depth between ways from a measured sum of them.
//!
//! The network and the drivers say what each way does; how far apart the acoustic centres are shows in the level of
//! the sum where two ways play alike loud. Fitted are the level of each way and the way of the sound of each but the
//! lowest. Depths a wavelength apart, and half a wavelength apart the other way round, are nearly alike, so that there
//! is a valley at each: all depths are tried with the levels that suit each best, and from the bottom of every valley
//! all is fitted together. What is nearly as likely as the best is told beside it.
//!
//! | file | what |
//! |---|---|
//! | `fit` | the ways, their sum held against the measured one, and its least squares |

mod fit;

use netlist::project::Project;
use netlist::quantity::Quantity;
use netlist::table::Table;
use serde::Serialize;

use self::fit::{DepthFit, DepthState};
use crate::nodal::PlanError;

/// Rows that tell a depth.
const LEAST_ROWS: usize = 8;

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
    let fit = DepthFit::new(project, &names, &crossovers_hz, sum)?;
    let n = names.len();
    let stated = fit.levels(&DepthState::stated(n, fit.mean_off_db()));
    // One crossover after the other, with all ways above moved along; twice, for what several do to each other.
    let rounds = if n > 2 { 2 } else { 1 };
    let mut best = stated.clone();
    let mut others = vec![None; n - 1];
    for _ in 0..rounds {
        for c in 0..n - 1 {
            let valleys = fit.valleys(&best.state, c, crossovers_hz[c]);
            others[c] = fit.other(&valleys, c);
            best = valleys.into_iter().next().unwrap_or(best);
        }
    }
    let sigma = fit.sigmas_mm(&best);
    let back_mm = |name: &str| 1000.0 * project.drivers[name].position.back.0;
    let mean_db = best.state.level_db.iter().sum::<f64>() / n as f64;
    let found = (0..n - 1).map(|c| {
        let farther_mm = best.state.farther_mm(c);
        DepthFound {
            between: [names[c].clone(), names[c + 1].clone()],
            farther_mm,
            sigma_mm: sigma[c],
            back_mm: back_mm(&names[c + 1]) + farther_mm,
            reversed: best.state.reversed[c] != best.state.reversed[c + 1],
            or_mm: others[c],
        }
    });
    let [from_hz, to_hz] = fit.band_hz();
    Ok(SumDepth {
        crossovers: found.collect(),
        from_hz,
        to_hz,
        rms_db: best.rms_db,
        rms_as_stated_db: stated.rms_db,
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

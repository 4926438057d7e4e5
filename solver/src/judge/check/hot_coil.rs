//! What hot voice coils change.

use netlist::project::Project;
use netlist::quantity::Quantity;
use serde::Serialize;

use super::change::{Changes, changes};
use crate::load::Conditions;
use crate::loudspeaker::{Circumstances, Curves};
use crate::sound::level_db;

/// Rise of the voice coils' temperature after hard use, K (common practice: coils stand twice that).
pub(super) const RISE_K: f64 = 100.0;

/// What hot voice coils change, against cold ones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HotCoil {
    /// Rise of temperature of all voice coils, K.
    pub rise_k: f64,
    /// What it changes.
    #[serde(flatten)]
    pub changes: Changes,
    /// Crossovers of the project, lowest first.
    pub crossovers: Vec<CrossoverShift>,
}

/// Where two ways have the same level, cold and hot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CrossoverShift {
    /// The lower and the upper driver.
    pub between: [String; 2],
    /// The crossover asked for, Hz.
    pub asked_hz: f64,
    /// Where the levels are equal with cold coils, Hz; `None` where that is nowhere within an octave.
    pub cold_hz: Option<f64>,
    /// The same with hot coils.
    pub hot_hz: Option<f64>,
}

/// All voice coils hot.
pub(super) fn hot() -> Circumstances {
    Circumstances {
        conditions: Conditions {
            coil_rise_k: RISE_K,
            ..Conditions::default()
        },
        ..Circumstances::default()
    }
}

pub(super) fn hot_coil(project: &Project, views: &super::Views) -> HotCoil {
    let f_hz = views.grid.f_hz();
    HotCoil {
        rise_k: RISE_K,
        changes: changes(project, f_hz, &views.normal, &views.hot),
        crossovers: (project.crossovers.iter())
            .map(|crossover| {
                let asked_hz = crossover.frequency.si();
                let meet = |curves: &Curves| meet_hz(f_hz, curves, &crossover.between, asked_hz);
                CrossoverShift {
                    between: crossover.between.clone(),
                    asked_hz,
                    cold_hz: meet(&views.normal),
                    hot_hz: meet(&views.hot),
                }
            })
            .collect(),
    }
}

/// Where two ways have the same level, nearest to `asked_hz` and within an octave of it: interpolated
/// linearly in dB over log-frequency.
fn meet_hz(f_hz: &[f64], curves: &Curves, between: &[String; 2], asked_hz: f64) -> Option<f64> {
    let way = |name: &String| {
        (curves.ways.iter())
            .find(|(driver, _)| driver == name)
            .map(|(_, sound)| sound)
    };
    let (lower, upper) = (way(&between[0])?, way(&between[1])?);
    let apart = |i: usize| level_db(lower.at(i)) - level_db(upper.at(i));
    (1..f_hz.len())
        .filter(|&i| apart(i - 1) > 0.0 && apart(i) <= 0.0)
        .map(|i| {
            let (a, b) = (apart(i - 1), apart(i));
            f_hz[i - 1] * (f_hz[i] / f_hz[i - 1]).powf(a / (a - b))
        })
        .filter(|hz| (hz / asked_hz).log2().abs() <= 1.0)
        .min_by(|a, b| {
            let off = |hz: f64| (hz / asked_hz).ln().abs();
            off(*a).total_cmp(&off(*b))
        })
}

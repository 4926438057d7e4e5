//! A loudspeaker in all directions: windows, sound power, directivity index, lobes.
//!
//! Each way radiates as [`Directivity`](crate::sound::Directivity) knows it, from its own place; the ways add with
//! their phases in each direction. Angles count from the reference axis: straight to the front, or towards the
//! listener where there is one, about the middle of the drivers.
//!
//! | file | what |
//! |---|---|
//! | `window` | the windows of ANSI/CTA-2034-A and their weights |
//! | `judged` | which of them a sum is judged in |
//! | `sources` | the sound of the ways in a direction |
//! | `lobe` | where the sum of two ways points at their crossover |

mod judged;
mod lobe;
mod sources;
mod window;

pub use judged::judged_over;
pub use lobe::Lobe;
pub use sources::Sources;
pub use window::{AXIS, Ray, Window, sphere_share};

use netlist::project::{Aim, Plane, Project};
use netlist::quantity::Quantity;
use serde::Serialize;

use crate::grid::Grid;
use crate::nodal::PlanError;
use crate::sound::{KnownFrom, power_level_db};

/// Frequencies from 20 Hz to 20 kHz, 12 an octave.
const POINTS: usize = 121;
/// Angles of the vertical map, degrees from the axis.
const MAP_DEG: i32 = 60;
/// Degrees from one of its rows to the next.
const MAP_STEP_DEG: usize = 3;

/// A loudspeaker in all directions, at the reference voltage, at the listener's distance or 1 m.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Directions {
    /// Frequencies of all curves, Hz.
    pub frequency_hz: Vec<f64>,
    /// Level on the reference axis, dB SPL.
    pub on_axis_db: Vec<f64>,
    /// Listening window, dB SPL.
    pub listening_window_db: Vec<f64>,
    /// ±10° vertically, dB SPL.
    pub vertical_window_db: Vec<f64>,
    /// ±30° horizontally, dB SPL.
    pub horizontal_window_db: Vec<f64>,
    /// Early reflections, dB SPL.
    pub early_reflections_db: Vec<f64>,
    /// Sound power as a level: the mean over all directions, dB SPL.
    pub sound_power_db: Vec<f64>,
    /// What may be expected in a room: 12 % listening window, 44 % early reflections, 44 % sound power, as powers
    /// (ANSI/CTA-2034-A, from memory); dB SPL.
    pub in_room_db: Vec<f64>,
    /// Listening window less sound power, dB.
    pub directivity_index_db: Vec<f64>,
    /// Listening window less early reflections, dB.
    pub early_reflections_index_db: Vec<f64>,
    /// How even the axis is within the aim's band, about its own level.
    pub on_axis: Evenness,
    /// How even the listening window is.
    pub listening_window: Evenness,
    /// Of ±10° vertically, the most that the level differs from that on the axis.
    pub vertical_change: MostChange,
    /// Where the two ways of each crossover point, lowest first.
    pub lobes: Vec<Lobe>,
    /// What is known of each driver's directions, in the order of the parts.
    pub sources: Vec<SourceKnown>,
    /// Level over the vertical angle.
    #[serde(skip)]
    pub vertical_map: LevelMap,
}

/// How even a curve is within the aim's band, about the aim's tilt at the level that suits it best.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Evenness {
    /// Rms deviation, dB.
    pub rms_db: f64,
    /// Largest deviation, dB.
    pub max_db: f64,
    /// Where that is, Hz.
    pub max_at_hz: f64,
}

/// The most that something changes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MostChange {
    /// How much, with its sign, dB.
    pub most_db: f64,
    /// Where, Hz.
    pub at_hz: f64,
    /// At which angle, degrees.
    pub angle_deg: f64,
}

/// What is known of a driver's directions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceKnown {
    /// The driver.
    pub driver: String,
    /// Where from.
    pub known_from: KnownFrom,
}

/// Level over angle and frequency.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LevelMap {
    /// Angles, rising, degrees.
    pub angle_deg: Vec<f64>,
    /// Level at each angle over the frequencies, against that on the axis, dB.
    pub level_db: Vec<Vec<f64>>,
}

impl Directions {
    /// Of a project with a network; `None` for a brief.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn of(project: &Project) -> Result<Option<Self>, PlanError> {
        let grid = Grid::log_spaced(20.0, 20e3, POINTS).expect("an audio band");
        let Some(sources) = Sources::new(project, grid)? else {
            return Ok(None);
        };
        let axis = sources.power(AXIS);
        let db =
            |power: &[f64]| -> Vec<f64> { power.iter().copied().map(power_level_db).collect() };
        let mean = |window: &Window| sources.mean(window);
        let listening = mean(&Window::listening());
        let early = mean(&Window::early_reflections());
        let all = mean(&Window::sound_power());
        let in_room: Vec<f64> = (0..axis.len())
            .map(|i| 0.12 * listening[i] + 0.44 * early[i] + 0.44 * all[i])
            .collect();
        let less = |a: &[f64], b: &[f64]| -> Vec<f64> {
            (a.iter().zip(b))
                .map(|(a, b)| power_level_db(*a) - power_level_db(*b))
                .collect()
        };
        let frequency_hz = sources.grid().f_hz().to_vec();
        let evenness = |power: &[f64]| evenness(&project.aim, sources.grid(), power);
        Ok(Some(Self {
            on_axis_db: db(&axis),
            listening_window_db: db(&listening),
            vertical_window_db: db(&mean(&Window::vertical())),
            horizontal_window_db: db(&mean(&Window::horizontal())),
            early_reflections_db: db(&early),
            sound_power_db: db(&all),
            in_room_db: db(&in_room),
            directivity_index_db: less(&listening, &all),
            early_reflections_index_db: less(&listening, &early),
            on_axis: evenness(&axis),
            listening_window: evenness(&listening),
            vertical_change: vertical_change(project, &sources, &axis),
            lobes: lobe::lobes(project)?,
            sources: sources.known(),
            vertical_map: vertical_map(&sources, &axis),
            frequency_hz,
        }))
    }
}

fn in_band(aim: &Aim, grid: &Grid) -> Vec<usize> {
    grid.within(aim.from.si(), aim.to.si())
}

fn evenness(aim: &Aim, grid: &Grid, power: &[f64]) -> Evenness {
    let (f_hz, band) = (grid.f_hz(), in_band(aim, grid));
    let over_tilt: Vec<f64> = (band.iter())
        .map(|&i| power_level_db(power[i]) - aim.tilt_db(f_hz[i]))
        .collect();
    let count = over_tilt.len().max(1) as f64;
    let level_db = over_tilt.iter().sum::<f64>() / count;
    let off = |db: &f64| (db - level_db).abs();
    let worst = (0..band.len()).max_by(|&a, &b| off(&over_tilt[a]).total_cmp(&off(&over_tilt[b])));
    Evenness {
        rms_db: (over_tilt.iter().map(|db| off(db).powi(2)).sum::<f64>() / count).sqrt(),
        max_db: worst.map_or(0.0, |worst| off(&over_tilt[worst])),
        max_at_hz: worst.map_or(f_hz[0], |worst| f_hz[band[worst]]),
    }
}

fn vertical_change(project: &Project, sources: &Sources, axis: &[f64]) -> MostChange {
    let f_hz = sources.grid().f_hz();
    let mut found = MostChange {
        most_db: 0.0,
        at_hz: f_hz[0],
        angle_deg: 0.0,
    };
    for angle in [-10, -5, 5, 10] {
        let power = sources.power((Plane::Vertical, angle));
        for i in in_band(&project.aim, sources.grid()) {
            let change_db = power_level_db(power[i]) - power_level_db(axis[i]);
            if change_db.abs() > found.most_db.abs() {
                found = MostChange {
                    most_db: change_db,
                    at_hz: f_hz[i],
                    angle_deg: f64::from(angle),
                };
            }
        }
    }
    found
}

fn vertical_map(sources: &Sources, axis: &[f64]) -> LevelMap {
    let angles = (-MAP_DEG..=MAP_DEG).step_by(MAP_STEP_DEG);
    let rows = angles.clone().map(|angle| {
        let power = sources.power((Plane::Vertical, angle));
        (power.iter().zip(axis))
            .map(|(power, axis)| power_level_db(*power) - power_level_db(*axis))
            .collect()
    });
    LevelMap {
        level_db: rows.collect(),
        angle_deg: angles.map(f64::from).collect(),
    }
}

#[cfg(test)]
mod tests;

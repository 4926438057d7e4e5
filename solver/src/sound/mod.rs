//! From terminal voltages to sound at the listener: path, polarity, sum, level and target slopes.
//!
//! | file | what |
//! |---|---|
//! | `level` | decibels and degrees of a complex pressure |
//! | `path` | delay and level from a driver to the listener |
//! | `pressure` | sound of one way, and the sum of all |
//! | `target` | the complex target slope of one side of a crossover |

mod level;
mod path;
mod pressure;
mod target;

pub use level::{FLOOR_DB, level_db, level_db_series, phase_deg_series, unwrap_deg};
pub use path::{Path, path};
pub use pressure::{sum, way_pressure};
pub use target::{Side, target};

/// Speed of sound at 20 °C, m/s: ISO 9613-1 (from memory).
const SPEED_OF_SOUND_M_PER_S: f64 = 343.2;

/// Reference sound pressure in air, 20 µPa: ISO 1683.
const REFERENCE_PRESSURE_PA: f64 = 20e-6;

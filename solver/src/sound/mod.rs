//! From terminal voltages to sound at the listener: path, polarity, sum, level and target slopes.
//!
//! | file | what |
//! |---|---|
//! | `level` | decibels and degrees of a complex pressure |
//! | `ear` | where somebody listens, and in which direction each driver sees him |
//! | `coherence` | how the ways add over a window of directions |
//! | `directivity` | sound of a driver off its axis: tables, coverage, size |
//! | `path` | delay and level from a driver to the listener, and the aim there |
//! | `pressure` | sound of one way, and the sum of all |
//! | `target` | the complex target slope of one side of a crossover |

mod coherence;
mod directivity;
mod ear;
mod flight;
mod level;
mod path;
mod pressure;
mod target;
mod way;

pub use crate::logarithm::DB_PER_NEPER;
pub use coherence::Coherence;
pub use directivity::{Directivity, KnownFrom};
pub use ear::{Ear, pivot};
pub use flight::{Flight, flight, flight_of};
pub use level::{FLOOR_DB, gain_db, level_db, level_db_series, power_level_db};
pub use path::Path;
pub use pressure::{sign, sum, way_pressure};
pub(crate) use target::unevenness_db;
pub use target::{Side, target};
pub use way::{aim_at_listener, path, spreading_db, way_of, way_to};

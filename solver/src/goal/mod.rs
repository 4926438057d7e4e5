//! How far a loudspeaker is from what was asked: one definition, with its gradient.
//!
//! - *flatness*: rms and largest deviation in dB of the sum from the aim, 200 log-spaced points from
//!   the aim's lower to its upper end. With no level asked for, the level is the one of least rms.
//! - *match* of a way: rms dB between its sound and its target (aim level × alignment) where the
//!   target is above −24 dB, the weight rising from 0 at −24 dB to 1 at −12 dB.
//! - *phase match* at a crossover: mean |phase difference| in degrees over ± half an octave, counted from
//!   what the alignment asks for.
//! - *load*: least |Z| in the audio band, and the least equivalent peak dissipation resistance.

mod figures;
mod load;
mod objective;
mod setting;
mod slope_buffers;
mod slopes;
mod target;
mod terms;

pub use figures::{CrossoverFigures, Figures, figures};
pub use load::{LoadFigures, epdr_ohm};
pub use objective::Objective;
pub(crate) use objective::allowed_volt_db;
pub use setting::{Protected, Setting, ValueLaw, Variable, Weights};
pub(crate) use target::match_weight;
pub use target::{PhaseReference, Targets, WayTarget};
pub(crate) use terms::{TermSounds, graded, protection_scale};

/// Points of the band in which the sum is judged.
pub const POINTS: usize = 200;

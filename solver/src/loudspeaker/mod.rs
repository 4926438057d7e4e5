//! A project with a network over a grid, under given circumstances: what is computed from the file, in one place.
//!
//! | file | what |
//! |---|---|
//! | `circumstances` | hot coils, another amplifier, wire left out |
//! | `driver` | a driver of a project: impedance, sound and what it bears |
//! | `solved` | the whole: compiled, solved, its curves and load |

mod circumstances;
mod driver;
mod solved;

pub use circumstances::Circumstances;
pub use driver::{LoudspeakerDriver, driver_behind_lead};
pub use solved::{Curves, Loudspeaker};

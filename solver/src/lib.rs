//! *What it does*: from a network and loads to volts, sound, heat and spread, and back from a goal
//! to a network. Pure: no files, no printing, no clock; the same input gives the same output.
//!
//! # Conventions
//!
//! - Time convention e^(+jωt). Amplitudes are rms where nothing else is said.
//! - Node equations `Y v = i`: `Y` the complex symmetric admittance matrix over all nodes but
//!   `gnd`, `v` the node voltages against `gnd`, `i` the currents pushed into the nodes.
//! - Frequency is the inner index everywhere: a complex quantity over frequency is a
//!   [`spectrum::Spectrum`], real and imaginary parts in two arrays.
//! - Inside, SI in `f64`, the unit in the name where it is not obvious.
//!
//! # Folders, in the order in which data flows
//!
//! `grid`, `coil`, `synthesis` → `radiation`, `nodal` → `load` → `sound` → `goal` → `stock`, `loudspeaker` → `directions` →
//! `search` → `judge` → `compare`, `pad`, `built`. None needs one further on; a test holds it.

pub mod air;
pub mod amplifier;
pub mod built;
pub mod coil;
pub mod compare;
pub mod directions;
pub mod goal;
pub mod grid;
pub mod judge;
pub mod least_squares;
pub mod load;
mod logarithm;
pub mod loudspeaker;
pub mod nodal;
pub mod pad;
pub mod programme;
pub mod radiation;
pub mod search;
pub mod sound;
pub mod spectrum;
pub mod stock;
pub mod synthesis;
pub mod wiring;

//! *What is built*: quantities, parts, the network of parts, the project file, stock and measured
//! tables.
//!
//! Nothing here knows a frequency response; that is the solver's room. Imports run one way,
//! `cli → solver → netlist`.
//!
//! Conventions that every module keeps:
//! - values carry their unit as a type ([`quantity`]) where people type or read them, and hold SI;
//! - order is kept: nodes and parts are listed as the builder wrote them;
//! - a mistake is a `problem::Problem` with its place and the way out, and all mistakes of a
//!   file are reported together.

pub mod network;
pub mod problem;
pub mod project;
pub mod quantity;
pub mod series;
pub mod table;

//! Back from a goal to a network: continuous search of part values.

pub mod least_squares;

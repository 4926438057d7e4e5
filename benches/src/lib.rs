//! What the benchmarks share: the networks they run.

pub mod networks;

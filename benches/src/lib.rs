//! What the benchmarks share: the networks they run.

pub mod networks;
pub mod random_brief;
pub mod strangers_brief;

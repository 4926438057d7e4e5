//! What the tests share: random networks, and a slow, obvious solution of a network at one
//! frequency to hold the fast one against.

pub mod command;
pub mod dense_oracle;
pub mod flat;
pub mod random_network;

//! What outputs become when a few parts change, without solving the network again.

mod cascade;
mod standing;

pub(crate) use cascade::Cascade;
pub(crate) use standing::Standing;

//! From ideal values to the values of the stock: so that the loudspeaker changes least, or comes as near to
//! the aim as it can.

mod block;
mod block_search;
mod change;
mod effort;
mod explore;
mod goal;
mod goal_tables;
mod heat_bath;
mod model;
mod movable;
mod network;
mod offers;
mod point;
mod reference;
mod response;
mod search;
#[cfg(test)]
mod tests;
mod together;
mod weigh;

pub use change::SoundChange;
pub use explore::Known;
pub use network::{
    Selection, SnapMerit, SnapSettings, Snapped, snap_network, snap_quickly, snap_well,
};
pub use reference::SnapGoal;

//! From ideal values to the values of the stock, so that the loudspeaker changes least.

mod block;
mod block_search;
mod choices;
mod descent;
mod goal;
mod limits;
mod network;
mod search;
mod together;

pub use choices::{Choice, JOINED_PART, PartChoices, part_choices};
pub use descent::snap;
pub use network::{Known, Selection, SnapMerit, SnapSettings, Snapped, snap_network};
pub use search::SHORTLIST;

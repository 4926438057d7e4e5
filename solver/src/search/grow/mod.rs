//! Networks that grow: from ladders to whatever the drivers need, one section at a time.
//!
//! | file | what |
//! |---|---|
//! | `problem` | what is asked of a network, and the fit of its values |
//! | `section` | the sections that a network may grow by, in all sizes |
//! | `place` | where a network can change, and the change made in it |
//! | `scan` | what every move would come to, without solving anew |
//! | `respond` | what a move does to voltages and sounds |
//! | `population` | the best networks of every size |
//! | `step` | one step from a network: moves predicted, the promising tried, the best fitted |
//! | `growth` | up and down through the sizes until nothing changes |
//! | `recombine` | ways of several networks put together anew |
//! | `naming` | parts and nodes named in reading order |
//! | `start` | ladders to begin with, ways joined |

mod growth;
mod naming;
mod pace;
mod place;
mod population;
mod problem;
mod recombine;
mod respond;
mod scan;
mod section;
mod start;
mod step;

pub use growth::GrowthWatch;
pub use naming::in_reading_order;
pub use pace::{Effort, Pace};
pub use place::{Move, Place, block_of, moved, places, signature};
pub use population::{EARNS, Member, Population};
pub use problem::{Fitted, Free, JOINT_WEIGHTS, LOAD_MARGIN, PART_WORTH, Problem};
pub use scan::{Promise, Scan};
pub use section::{Catalogue, Joining, Losses, Section};
pub use start::{in_best_polarity, join, ladders, sets, way_start};
pub use step::{Growth, GrowthDirection};

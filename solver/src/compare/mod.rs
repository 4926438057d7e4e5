//! Loudspeakers held against each other: their figures side by side, which of two is better and whether tolerance
//! leaves it so, what differs in their parts, and what each wish costs.
//!
//! | file | what |
//! |---|---|
//! | `figure` | the figures that are compared, and which way each is better |
//! | `builds` | the same figures of builds drawn at random |
//! | `better` | which is better in what, and their order |
//! | `likeness` | whether they are about one loudspeaker at all |
//! | `ways` | which way of one is which of another |
//! | `roles` | parts by what they do, not by name |
//! | `wishes` | wishes that are not kept |
//! | `cost` | what each wish costs |

mod better;
mod builds;
mod cost;

mod figure;
mod likeness;
mod roles;
mod ways;
mod wishes;

pub use better::{Better, Comparison, Row, compare};
pub use cost::{CostMethod, Merits, Relaxed, WishContext, WishCost, wish_costs};

pub use figure::{Bill, Contender, Figure};
pub use likeness::{Likeness, likeness};
pub use roles::{Role, RolePiece, roles};
pub use ways::way_rows;
pub use wishes::{Wish, broken};

//! What can be bought: values of a stock, single and joined, the line of a part, and how much there is.
//!
//! | file | what |
//! |---|---|
//! | `kind` | kind of stock of a part; bounds of its values, and what its loss does when the value moves |
//! | `single` | single values of a kind: the lines of the catalogue, or the series where it lists none |
//! | `joined` | several together as one value: loss, tolerance and price of the whole |
//! | `choice` | a value that can be had, and what it is bought as |
//! | `choices` | what is offered for one part: single and joined values around its ideal one |
//! | `limits` | how much of each line there is, and what may be spent |
//! | `line` | the line that a part of a network was bought from: tolerance and rating |
//! | `stated` | values without digits that mean nothing |

mod choice;
mod choices;
mod joined;
mod kind;
mod limits;
mod line;
mod single;
pub(crate) mod stated;

pub use choice::{Choice, JOINED_PART};
pub use choices::{PartChoices, part_choices};
pub(crate) use joined::{about, joined_sets};
pub use kind::{loss_law, stock_kind, value_bounds};
pub(crate) use limits::{StockLimits, enough, lacks, left_by};
pub use line::{Origin, bought_line, tolerance};
pub(crate) use line::{listed_rating, resistor_power_w, tolerance_near, whole_rating};
pub use single::{SingleValue, singles};

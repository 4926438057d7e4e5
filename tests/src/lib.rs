//! What the tests share: random networks, a slow, obvious solution of a network at one frequency to
//! hold the fast one against, whole commands, and readers of what they write.

pub mod browser;
pub mod by_hand;
pub mod check;
mod chromium;
pub mod command;
pub mod compared;
pub mod dense_oracle;
pub mod document;
pub mod driver;
pub mod flat;
pub mod l_pad;
pub mod made;
pub mod markup;
pub mod pad;
pub mod planted;
pub mod project;
pub mod random_loudspeaker;
pub mod random_network;
pub mod snapping;
pub mod source_text;
pub mod tab;
pub mod textbook_pad;
pub mod verdict;

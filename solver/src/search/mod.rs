//! Back from a goal to a network: continuous search of part values, networks that grow, and values that
//! can be bought.

mod assess;
mod brief_error;
mod choice;
mod depth;
mod design;
mod explain;
pub mod grow;
mod heat;
mod improve;
mod job;
mod least_load;
mod open;
mod proposal;
mod protection;
mod snap;
mod values;
mod variant;
mod way;
mod worth;

pub use assess::{AudioLoads, audio_loads, judge};
pub(crate) use assess::{SolvedWays, sounds};
pub use brief_error::BriefError;
pub use depth::{Depth, alignment_choices, choose_alignments, depths, slopes_for};
pub use design::{Outcome, design};
pub use explain::{Lies, Purpose, purposes};
pub use grow::{JOINT_WEIGHTS, LOAD_MARGIN, PART_WORTH};
pub use improve::{ChangeKind, Improved, Improvement, improve, with_free_values};
pub(crate) use job::aim_grid;
pub use job::{Job, MOST_BELOW_RESONANCE_DB, least_load_ohm};
pub use least_load::LeastLoadFrom;
pub(crate) use least_load::least_in_band;
pub use open::Variant;
pub use proposal::{DesignSettings, Proposal, Reason};
pub use protection::{BelowResonance, below_resonance};
pub use snap::{
    Known, Selection, SnapGoal, SnapMerit, SnapSettings, Snapped, SoundChange, snap_network,
    snap_quickly, snap_well,
};
pub(crate) use values::{put_values, set_value};
pub use variant::SearchProgress;
pub use way::{Reach, Way};
pub use worth::CHOICE_WORTH;

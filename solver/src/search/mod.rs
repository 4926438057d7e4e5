//! Back from a goal to a network: continuous search of part values, choice among shapes, and
//! values that can be bought.

mod alternatives;
mod depth;
mod design;
mod job;
mod joint;
pub mod least_squares;
mod protection;
mod simplify;
mod snap;
mod stated;
mod way_fit;

pub use alternatives::Merit;
pub use depth::{Depth, alignment_choices, choose_alignments, depths};
pub use design::{Effort, Outcome, Progress, Proposal, audio_loads, design};
pub(crate) use job::aim_grid;
pub use job::{BriefError, Job, LEAST_SHARE_OF_RATED_LOAD, REFERENCE_V, Reach, Way};
pub use joint::{
    ADJUSTMENT, AudioLoads, Candidate, JOINT_WEIGHTS, LOAD_MARGIN, closed_form, fit_jointly,
    improve, judge,
};
pub use protection::{BelowResonance, DELICATE_FROM_HZ, MOST_BELOW_RESONANCE_DB, below_resonance};
pub use snap::{
    Choice, JOINED_PART, Known, PartChoices, SHORTLIST, Selection, SnapMerit, SnapSettings,
    Snapped, part_choices, snap, snap_network,
};
pub use way_fit::{WayFit, fit_shape, stock_kind, way_start};

//! What a part is worth.

/// A part more must gain this much of the goal to be chosen.
pub const PART_WORTH: f64 = 0.27;

//! What the builder must know: about a brief before the work, and about a design after it.
//!
//! | file | from | to |
//! |---|---|---|
//! | `finding` | — | a finding, its severity, the order |
//! | `finding_code` | — | what kinds of findings there are |
//! | `brief` | a brief made ready | all findings on it |
//! | `margins` | crossovers and drivers | usable band, resonance, horn cut-off |
//! | `levels` | ways | what must be taken away, least load that the drivers allow |
//! | `data` | notes of the loads (`notes`), project | gaps in the data, what cannot be checked |
//! | `near_field` | near fields | how they meet the far field, how far up they hold |
//! | `design` | figures of a network | all findings on it |
//! | `check` | a design | figures, load, hot coils, wire, and all findings on it |
//! | `stress` | a design | what every part and driver must survive |
//! | `judged_loudspeaker` | a project with its network | a loudspeaker over one grid, with what it is judged by |
//! | `tolerance` | a loudspeaker | what part tolerance does, builds drawn at random |
//! | `faults` | a loudspeaker | what each loose wire, open part or short circuit does |
//!
//! Limits that no standard gives are marked as common practice where they stand.

mod amplifier_table;
mod brief;
mod cabinet;
pub mod centres;
pub mod check;
mod data;
mod design;
pub mod faults;
mod finding;
mod finding_code;
#[cfg(test)]
mod fixture;
mod judged_loudspeaker;
mod levels;
mod limits;
mod margin_side;
mod margins;
mod near_field;
mod notes;
mod stress;
pub mod sum_depth;
mod tables;
pub mod tolerance;

pub use brief::brief_findings;
pub use check::DIRECT_HZ;
pub use design::{design_findings, load_findings};
pub use finding::{Finding, Severity, listed, rounded, sort_findings};
pub use finding_code::FindingCode;
pub use judged_loudspeaker::JudgedLoudspeaker;
pub use limits::{LIMITS, Limits};
pub(crate) use stress::resistor_rated_w;
pub use stress::{
    DriverLimits, DriverStress, Excursion, KeptFrom, NoiseStress, PartStress, PlaysFrom, Rating,
    SineStress, Stress, StressedKind, Worst, resistor_w, stress,
};

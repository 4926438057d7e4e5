//! Steps about the design level, to adjust by ear and to return.

use super::candidate::{Candidate, TOLERANCE_DB};
use super::drive_source::PadSourceKind;
use super::size::PadSite;
use super::study::Study;
use super::target::{Counted, PadTarget};
use crate::synthesis::PadKind;

/// Least attenuation that a step is sized for, in dB: below, the driver is better left without a pad.
const LEAST_DB: f64 = 0.3;

/// A step that is further than this from its level is none, in dB.
const FARTHEST_DB: f64 = 0.5;
/// Pads of one step that are looked at closely.
const LOOKED_AT: usize = 3;

/// One step.
#[derive(Debug, Clone)]
pub struct Step {
    /// Wanted change of the driver's mean level over its band against the design, in dB: above 0 is louder.
    pub level_db: f64,
    /// The change that it really is, in dB: of the voltage at the driver in its network; where there is none,
    /// of the attenuation. `None` without a pad.
    pub change_db: Option<f64>,
    /// The pad for it; `None` for the design itself, where no pad can be that small, and where the stock
    /// comes no nearer than half a decibel.
    pub candidate: Option<Candidate>,
    /// Whether no pad can be that small: the driver would have to be as loud as without one, or louder.
    pub without_pad: bool,
    /// Whether this is the design.
    pub design: bool,
}

impl Step {
    /// The pad that is shown for it: its own, or the design; `None` where there is none.
    #[must_use]
    pub fn shown<'a>(&'a self, design: &'a Study) -> Option<&'a Study> {
        let own = self.candidate.as_ref().map(|candidate| &candidate.study);
        own.or(self.design.then_some(design))
    }

    /// Whether the level is within [`TOLERANCE_DB`] of the step.
    #[must_use]
    pub fn met(&self) -> bool {
        (self.change_db).is_some_and(|change_db| (change_db - self.level_db).abs() <= TOLERANCE_DB)
    }
}

/// Steps of 1 dB from `range_db` softer to `range_db` louder at the driver, the softest first. Each is the pad
/// from stock that keeps the load of the filter nearest to what it is with the design.
///
/// In a network the filter's own impedance counts: another load changes what it gives. Where nothing is built
/// yet, the filter will be designed for the pad, and the attenuation alone counts.
#[must_use]
pub fn steps(design: &Study, site: PadSite<'_>, target: &PadTarget, range_db: u8) -> Vec<Step> {
    let kind = design.pad.kind();
    let counted = match site.feed.kind {
        PadSourceKind::Network => Counted::Insertion,
        PadSourceKind::Amplifier | PadSourceKind::Textbook => Counted::Attenuation,
    };
    let target = PadTarget {
        kind,
        counted,
        kept_ohm: design.kept_ohm(site.load),
        // A limit that the design does not keep is none for its steps: they stay near its load.
        least_ohm: match design.seen.least < target.least_ohm {
            true => 0.0,
            false => target.least_ohm,
        },
        ..target.clone()
    };
    let design_db = counted.of(design);
    // A winding can match a filter to its driver and make it louder than straight on; resistors cannot.
    let least_db = match (counted, kind) {
        (Counted::Insertion, PadKind::Autoformer) => f64::NEG_INFINITY,
        _ => LEAST_DB,
    };
    let range = i16::from(range_db);
    let step = |level: i16| {
        let level_db = f64::from(level);
        let wanted_db = design_db - level_db;
        let is_design = level == 0;
        let without_pad = !is_design && wanted_db < least_db;
        let mut found = Vec::new();
        if !is_design && !without_pad {
            found = site.sized(&target.at(wanted_db), LOOKED_AT);
        }
        let near = |found: &Candidate| (counted.of(&found.study) - wanted_db).abs() <= FARTHEST_DB;
        let mut step = Step {
            level_db,
            change_db: None,
            candidate: found.into_iter().find(near),
            without_pad,
            design: is_design,
        };
        step.change_db = (step.shown(design)).map(|study| design_db - counted.of(study));
        step
    };
    (-range..=range).map(step).collect()
}

//! The ideal pad on a real load.
//!
//! With two resistors there is a whole family of pads of one attenuation, from a large series resistor
//! and a large shunt to small ones of both. Which of them is right the filter decides: it was, or will
//! be, designed for a certain load.

use super::drive_source::PadSource;
use super::load::PadLoad;
use super::samples::Samples;
use super::study::Study;
use super::target::{Counted, PadTarget};
use crate::synthesis::{Pad, PadKind, SynthesisError};

/// A shunt that is this many times the load is as good as none.
const NO_SHUNT: f64 = 200.0;

/// The ideal pad on this load: it has the asked attenuation in the mean over the driver's band, and where
/// there are two values the load of the filter is in the mean the asked one. On a resistor that is the
/// textbook's pad.
///
/// Where no shunt is needed, because the driver with the series resistor is not above the asked load,
/// the ideal is the series resistor alone.
///
/// # Errors
/// If the attenuation is not above 0 and at most 80 dB.
pub fn ideal(load: &PadLoad, feed: &PadSource, target: &PadTarget) -> Result<Pad, SynthesisError> {
    // The closed form checks the attenuation, and stands where nothing is found.
    let textbook = Pad::size(target.kind, target.attenuation_db, load.reference_ohm)?;
    let samples = Samples::new(load, feed, target, usize::MAX);
    let value = |shunt_ohm: f64| samples.value(Some(shunt_ohm)).ok();
    let alone = samples.value(None).ok();
    let shunt_ohm = match target.kind {
        PadKind::Series => None,
        PadKind::LPad => samples.keeping(value),
        // At the input a small one keeps anything, by loading what drives the pad: where none does beside what is right
        // alone, there is none.
        PadKind::ShuntSeries | PadKind::Autoformer => {
            (samples.keeping(|_| alone)).and_then(|_| samples.keeping(value))
        }
    };
    let needed = shunt_ohm.filter(|ohm| *ohm < NO_SHUNT * load.reference_ohm);
    let pad = |shunt_ohm| Some(samples.pad(samples.value(shunt_ohm).ok()?, shunt_ohm));
    Ok(pad(needed).or_else(|| pad(None)).unwrap_or(textbook))
}

/// The ideal pad with which the driver gets `insertion_db` less than straight on the feed, in the mean over its
/// band; kind and load as asked. `None` where no pad does that.
pub(super) fn ideal_at_driver(
    load: &PadLoad,
    feed: &PadSource,
    target: &PadTarget,
    insertion_db: f64,
) -> Option<Study> {
    /// What is further off was not found.
    const NEAR_DB: f64 = 0.1;
    let target = PadTarget {
        counted: Counted::Insertion,
        ..target.at(insertion_db)
    };
    let study = Study::new(ideal(load, feed, &target).ok()?, load, feed);
    let found = (study.insertion_db - insertion_db).abs() < NEAR_DB;
    (found && study.mean_db > 0.0).then_some(study)
}

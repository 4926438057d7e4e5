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

/// Halvings of that range in the logarithm: enough for all digits of a number of the machine.
const HALVINGS: usize = 60;
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
    ideal_as(load, feed, target, Counted::Attenuation)
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
    let pad = ideal_as(load, feed, &target.at(insertion_db), Counted::Insertion).ok()?;
    let study = Study::new(pad, load, feed);
    let found = (study.insertion_db - insertion_db).abs() < NEAR_DB;
    (found && study.mean_db > 0.0).then_some(study)
}

fn ideal_as(
    load: &PadLoad,
    feed: &PadSource,
    target: &PadTarget,
    counted: Counted,
) -> Result<Pad, SynthesisError> {
    // Closed forms check the attenuation, and stand where nothing is found.
    let textbook = Pad::size(target.kind, target.attenuation_db, load.reference_ohm)?;
    let samples = Samples::new(load, feed, target, counted, usize::MAX, HALVINGS);
    let needed = |ohm: &f64| *ohm < NO_SHUNT * load.reference_ohm;
    let keeping = |pad: &dyn Fn(f64) -> Pad| {
        (samples.crossing(|ohm| samples.load_db(pad(ohm)))).filter(needed)
    };
    let alone = samples.value(true, |series_ohm| Pad::Series { series_ohm });
    let mut found = alone.map(|series_ohm| Pad::Series { series_ohm });
    match target.kind {
        PadKind::Series => {}
        PadKind::LPad => {
            let pad = |shunt_ohm: f64| {
                let series_ohm = samples.series_for(shunt_ohm)?;
                Some(Pad::l_pad(series_ohm, shunt_ohm))
            };
            // A shunt so small that it attenuates too much alone shows the filter too little.
            let shunt_ohm = samples.crossing(|shunt_ohm| {
                pad(shunt_ohm).map_or(f64::NEG_INFINITY, |pad| samples.load_db(pad))
            });
            found = shunt_ohm.filter(needed).and_then(pad).or(found);
        }
        PadKind::ShuntSeries => {
            for _ in 0..rounds(counted) {
                let Some(series_ohm) = found.and_then(Pad::series_ohm) else {
                    break;
                };
                let Some(shunt_ohm) = keeping(&|shunt| Pad::shunt_series(shunt, series_ohm)) else {
                    break;
                };
                let series_ohm = match counted {
                    Counted::Attenuation => series_ohm,
                    Counted::Insertion => {
                        samples.nearest(true, |series_ohm| Pad::shunt_series(shunt_ohm, series_ohm))
                    }
                };
                found = Some(Pad::shunt_series(shunt_ohm, series_ohm));
            }
        }
        PadKind::Autoformer => {
            let mut ratio = samples.ratio_or_ideal(None);
            let mut shunt_ohm = None;
            for _ in 0..rounds(counted) {
                shunt_ohm = keeping(&|ohm| Pad::Autoformer {
                    ratio,
                    shunt_ohm: Some(ohm),
                });
                if counted == Counted::Insertion {
                    ratio = samples.ratio_or_ideal(shunt_ohm);
                }
            }
            found = Some(Pad::Autoformer { ratio, shunt_ohm });
        }
    }
    Ok(found.unwrap_or(textbook))
}

/// How often two values are found in turn: a shunt before the pad changes no attenuation, but the level.
fn rounds(counted: Counted) -> usize {
    match counted {
        Counted::Attenuation => 1,
        Counted::Insertion => 12,
    }
}

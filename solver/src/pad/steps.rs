//! Steps about the design level, to adjust by ear and to return.

use super::candidate::Candidate;
use super::feed::Feed;
use super::load::PadLoad;
use super::size::sized;
use super::stock::Resistors;
use super::study::Study;
use super::wish::Wish;

/// Least attenuation that a step is sized for, in dB: below, the driver is better left without a pad.
pub const LEAST_DB: f64 = 0.3;

/// A step that is further than this from its level is none, in dB.
const FARTHEST_DB: f64 = 0.5;

/// One step.
#[derive(Debug, Clone)]
pub struct Step {
    /// Change of the driver's level against the design, in dB: above 0 is louder.
    pub level_db: f64,
    /// The pad for it; `None` for the design itself, where no pad can be that small, and where the stock
    /// comes no nearer than half a decibel.
    pub candidate: Option<Candidate>,
    /// Attenuation of the step, in dB; below 0 where the driver would have to be louder than without a pad.
    pub wanted_db: f64,
    /// Whether this is the design.
    pub design: bool,
}

/// Steps of 1 dB from `range_db` softer to `range_db` louder, the softest first. Each is the pad from stock
/// that keeps the load of the filter nearest to what it is with the design.
#[must_use]
pub fn steps(
    design: &Study,
    load: &PadLoad,
    feed: &Feed,
    wish: &Wish,
    resistors: &Resistors,
    open_circuit_v: f64,
    range_db: u8,
) -> Vec<Step> {
    let range = i16::from(range_db);
    let wish = Wish {
        kind: design.pad.kind(),
        kept_ohm: design.kept_ohm(load),
        ..wish.clone()
    };
    (-range..=range)
        .map(|level| {
            let level_db = f64::from(level);
            let wanted_db = design.mean_db - level_db;
            let candidate = (level != 0 && wanted_db >= LEAST_DB).then(|| {
                let wish = wish.at(wanted_db);
                let best = sized(load, feed, &wish, resistors, open_circuit_v, 1);
                (best.into_iter())
                    .find(|best| (best.study.mean_db - wanted_db).abs() <= FARTHEST_DB)
            });
            Step {
                level_db,
                candidate: candidate.flatten(),
                wanted_db,
                design: level == 0,
            }
        })
        .collect()
}

//! The document of a pad that is not there: the level is set inside the filter.

use serde::Serialize;
use solver::judge::Finding;
use solver::pad::{Inside, LevelStep, Lever, PadOrigin, PartChange};

use super::super::request::Request;
use super::figures::SpeakerFigures;

/// All of it; what belongs to a pad is null.
#[derive(Serialize)]
pub(in super::super) struct InsideDocument<'a> {
    kind: (),
    series_ohm: (),
    shunt_ohm: (),
    origin: PadOrigin,
    driver: Option<&'a str>,
    band_hz: (f64, f64),
    attenuation_db: f64,
    /// There is no pad that could be seen, or take power.
    seen_ohm: (),
    power_w: NoPower,
    curves: (),
    levers: &'a [Lever],
    steps: Vec<StepInside<'a>>,
    loudspeaker: SpeakerFigures,
    findings: [Finding; 0],
}

#[derive(Serialize, Default)]
struct NoPower {
    series: (),
    shunt: (),
    driver: (),
}

/// A step by ear.
#[derive(Serialize)]
struct StepInside<'a> {
    level_db: f64,
    change_db: Option<f64>,
    uneven_db: Option<f64>,
    design: bool,
    changes: &'a [PartChange],
    loudspeaker: Option<SpeakerFigures>,
}

impl<'a> InsideDocument<'a> {
    pub(in super::super) fn new(request: &'a Request, inside: &'a Inside) -> Self {
        Self {
            kind: (),
            series_ohm: (),
            shunt_ohm: (),
            origin: PadOrigin::AsBuilt,
            driver: request.driver.as_deref(),
            band_hz: inside.band_hz,
            attenuation_db: inside.taken_db,
            seen_ohm: (),
            power_w: NoPower::default(),
            curves: (),
            levers: &inside.levers,
            steps: inside.steps.iter().map(StepInside::from).collect(),
            loudspeaker: SpeakerFigures::new(&inside.speaker, None),
            findings: [],
        }
    }
}

impl<'a> From<&'a LevelStep> for StepInside<'a> {
    fn from(step: &'a LevelStep) -> Self {
        let met = step.met.as_ref();
        Self {
            level_db: step.level_db,
            change_db: met.map(|met| met.change_db),
            uneven_db: met.map(|met| met.uneven_db),
            design: step.is_design(),
            changes: &step.changes,
            loudspeaker: met.map(|met| SpeakerFigures::new(&met.speaker, None)),
        }
    }
}

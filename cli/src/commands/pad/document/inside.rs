//! The document of a pad that is not there: the level is set inside the filter.

use serde::Serialize;
use solver::judge::{Finding, Rating};
use solver::pad::{Inside, LevelStep, Lever, PartChange, Where};

use super::super::request::Request;
use super::figures::SpeakerFigures;

/// All of it; what belongs to a pad is null.
#[derive(Serialize)]
pub(in super::super) struct InsideDocument<'a> {
    kind: (),
    series_ohm: (),
    shunt_ohm: (),
    origin: &'static str,
    driver: Option<&'a str>,
    band_hz: (f64, f64),
    attenuation_db: f64,
    /// There is no pad that could be seen, or take power.
    seen_ohm: (),
    power_w: NoPower,
    curves: (),
    levers: Vec<PartOfLevel<'a>>,
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

/// A part by which the level is set.
#[derive(Serialize)]
struct PartOfLevel<'a> {
    part: &'a str,
    kind: &'static str,
    value_si: f64,
    tenth_more_db: f64,
    uneven_db: f64,
}

/// A step by ear.
#[derive(Serialize)]
struct StepInside<'a> {
    level_db: f64,
    change_db: Option<f64>,
    uneven_db: Option<f64>,
    design: bool,
    changes: Vec<ExchangedPart<'a>>,
    loudspeaker: Option<SpeakerFigures>,
}

/// A part exchanged, or put in.
#[derive(Serialize)]
struct ExchangedPart<'a> {
    part: &'a str,
    kind: &'static str,
    place: &'static str,
    from_si: Option<f64>,
    to_si: f64,
    rating: Option<Rating>,
}

impl<'a> InsideDocument<'a> {
    pub(in super::super) fn new(request: &'a Request, inside: &'a Inside) -> Self {
        Self {
            kind: (),
            series_ohm: (),
            shunt_ohm: (),
            origin: "design",
            driver: request.driver.as_deref(),
            band_hz: inside.band_hz,
            attenuation_db: inside.taken_db,
            seen_ohm: (),
            power_w: NoPower::default(),
            curves: (),
            levers: inside.levers.iter().map(PartOfLevel::from).collect(),
            steps: inside.steps.iter().map(StepInside::from).collect(),
            loudspeaker: SpeakerFigures::new(&inside.speaker, None),
            findings: [],
        }
    }
}

impl<'a> From<&'a Lever> for PartOfLevel<'a> {
    fn from(lever: &'a Lever) -> Self {
        Self {
            part: &lever.part,
            kind: lever.kind.word(),
            value_si: lever.value_si,
            tenth_more_db: lever.tenth_db,
            uneven_db: lever.uneven_db,
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
            changes: step.changes.iter().map(ExchangedPart::from).collect(),
            loudspeaker: met.map(|met| SpeakerFigures::new(&met.speaker, None)),
        }
    }
}

impl<'a> From<&'a PartChange> for ExchangedPart<'a> {
    fn from(change: &'a PartChange) -> Self {
        Self {
            part: &change.part,
            kind: change.kind.word(),
            place: match change.place {
                Where::InPlace => "network",
                Where::BeforeDriver => "before-driver",
                Where::AcrossDriver => "across-driver",
            },
            from_si: change.from_si,
            to_si: change.to_si,
            rating: change.rating,
        }
    }
}

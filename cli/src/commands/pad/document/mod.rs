//! The JSON document of `pad`.

mod figures;
mod inside;

use serde::Serialize;
use solver::judge::Finding;
use solver::pad::{
    Criterion, HotPad, PadAnswer, PadInNetwork, PadLoad, PadOrigin, PadSourceKind, Step, Study,
};

use figures::{PadColumnFields, PadFigures, PadValues, StockPad};

pub(super) use inside::InsideDocument;

/// All of it: the pad that is looked at, then what it is held against.
#[derive(Serialize)]
pub(super) struct PadDocument<'a> {
    #[serde(flatten)]
    chosen: PadColumnFields<'a>,
    origin: PadOrigin,
    driver: Option<&'a str>,
    rated_ohm: f64,
    reference_ohm: f64,
    band_hz: [f64; 2],
    filter_band_hz: [f64; 2],
    feed: PadSourceKind,
    amplifier: AmplifierOfPad,
    #[serde(skip_serializing_if = "Option::is_none")]
    curves: Option<CurvesOfPad<'a>>,
    parts: Option<&'a [String]>,
    #[serde(flatten)]
    in_network: Option<InNetwork<'a>>,
    ideal: Option<PadFigures>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    stock: Vec<RankedPad>,
    steps: Vec<PadStepDocument<'a>>,
    built: Option<PadColumnFields<'a>>,
    textbook: Option<PadColumnFields<'a>>,
    hot: Option<HotPad>,
    findings: &'a [Finding],
}

#[derive(Serialize)]
struct AmplifierOfPad {
    power_w: f64,
    load_ohm: f64,
    output_impedance_ohm: f64,
    assumed: bool,
}

/// What is about the pad in its network.
#[derive(Serialize)]
struct InNetwork<'a> {
    across: Vec<&'a str>,
    bridge: &'a [String],
    place: PlaceOfPad<'a>,
}

/// Where the pad is in the network, and what of the way stays as it is.
#[derive(Serialize)]
struct PlaceOfPad<'a> {
    at: &'static str,
    /// A new one behind all that is there, right before the driver.
    added: bool,
    in_file: &'a [String],
    series_parts: Vec<&'a str>,
    shunt_parts: Vec<&'a str>,
    behind: &'a [String],
    tail: bool,
    return_lead: &'a [String],
    stays: &'a [String],
}

#[derive(Serialize)]
struct CurvesOfPad<'a> {
    frequency_hz: &'a [f64],
    load_ohm: Vec<f64>,
    load_phase_deg: Vec<f64>,
    attenuation_db: &'a [f64],
    seen_ohm: Vec<f64>,
    seen_phase_deg: Vec<f64>,
    source_ohm: Vec<f64>,
    source_phase_deg: Vec<f64>,
}

/// A pad from stock, and what put the first one before it; null for the first.
#[derive(Serialize)]
struct RankedPad {
    #[serde(flatten)]
    pad: StockPad,
    first_by: Option<Criterion>,
}

/// A step by ear: a pad from stock, the one that is looked at, or none.
#[derive(Serialize)]
struct PadStepDocument<'a> {
    #[serde(flatten)]
    stock: Option<StockPad>,
    #[serde(flatten)]
    looked_at: Option<PadColumnFields<'a>>,
    #[serde(flatten)]
    none: Option<PadValues>,
    level_db: f64,
    change_db: Option<f64>,
    met: bool,
    design: bool,
}

impl<'a> PadDocument<'a> {
    pub(super) fn new(answer: &'a PadAnswer<'_>) -> Self {
        let load = &answer.bench.load;
        let loudness = answer.bench.loudness;
        let as_built = answer.question.goal.origin() == PadOrigin::AsBuilt;
        let place = answer.bench.place.as_ref();
        let column = |column| PadColumnFields::new(answer, column);
        let curves = match &answer.at {
            Some((load, study)) => Some(CurvesOfPad::new(load, study)),
            None => {
                (answer.driver().is_some()).then(|| CurvesOfPad::new(load, &answer.chosen.study))
            }
        };
        Self {
            chosen: column(&answer.chosen),
            origin: answer.question.goal.origin(),
            driver: answer.driver(),
            rated_ohm: load.rated_ohm,
            reference_ohm: load.reference_ohm,
            band_hz: load.band_hz,
            filter_band_hz: load.filter_band_hz,
            feed: answer.bench.feed.kind,
            amplifier: AmplifierOfPad {
                power_w: loudness.power_w,
                load_ohm: loudness.load_ohm,
                output_impedance_ohm: answer.bench.output_ohm.norm(),
                assumed: !loudness.stated,
            },
            curves,
            parts: place.filter(|_| as_built).map(|place| &*place.parts),
            in_network: place.map(|place| InNetwork::new(answer, place)),
            ideal: answer.ideal.as_ref().map(PadFigures::new),
            stock: ranked(answer),
            steps: (answer.steps.iter())
                .map(|step| PadStepDocument::new(answer, step))
                .collect(),
            built: answer.built.as_ref().map(column),
            textbook: answer.textbook.as_ref().map(column),
            hot: answer.hot,
            findings: &answer.findings,
        }
    }
}

impl<'a> InNetwork<'a> {
    fn new(answer: &'a PadAnswer<'_>, place: &'a PadInNetwork) -> Self {
        let names = |shares: &'a [(String, f64)]| -> Vec<&'a str> {
            shares.iter().map(|(name, _)| name.as_str()).collect()
        };
        let across = place.across.iter().chain(&place.across_drivers);
        Self {
            across: across.map(String::as_str).collect(),
            bridge: &place.bridge,
            place: PlaceOfPad {
                at: match (place.ahead_of_filter(), place.at_amplifier()) {
                    (false, _) => "driver",
                    (true, true) => "amplifier",
                    (true, false) => "filter",
                },
                added: answer.added(),
                in_file: &place.parts,
                series_parts: names(&place.series),
                shunt_parts: names(&place.shunt),
                behind: &place.behind,
                tail: place.tail,
                return_lead: &answer.bench.return_lead,
                stays: &place.stays,
            },
        }
    }
}

impl<'a> CurvesOfPad<'a> {
    fn new(load: &'a PadLoad, study: &'a Study) -> Self {
        let curves = &study.curves;
        Self {
            frequency_hz: load.grid.f_hz(),
            load_ohm: load.z_ohm.magnitude(),
            load_phase_deg: load.z_ohm.phase_deg(),
            attenuation_db: &curves.attenuation_db,
            seen_ohm: curves.seen_ohm.magnitude(),
            seen_phase_deg: curves.seen_ohm.phase_deg(),
            source_ohm: curves.source_ohm.magnitude(),
            source_phase_deg: curves.source_ohm.phase_deg(),
        }
    }
}

/// Pads from stock, best first.
fn ranked(answer: &PadAnswer<'_>) -> Vec<RankedPad> {
    let wanted_db = answer.target.attenuation_db;
    let ranked = answer.candidates.iter().enumerate();
    let ranked = ranked.map(|(i, candidate)| RankedPad {
        pad: candidate.into(),
        first_by: (answer.best().filter(|_| i > 0))
            .and_then(|first| first.before(candidate, wanted_db)),
    });
    ranked.collect()
}

impl<'a> PadStepDocument<'a> {
    fn new(answer: &'a PadAnswer<'_>, step: &Step) -> Self {
        let none = step.candidate.is_none() && !step.design;
        Self {
            stock: step.candidate.as_ref().map(StockPad::from),
            looked_at: (step.design).then(|| PadColumnFields::new(answer, &answer.chosen)),
            none: none.then(PadValues::default),
            level_db: step.level_db,
            change_db: step.change_db,
            met: step.met(),
            design: step.design,
        }
    }
}

//! A pad's figures, and those of the loudspeaker with it, by the names of the documents.

use netlist::network::Joined;
use serde::Serialize;
use solver::pad::{
    Candidate, Cost, DriveChange, Extent, LoudspeakerChange, LoudspeakerFigures, PadAnswer,
    PadColumn, PadHeat, PartHeat, Study, WindingOrigin,
};
use solver::stock::Choice;
use solver::synthesis::{Pad, PadKind};

use crate::document::{Flatness, LeastLoad};

/// How a pad is built; all null where there is none.
#[derive(Serialize, Default)]
pub(super) struct PadValues {
    kind: Option<PadKind>,
    series_ohm: Option<f64>,
    shunt_ohm: Option<f64>,
    ratio: Option<f64>,
}

/// A pad on its load.
#[derive(Serialize)]
pub(super) struct PadFigures {
    #[serde(flatten)]
    values: PadValues,
    attenuation_db: f64,
    seen_ohm: f64,
    attenuation: Attenuation,
    seen: ImpedanceRange,
    source: ImpedanceRange,
    /// Heat with programme.
    power_w: OfParts<f64>,
    /// Heat with a steady sine at the worst frequency.
    sine_w: OfParts<PartHeat>,
    /// What to buy.
    rating_w: OfParts<f64>,
}

/// Attenuation over the driver's band.
#[derive(Serialize)]
struct Attenuation {
    mean_db: f64,
    least_db: f64,
    least_at_hz: f64,
    most_db: f64,
    most_at_hz: f64,
    departure_db: f64,
    departure_at_hz: f64,
}

/// An impedance over a band.
#[derive(Serialize)]
struct ImpedanceRange {
    least_ohm: f64,
    least_at_hz: f64,
    most_ohm: f64,
    most_at_hz: f64,
    swing: f64,
}

/// Something of each resistor of a pad, of its driver and of its input.
#[derive(Serialize)]
struct OfParts<T> {
    series: Option<T>,
    shunt: Option<T>,
    #[serde(skip_serializing_if = "Option::is_none")]
    driver: Option<T>,
    #[serde(skip_serializing_if = "Option::is_none")]
    input: Option<T>,
}

impl<T> OfParts<T> {
    fn new(heat: &PadHeat, of: impl Fn(PartHeat) -> T) -> Self {
        Self {
            series: heat.series.map(&of),
            shunt: heat.shunt.map(&of),
            driver: Some(of(heat.driver)),
            input: Some(of(heat.input)),
        }
    }
}

impl From<Pad> for PadValues {
    fn from(pad: Pad) -> Self {
        Self {
            kind: Some(pad.kind()),
            series_ohm: pad.series_ohm(),
            shunt_ohm: pad.shunt_ohm(),
            ratio: pad.ratio(),
        }
    }
}

impl PadFigures {
    pub(super) fn new(study: &Study) -> Self {
        let (departure_db, departure_at_hz) = study.departure();
        let heat = &study.heat;
        Self {
            values: study.pad.into(),
            attenuation_db: study.nominal_db,
            seen_ohm: study.seen_reference_ohm,
            attenuation: Attenuation {
                mean_db: study.mean_db,
                least_db: study.attenuation.least,
                least_at_hz: study.attenuation.least_at_hz,
                most_db: study.attenuation.most,
                most_at_hz: study.attenuation.most_at_hz,
                departure_db,
                departure_at_hz,
            },
            seen: study.seen.into(),
            source: study.source.into(),
            power_w: OfParts::new(heat, |part| part.programme_w),
            sine_w: OfParts {
                input: None,
                ..OfParts::new(heat, |part| part)
            },
            rating_w: OfParts {
                driver: None,
                input: None,
                ..OfParts::new(heat, |part| part.to_buy_w())
            },
        }
    }
}

impl From<Extent> for ImpedanceRange {
    fn from(extent: Extent) -> Self {
        Self {
            least_ohm: extent.least,
            least_at_hz: extent.least_at_hz,
            most_ohm: extent.most,
            most_at_hz: extent.most_at_hz,
            swing: extent.ratio(),
        }
    }
}

/// A pad that is looked at, with what it does to the crossover and to the loudspeaker.
#[derive(Serialize)]
pub(super) struct PadColumnFields<'a> {
    #[serde(flatten)]
    figures: PadFigures,
    crossover: Option<&'a DriveChange>,
    loudspeaker: Option<SpeakerFigures>,
    #[serde(flatten)]
    autoformer: Option<AutoformerFigures>,
}

/// What only an autoformer has.
#[derive(Serialize)]
struct AutoformerFigures {
    core: Core,
    winding: WindingData,
}

#[derive(Serialize)]
struct Core {
    volts_per_hertz: f64,
    at_hz: f64,
    limit_volts_per_hertz: f64,
}

#[derive(Serialize)]
struct WindingData {
    from: WindingOrigin,
    inductance_h: Option<f64>,
    dcr_ohm: Option<f64>,
    coupling: Option<f64>,
}

impl<'a> PadColumnFields<'a> {
    pub(super) fn new(answer: &PadAnswer<'_>, column: &'a PadColumn) -> Self {
        let is_autoformer = column.study.pad.kind() == PadKind::Autoformer;
        let speaker = column.speaker.as_ref();
        Self {
            figures: PadFigures::new(&column.study),
            crossover: column.change.as_ref(),
            loudspeaker: speaker.map(|found| SpeakerFigures::new(found, column.speaker_change)),
            autoformer: is_autoformer.then(|| AutoformerFigures::new(answer, &column.study.heat)),
        }
    }
}

impl AutoformerFigures {
    fn new(answer: &PadAnswer<'_>, heat: &PadHeat) -> Self {
        let (volts_per_hertz, at_hz) = heat.volts_per_hertz;
        let winding = answer.bench.load.winding.as_ref();
        Self {
            core: Core {
                volts_per_hertz,
                at_hz,
                limit_volts_per_hertz: answer.question.core_v_per_hz,
            },
            winding: WindingData {
                from: answer.winding_from(),
                inductance_h: winding.map(|winding| winding.inductance_h),
                dcr_ohm: winding.map(|winding| winding.dcr_ohm),
                coupling: winding.map(|winding| winding.coupling),
            },
        }
    }
}

/// The loudspeaker with a pad.
#[derive(Serialize)]
pub(super) struct SpeakerFigures {
    level_db: f64,
    flatness: Flatness,
    load: Option<LeastLoad>,
    change: Option<LoudspeakerChange>,
}

impl SpeakerFigures {
    pub(super) fn new(speaker: &LoudspeakerFigures, change: Option<LoudspeakerChange>) -> Self {
        Self {
            level_db: speaker.figures.level_db,
            flatness: (&speaker.figures).into(),
            load: speaker.load.as_ref().map(LeastLoad::from),
            change,
        }
    }
}

/// A pad from stock.
#[derive(Serialize)]
pub(super) struct StockPad {
    #[serde(flatten)]
    figures: PadFigures,
    series_made_of: Option<ResistorsOfOne>,
    shunt_made_of: Option<ResistorsOfOne>,
    resistors: u32,
    worked: f64,
    load_off_db: f64,
    price: Option<f64>,
    cost_db: f64,
    cost: Cost,
}

/// What a resistor is made of, when it is not one.
#[derive(Serialize)]
struct ResistorsOfOne {
    joined: &'static str,
    values_ohm: Vec<f64>,
    rating_w: Option<Vec<f64>>,
}

impl From<&Candidate> for StockPad {
    fn from(candidate: &Candidate) -> Self {
        let heat = &candidate.study.heat;
        Self {
            figures: PadFigures::new(&candidate.study),
            series_made_of: ResistorsOfOne::of(candidate.series.as_ref(), heat.series),
            shunt_made_of: ResistorsOfOne::of(candidate.shunt.as_ref(), heat.shunt),
            resistors: candidate.count(),
            worked: candidate.worked(),
            load_off_db: candidate.cost.load_db,
            price: candidate.price(),
            cost_db: candidate.cost.total_db(),
            cost: candidate.cost,
        }
    }
}

impl ResistorsOfOne {
    fn of(resistor: Option<&Choice>, heat: Option<PartHeat>) -> Option<Self> {
        let made_of = resistor?.made_of.as_ref()?;
        let rating_w = |heat: PartHeat| {
            let each = made_of.shares(false).into_iter();
            each.map(|share| heat.of_share(share).to_buy_w()).collect()
        };
        Some(Self {
            joined: match made_of.joined {
                Joined::Parallel => "parallel",
                Joined::Series => "series",
            },
            values_ohm: made_of.values.clone(),
            rating_w: heat.map(rating_w),
        })
    }
}

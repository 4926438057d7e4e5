//! A pad's figures, and those of the loudspeaker with it, by the names of the documents.

use netlist::network::Joined;
use serde::Serialize;
use solver::pad::{
    Candidate, Cost, DriveChange, Extent, LoudspeakerChange, LoudspeakerFigures, PadAnswer,
    PadColumn, PadCrossoverShift, PadHeat, PartHeat, StockResistor, Study, WindingOrigin,
};
use solver::synthesis::PadKind;

use crate::document::{Flatness, LeastLoad};

/// A pad on its load.
#[derive(Serialize)]
pub(super) struct PadFigures {
    kind: PadKind,
    series_ohm: Option<f64>,
    shunt_ohm: Option<f64>,
    ratio: Option<f64>,
    attenuation_db: f64,
    seen_ohm: f64,
    attenuation: Attenuation,
    seen: ImpedanceRange,
    source: ImpedanceRange,
    power_w: PadPowerFields,
    sine_w: PadSine,
    rating_w: PadRating,
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

/// Heat with programme.
#[derive(Serialize)]
struct PadPowerFields {
    series: Option<f64>,
    shunt: Option<f64>,
    driver: f64,
    input: f64,
}

/// Heat with a steady sine at the worst frequency.
#[derive(Serialize)]
struct PadSine {
    series: Option<PartHeat>,
    shunt: Option<PartHeat>,
    driver: PartHeat,
}

/// What to buy.
#[derive(Serialize)]
struct PadRating {
    series: Option<f64>,
    shunt: Option<f64>,
}

impl PadFigures {
    pub(super) fn new(study: &Study, heat: &PadHeat) -> Self {
        let pad = study.pad;
        let (departure_db, departure_at_hz) = study.departure_from(study.mean_db);
        let programme = |part: Option<PartHeat>| part.map(|part| part.programme_w);
        let buy = |part: Option<PartHeat>| part.map(|part| part.to_buy_w());
        Self {
            kind: pad.kind(),
            series_ohm: pad.series_ohm(),
            shunt_ohm: pad.shunt_ohm(),
            ratio: pad.ratio(),
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
            power_w: PadPowerFields {
                series: programme(heat.series),
                shunt: programme(heat.shunt),
                driver: heat.driver.programme_w,
                input: heat.input.programme_w,
            },
            sine_w: PadSine {
                series: heat.series,
                shunt: heat.shunt,
                driver: heat.driver,
            },
            rating_w: PadRating {
                series: buy(heat.series),
                shunt: buy(heat.shunt),
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
pub(super) struct PadColumnFields {
    #[serde(flatten)]
    figures: PadFigures,
    crossover: Option<ChangeOfDrive>,
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

impl PadColumnFields {
    pub(super) fn new(answer: &PadAnswer<'_>, column: &PadColumn) -> Self {
        let is_autoformer = column.study.pad.kind() == PadKind::Autoformer;
        let speaker = column.speaker.as_ref();
        Self {
            figures: PadFigures::new(&column.study, &column.heat),
            crossover: column.change.as_ref().map(ChangeOfDrive::from),
            loudspeaker: speaker.map(|found| SpeakerFigures::new(found, column.speaker_change)),
            autoformer: is_autoformer.then(|| AutoformerFigures::new(answer, &column.heat)),
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

/// What a change of pad does to the voltage at the driver.
#[derive(Serialize)]
struct ChangeOfDrive {
    level_db: f64,
    crossovers: Vec<PadCrossoverShift>,
    peak_before_db: f64,
    peak_db: f64,
    peak_at_hz: f64,
    largest_db: f64,
    largest_at_hz: f64,
}

impl From<&DriveChange> for ChangeOfDrive {
    fn from(change: &DriveChange) -> Self {
        Self {
            level_db: change.level_db,
            crossovers: change.crossovers.clone(),
            peak_before_db: change.peak_before.0,
            peak_db: change.peak_after.0,
            peak_at_hz: change.peak_after.1,
            largest_db: change.largest.0,
            largest_at_hz: change.largest.1,
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
    resistors: usize,
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
        let heat = &candidate.heat;
        Self {
            figures: PadFigures::new(&candidate.study, heat),
            series_made_of: ResistorsOfOne::of(candidate.series.as_ref(), heat.series),
            shunt_made_of: ResistorsOfOne::of(candidate.shunt.as_ref(), heat.shunt),
            resistors: candidate.count(),
            worked: candidate.worked(),
            load_off_db: candidate.load_off_db,
            price: candidate.price(),
            cost_db: candidate.cost.total_db(),
            cost: candidate.cost,
        }
    }
}

impl ResistorsOfOne {
    fn of(resistor: Option<&StockResistor>, heat: Option<PartHeat>) -> Option<Self> {
        let made_of = resistor?.made_of.as_ref()?;
        let each = || made_of.shares(false).into_iter();
        Some(Self {
            joined: match made_of.joined {
                Joined::Parallel => "parallel",
                Joined::Series => "series",
            },
            values_ohm: made_of.values.clone(),
            rating_w: heat.map(|heat| {
                each()
                    .map(|share| heat.of_share(share).to_buy_w())
                    .collect()
            }),
        })
    }
}

//! The JSON document of `pad`.

use netlist::network::Joined;
use serde_json::{Value, json};
use solver::pad::{
    Candidate, Criterion, DriveChange, Extent, LoudspeakerChange, LoudspeakerFigures, PadHeat,
    PadInNetwork, PadLoad, PadSourceKind, PartHeat, StockResistor, Study, shares,
};
use solver::sound::Side;
use solver::synthesis::PadKind;

use super::work::{Column, Origin, Work};

/// What the document calls a kind of pad.
pub(super) fn kind_code(kind: PadKind) -> &'static str {
    match kind {
        PadKind::LPad => "l-pad",
        PadKind::Series => "series",
        PadKind::ShuntSeries => "shunt-series",
        PadKind::Autoformer => "autoformer",
    }
}

pub(super) fn document(work: &Work<'_>) -> Value {
    let mut document = column(work, &work.chosen);
    let origin = match work.origin {
        Origin::Stock => "stock",
        Origin::Given => "given",
        Origin::AsBuilt => "design",
    };
    let feed = match work.feed.kind {
        PadSourceKind::Amplifier => "amplifier",
        PadSourceKind::Textbook => "textbook filter",
        PadSourceKind::Network => "network",
    };
    let load = &work.load;
    document["origin"] = json!(origin);
    document["driver"] = json!(work.request.driver);
    document["rated_ohm"] = json!(load.rated_ohm);
    document["reference_ohm"] = json!(load.reference_ohm);
    document["band_hz"] = json!(load.band_hz);
    document["filter_band_hz"] = json!(load.filter_band_hz);
    document["feed"] = json!(feed);
    document["amplifier"] = json!({
        "power_w": work.power.power_w,
        "load_ohm": work.power.load_ohm,
        "output_impedance_ohm": work.power.output_impedance_ohm,
        "assumed": work.power.assumed,
    });
    if work.request.driver.is_some() || work.at.is_some() {
        document["curves"] = match &work.at {
            Some((load, study)) => curves(load, study),
            None => curves(load, &work.chosen.study),
        };
    }
    document["parts"] = match &work.place {
        Some(place) if work.origin == Origin::AsBuilt => json!(place.parts),
        _ => Value::Null,
    };
    if let Some(place) = &work.place {
        document["across"] = json!([&*place.across, &*place.across_drivers].concat());
        document["bridge"] = json!(place.bridge);
        document["place"] = placed(work, place);
    }
    document["ideal"] = match &work.ideal {
        Some((ideal, watts)) => {
            let mut document = study(ideal);
            heat(&mut document, watts);
            document
        }
        None => Value::Null,
    };
    if !work.candidates.is_empty() {
        let wanted_db = work.target.attenuation_db;
        let first = &work.candidates[0];
        let stock: Vec<Value> = (work.candidates.iter().enumerate())
            .map(|(i, other)| {
                let mut document = candidate(other);
                let decided = first.before(other, wanted_db).filter(|_| i > 0);
                document["first_by"] = decided.map_or(Value::Null, |by| json!(criterion_code(by)));
                document
            })
            .collect();
        document["stock"] = json!(stock);
    }
    document["steps"] = steps(work);
    document["built"] = work
        .built
        .as_ref()
        .map_or(Value::Null, |built| column(work, built));
    document["textbook"] =
        (work.textbook.as_ref()).map_or(Value::Null, |textbook| column(work, textbook));
    document["hot"] = work.hot.map_or(Value::Null, |hot| {
        json!({
            "rise_k": hot.rise_k,
            "mean_attenuation_db": hot.mean_db,
            "level_db": hot.level_db,
            "level_without_pad_db": hot.level_without_pad_db,
        })
    });
    document["findings"] = json!(work.findings);
    document
}

/// What the document calls that which put the first pad in front of another one.
fn criterion_code(criterion: Criterion) -> &'static str {
    match criterion {
        Criterion::Attenuation => "attenuation",
        Criterion::Load => "load",
        Criterion::LeastLoad => "least-load",
        Criterion::Resistors => "resistors",
        Criterion::Power => "power",
        Criterion::Price => "price",
        Criterion::Heat => "heat",
    }
}

/// Where the pad is in the network, and what of the way stays as it is.
fn placed(work: &Work<'_>, place: &PadInNetwork) -> Value {
    let names = |shares: &[(String, f64)]| -> Vec<String> {
        shares.iter().map(|(name, _)| name.clone()).collect()
    };
    json!({
        "at": match (place.ahead_of_filter(), place.at_amplifier()) {
            (false, _) => "driver",
            (true, true) => "amplifier",
            (true, false) => "filter",
        },
        // A new one behind all that is there, right before the driver.
        "added": work.added(),
        "in_file": place.parts,
        "series_parts": names(&place.series),
        "shunt_parts": names(&place.shunt),
        "behind": place.behind,
        "tail": place.tail,
        "return_lead": work.return_lead,
        "stays": place.stays,
    })
}

/// A pad's figures on the load.
fn study(study: &Study) -> Value {
    let pad = study.pad;
    let (departure_db, departure_at_hz) = study.departure_from(study.mean_db);
    json!({
        "kind": kind_code(pad.kind()),
        "series_ohm": pad.series_ohm(),
        "shunt_ohm": pad.shunt_ohm(),
        "ratio": pad.ratio(),
        "attenuation_db": study.nominal_db,
        "seen_ohm": study.seen_reference_ohm,
        "attenuation": {
            "mean_db": study.mean_db,
            "least_db": study.attenuation.least,
            "least_at_hz": study.attenuation.least_at_hz,
            "most_db": study.attenuation.most,
            "most_at_hz": study.attenuation.most_at_hz,
            "departure_db": departure_db,
            "departure_at_hz": departure_at_hz,
        },
        "seen": extent(study.seen),
        "source": extent(study.source),
    })
}

fn extent(extent: Extent) -> Value {
    json!({
        "least_ohm": extent.least,
        "least_at_hz": extent.least_at_hz,
        "most_ohm": extent.most,
        "most_at_hz": extent.most_at_hz,
        "swing": extent.ratio(),
    })
}

fn heat(document: &mut Value, heat: &PadHeat) {
    let programme = |part: Option<PartHeat>| part.map(|part| part.programme_w);
    let sine = |part: Option<PartHeat>| match part {
        Some(part) => json!({ "power_w": part.sine_w, "at_hz": part.sine_at_hz }),
        None => Value::Null,
    };
    let buy = |part: Option<PartHeat>| part.map(|part| part.to_buy_w());
    document["power_w"] = json!({
        "series": programme(heat.series),
        "shunt": programme(heat.shunt),
        "driver": heat.driver.programme_w,
        "input": heat.input.programme_w,
    });
    document["sine_w"] = json!({
        "series": sine(heat.series),
        "shunt": sine(heat.shunt),
        "driver": sine(Some(heat.driver)),
    });
    document["rating_w"] = json!({ "series": buy(heat.series), "shunt": buy(heat.shunt) });
}

fn column(work: &Work<'_>, column: &Column) -> Value {
    let mut document = study(&column.study);
    heat(&mut document, &column.heat);
    document["crossover"] = column.change.as_ref().map_or(Value::Null, change);
    document["loudspeaker"] = (column.speaker.as_ref()).map_or(Value::Null, |figures| {
        speaker(figures, column.speaker_change)
    });
    if column.study.pad.kind() == PadKind::Autoformer {
        let (volts_per_hertz, at_hz) = column.heat.volts_per_hertz;
        document["core"] = json!({
            "volts_per_hertz": volts_per_hertz,
            "at_hz": at_hz,
            "limit_volts_per_hertz": work.request.core_v_per_hz,
        });
        let winding = work.load.winding.as_ref();
        document["winding"] = json!({
            "from": work.winding_from().0,
            "inductance_h": winding.map(|w| w.inductance_h),
            "dcr_ohm": winding.map(|w| w.dcr_ohm),
            "coupling": winding.map(|w| w.coupling),
        });
    }
    document
}

fn change(change: &DriveChange) -> Value {
    let crossovers: Vec<Value> = (change.crossovers.iter())
        .map(|crossover| {
            json!({
                "frequency_hz": crossover.frequency_hz,
                "side": match crossover.side {
                    Side::Rising => "rising",
                    Side::Falling => "falling",
                },
                "change_db": crossover.change_db,
                "shift_hz": crossover.shift_hz,
            })
        })
        .collect();
    json!({
        "level_db": change.level_db,
        "crossovers": crossovers,
        "peak_before_db": change.peak_before.0,
        "peak_db": change.peak_after.0,
        "peak_at_hz": change.peak_after.1,
        "largest_db": change.largest.0,
        "largest_at_hz": change.largest.1,
    })
}

pub(super) fn speaker(speaker: &LoudspeakerFigures, change: Option<LoudspeakerChange>) -> Value {
    let figures = &speaker.figures;
    json!({
        "level_db": figures.level_db,
        "flatness": { "rms_db": figures.rms_db, "max_db": figures.max_db, "max_at_hz": figures.max_at_hz },
        "load": speaker.load.map(|load| json!({
            "least_ohm": load.least_ohm, "at_hz": load.at_hz, "phase_deg": load.phase_deg,
            "least_epdr_ohm": load.least_epdr_ohm,
        })),
        "change": change.map(|change| json!({
            "rms_db": change.rms_db, "largest_db": change.largest_db, "largest_at_hz": change.largest_at_hz,
        })),
    })
}

fn curves(load: &PadLoad, study: &Study) -> Value {
    let curves = &study.curves;
    json!({
        "frequency_hz": load.grid.f_hz(),
        "load_ohm": load.z_ohm.magnitude(),
        "load_phase_deg": load.z_ohm.phase_deg(),
        "attenuation_db": curves.attenuation_db,
        "seen_ohm": curves.seen_ohm.magnitude(),
        "seen_phase_deg": curves.seen_ohm.phase_deg(),
        "source_ohm": curves.source_ohm.magnitude(),
        "source_phase_deg": curves.source_ohm.phase_deg(),
    })
}

fn resistor(resistor: &Option<StockResistor>, heat: Option<PartHeat>) -> Value {
    let Some(made_of) = resistor.as_ref().and_then(|r| r.made_of.as_ref()) else {
        return Value::Null;
    };
    let joined = match made_of.joined {
        Joined::Parallel => "parallel",
        Joined::Series => "series",
    };
    let each = shares(made_of).into_iter();
    let buy_w: Option<Vec<f64>> =
        heat.map(|heat| each.map(|share| heat.of_share(share).to_buy_w()).collect());
    json!({ "joined": joined, "values_ohm": made_of.values, "rating_w": buy_w })
}

fn candidate(candidate: &Candidate) -> Value {
    let mut document = study(&candidate.study);
    heat(&mut document, &candidate.heat);
    document["series_made_of"] = resistor(&candidate.series, candidate.heat.series);
    document["shunt_made_of"] = resistor(&candidate.shunt, candidate.heat.shunt);
    document["resistors"] = json!(candidate.count());
    document["worked"] = json!(candidate.worked());
    document["load_off_db"] = json!(candidate.load_off_db);
    document["price"] = json!(candidate.price());
    document["cost_db"] = json!(candidate.cost.total_db());
    document["cost"] = json!({
        "attenuation_db": candidate.cost.attenuation_db,
        "load_db": candidate.cost.load_db,
        "too_low_db": candidate.cost.too_low_db,
        "resistors_db": candidate.cost.resistors_db,
        "power_db": candidate.cost.power_db,
    });
    document
}

fn steps(work: &Work<'_>) -> Value {
    let steps = work.steps.iter().map(|step| {
        let mut document = match (&step.candidate, step.design) {
            (Some(best), _) => candidate(best),
            (None, true) => column(work, &work.chosen),
            (None, false) => {
                json!({ "kind": null, "series_ohm": null, "shunt_ohm": null, "ratio": null })
            }
        };
        document["level_db"] = json!(step.level_db);
        document["change_db"] = json!(step.change_db);
        document["met"] = json!(step.met());
        document["design"] = json!(step.design);
        document
    });
    json!(steps.collect::<Vec<_>>())
}

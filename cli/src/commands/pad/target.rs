//! What is wanted of a pad, from the request and the project: power, load to keep, taps at hand.

use netlist::project::{AutoformerRange, Project};
use netlist::quantity::Quantity;
use num_complex::Complex64;
use solver::amplifier::{nominal_output_ohm, open_circuit_v};
use solver::pad::{PadInNetwork, PadLoad, PadSource, PadSourceKind, PadTarget, Study};
use solver::search::least_load_ohm;
use solver::synthesis::{AutoformerWinding, Pad, PadKind};

use super::request::{Goal, Request};
use super::work::{Power, USUAL_LOAD_OHM};

pub(super) fn power(request: &Request, load: &PadLoad) -> Power {
    let amplifier = request.project().map(|project| &project.amplifier);
    let rated = amplifier.and_then(|a| a.rated_power).map(Quantity::si);
    let stated_load = amplifier.and_then(|a| a.rated_load).map(Quantity::si);
    // A plain resistor is its own rated load.
    let load_ohm = match amplifier {
        Some(_) => stated_load.unwrap_or(USUAL_LOAD_OHM),
        None => load.rated_ohm,
    };
    let output_ohm = amplifier.map_or(Complex64::ZERO, nominal_output_ohm);
    let power_w = request.power_w.or(rated);
    Power {
        power_w: power_w.unwrap_or(1.0),
        load_ohm,
        output_impedance_ohm: output_ohm.norm(),
        open_circuit_v: open_circuit_v(power_w.unwrap_or(1.0), load_ohm, output_ohm),
        assumed: power_w.is_none(),
    }
}

fn least_ohm(project: Option<&Project>) -> f64 {
    project.and_then(least_load_ohm).unwrap_or(0.0)
}

/// Winding of an autoformer of the stock.
pub(super) fn winding(range: &AutoformerRange) -> AutoformerWinding {
    AutoformerWinding {
        inductance_h: range.inductance.si(),
        dcr_ohm: range.dcr.si(),
        coupling: range.coupling,
        taps: Vec::new(),
    }
}

/// Taps to choose from: as given, those of the winding in the file, those of the stock; none for a winding to
/// order.
fn taps(request: &Request, place: Option<&PadInNetwork>) -> Vec<f64> {
    if !request.taps.is_empty() {
        return request.taps.clone();
    }
    if let Some((place, Some(Pad::Autoformer { ratio, .. }))) =
        place.map(|place| (place, place.pad))
        && !place.winding.taps.is_empty()
    {
        let mut taps = place.winding.taps.clone();
        taps.push(ratio);
        return taps;
    }
    let stock = request
        .project()
        .and_then(|project| project.stock.autoformers);
    stock.map_or_else(Vec::new, |range| {
        (1..=range.taps()).map(|steps| range.ratio(steps)).collect()
    })
}

pub(super) fn target(
    request: &Request,
    load: &PadLoad,
    feed: &PadSource,
    place: Option<&PadInNetwork>,
) -> PadTarget {
    let built = place.and_then(|place| place.pad);
    let (kind, attenuation_db) = match request.goal {
        Goal::Size {
            kind,
            attenuation_db,
        } => (kind, attenuation_db),
        Goal::Check(pad) => (pad.kind(), 0.0),
        Goal::AsBuilt => (built.map_or(PadKind::LPad, Pad::kind), 0.0),
    };
    // The filter of a design was made for what it sees now.
    let kept_ohm = match (feed.kind, built) {
        (PadSourceKind::Network, Some(pad)) => Study::new(pad, load, feed).kept_ohm(load),
        (PadSourceKind::Network, None) => load.z_ohm.magnitude(),
        _ => vec![load.rated_ohm; load.grid.len()],
    };
    PadTarget {
        kind,
        attenuation_db,
        kept_ohm,
        least_ohm: least_ohm(request.project()),
        taps: taps(request, place),
    }
}

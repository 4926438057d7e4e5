//! Pads that the stock can make for an attenuation on a real load, best first.

use super::candidate::{Candidate, Cost, TOLERANCE_DB, beyond, by_known_price, cost_step};
use super::drafts::{Draft, drafts, more_drafts};
use super::drive_source::PadSource;
use super::load::PadLoad;
use super::power::PadHeat;
use super::samples::Samples;
use super::stock::{Resistors, StockResistor};
use super::study::Study;
use super::target::{Counted, PadTarget};
use crate::synthesis::Pad;

/// Points of each band at which candidates are compared.
const SAMPLES: usize = 40;
/// Halvings for a value that is then rounded to the stock: to a millionth.
const FEW_HALVINGS: usize = 24;
/// What one resistor more must gain, in dB of the filter's load.
const PART_DB: f64 = 0.25;
/// What a decibel of the filter's load below the least that is allowed costs, in dB.
const TOO_LOW: f64 = 3.0;

/// Pads from stock with the asked attenuation, within [`TOLERANCE_DB`] where the stock allows it, best first
/// and at most `most` of them. When it does not, the nearest attenuations come first.
///
/// Ranked by [`Candidate::cost`]; those whose costs are the same to a tenth of a dB are ranked by price
/// where prices are known. Of equals the one with less heat comes first.
#[must_use]
pub fn sized(
    load: &PadLoad,
    feed: &PadSource,
    target: &PadTarget,
    resistors: &Resistors,
    open_circuit_v: f64,
    most: usize,
) -> Vec<Candidate> {
    let counted = Counted::Attenuation;
    sized_as(load, feed, target, counted, resistors, open_circuit_v, most)
}

/// The same with the decibels counted as they are said.
pub(super) fn sized_as(
    load: &PadLoad,
    feed: &PadSource,
    target: &PadTarget,
    counted: Counted,
    resistors: &Resistors,
    open_circuit_v: f64,
    most: usize,
) -> Vec<Candidate> {
    let samples = Samples::new(load, feed, target, counted, SAMPLES, FEW_HALVINGS);
    let rate = |drafts: Vec<Draft>| {
        drafts
            .into_iter()
            .map(|draft| rated(&samples, target, draft))
    };
    let mut drafts: Vec<(f64, Cost, Draft)> = rate(drafts(&samples, target, resistors)).collect();
    let within = |drafts: &[(f64, Cost, Draft)]| drafts.iter().any(|d| d.0 <= TOLERANCE_DB);
    if !within(&drafts) {
        drafts.extend(rate(more_drafts(&samples, target, resistors)));
    }
    if within(&drafts) {
        drafts.retain(|(off, ..)| *off <= TOLERANCE_DB);
    }
    // Outside the tolerance the nearest first; of those that are as near, the best.
    drafts.sort_by(|a, b| {
        let by_attenuation = beyond(a.0).cmp(&beyond(b.0));
        by_attenuation.then_with(|| a.1.total_db().total_cmp(&b.1.total_db()))
    });
    // One resistor can often be made in several ways: the way with the fewest parts is in front.
    let mut kept: Vec<(Cost, Draft)> = Vec::new();
    for (_, cost, draft) in drafts {
        let same = |(_, other): &(Cost, Draft)| alike(other.pad, draft.pad);
        if !kept.iter().any(same) {
            kept.push((cost, draft));
        }
        // Heat can change the order a little; what is far behind cannot win.
        if kept.len() >= most * 4 {
            break;
        }
    }
    let mut candidates: Vec<Candidate> = kept
        .into_iter()
        .map(|(cost, draft)| {
            let mut candidate = Candidate {
                study: Study::new(draft.pad, load, feed),
                heat: PadHeat::new(draft.pad, load, feed, open_circuit_v),
                load_off_db: cost.load_db,
                cost,
                series: draft.series,
                shunt: draft.shunt,
            };
            candidate.cost.power_db = 20.0 * (2.0 * candidate.worked()).max(1.0).log10();
            candidate
        })
        .collect();
    let off = |c: &Candidate| (counted.of(&c.study) - target.attenuation_db).abs();
    candidates.sort_by(|a, b| {
        let far = |c: &Candidate| beyond(off(c));
        let by_price = || (cost_step(a).cmp(&cost_step(b))).then_with(|| by_known_price(a, b));
        let by_cost = || a.cost.total_db().total_cmp(&b.cost.total_db());
        let by_heat = || a.heat.hottest_w().total_cmp(&b.heat.hottest_w());
        (far(a).cmp(&far(b)))
            .then_with(by_price)
            .then_with(by_cost)
            .then_with(by_heat)
    });
    // Some points of the band can be a little off from all of them.
    if candidates.iter().any(|c| off(c) <= TOLERANCE_DB) {
        candidates.retain(|c| off(c) <= TOLERANCE_DB);
    }
    candidates.truncate(most);
    candidates
}

/// A draft with how far it is off, in dB, and what speaks against it.
fn rated(samples: &Samples<'_>, target: &PadTarget, draft: Draft) -> (f64, Cost, Draft) {
    let off = (samples.attenuation_db(draft.pad) - target.attenuation_db).abs();
    let (load_off, too_low) = samples.off_db(draft.pad);
    let resistors = draft.series.iter().chain(&draft.shunt);
    let count: usize = resistors.map(StockResistor::count).sum();
    let cost = Cost {
        attenuation_db: off.min(TOLERANCE_DB),
        load_db: load_off,
        too_low_db: TOO_LOW * too_low,
        resistors_db: PART_DB * count as f64,
        power_db: 0.0,
    };
    (off, cost, draft)
}

fn alike(a: Pad, b: Pad) -> bool {
    let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a / b - 1.0).abs() < 1e-9,
        (None, None) => true,
        _ => false,
    };
    a.kind() == b.kind()
        && near(a.series_ohm(), b.series_ohm())
        && near(a.shunt_ohm(), b.shunt_ohm())
        && near(a.ratio(), b.ratio())
}

//! Pads that the stock can make for an attenuation on a real load, best first.

use super::candidate::{Candidate, Cost, TOLERANCE_DB, by_known_price, cost_step};
use super::feed::Feed;
use super::load::PadLoad;
use super::power::PadHeat;
use super::samples::{RANGE_OHM, Samples, decibels};
use super::stock::{Resistors, StockResistor};
use super::study::Study;
use super::wish::Wish;
use crate::synthesis::{Pad, PadKind};

/// Points of each band at which candidates are compared.
const SAMPLES: usize = 40;
/// Halvings for a value that is then rounded to the stock: to a millionth.
const FEW_HALVINGS: usize = 24;
/// What one resistor more must gain, in dB of the filter's load.
const PART_DB: f64 = 0.25;
/// What a decibel of the filter's load below the least that is allowed costs, in dB.
const TOO_LOW: f64 = 3.0;

/// A pad with its resistors, not yet looked at.
#[derive(Debug, Clone)]
struct Draft {
    pad: Pad,
    series: Option<StockResistor>,
    shunt: Option<StockResistor>,
}

/// Pads from stock with the wished attenuation, within [`TOLERANCE_DB`] where the stock allows it, best first
/// and at most `most` of them. When it does not, the nearest attenuations come first.
///
/// Ranked by [`Candidate::cost`]; those whose costs are the same to a tenth of a dB are ranked by price
/// where prices are known. Of equals the one with less heat comes first.
#[must_use]
pub fn sized(
    load: &PadLoad,
    feed: &Feed,
    wish: &Wish,
    resistors: &Resistors,
    open_circuit_v: f64,
    most: usize,
) -> Vec<Candidate> {
    let samples = Samples::new(load, feed, wish, SAMPLES, FEW_HALVINGS);
    let mut drafts: Vec<(f64, Cost, Draft)> = drafts(&samples, wish, resistors)
        .into_iter()
        .map(|draft| {
            let off = (samples.attenuation_db(draft.pad) - wish.attenuation_db).abs();
            let (load_off, too_low) = samples.off_db(draft.pad);
            let count = [&draft.series, &draft.shunt]
                .map(|r| r.as_ref().map_or(0, StockResistor::count))
                .iter()
                .sum::<usize>();
            let cost = Cost {
                attenuation_db: off.min(TOLERANCE_DB),
                load_db: load_off,
                too_low_db: TOO_LOW * too_low,
                resistors_db: PART_DB * count as f64,
                power_db: 0.0,
            };
            (off, cost, draft)
        })
        .collect();
    if drafts.iter().any(|(off, ..)| *off <= TOLERANCE_DB) {
        drafts.retain(|(off, ..)| *off <= TOLERANCE_DB);
        drafts.sort_by(|a, b| a.1.total_db().total_cmp(&b.1.total_db()));
    } else {
        // The nearest attenuations first; of those that are as near, the best.
        let nearest = drafts
            .iter()
            .map(|(off, ..)| *off)
            .fold(f64::INFINITY, f64::min);
        let behind = |off: f64| ((off - nearest) / TOLERANCE_DB).floor();
        drafts.sort_by(|a, b| {
            let by_attenuation = behind(a.0).total_cmp(&behind(b.0));
            by_attenuation.then_with(|| a.1.total_db().total_cmp(&b.1.total_db()))
        });
    }
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
            candidate.cost.power_db = decibels((2.0 * candidate.worked()).max(1.0));
            candidate
        })
        .collect();
    let off = |c: &Candidate| (c.study.mean_db - wish.attenuation_db).abs();
    candidates.sort_by(|a, b| {
        let far = |c: &Candidate| c.steps_off(wish.attenuation_db);
        let by_price = || (cost_step(a).cmp(&cost_step(b))).then_with(|| by_known_price(a, b));
        let by_cost = || a.cost.total_db().total_cmp(&b.cost.total_db());
        let by_heat = || a.heat.hottest_w().total_cmp(&b.heat.hottest_w());
        (far(a).total_cmp(&far(b)))
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

/// A tap as it is ordered: in thousandths of the turns, where these are fine enough.
fn in_thousandths(ratio: f64) -> f64 {
    if ratio < 0.05 {
        return ratio;
    }
    (1000.0 * ratio).round() / 1000.0
}

fn drafts(samples: &Samples<'_>, wish: &Wish, resistors: &Resistors) -> Vec<Draft> {
    let mut drafts = Vec::new();
    match wish.kind {
        PadKind::LPad => {
            let mut add = |series: &StockResistor, shunt: &StockResistor| {
                drafts.push(Draft {
                    pad: Pad::LPad {
                        series_ohm: series.ohm,
                        shunt_ohm: shunt.ohm,
                    },
                    series: Some(series.clone()),
                    shunt: Some(shunt.clone()),
                });
            };
            for shunt in resistors.singles() {
                let wanted = samples.series_for(shunt.ohm);
                for series in wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm)) {
                    add(&series, &shunt);
                }
            }
            for series in resistors.singles() {
                let wanted = samples.value(false, |shunt_ohm| Pad::LPad {
                    series_ohm: series.ohm,
                    shunt_ohm,
                });
                for shunt in wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm)) {
                    add(&series, &shunt);
                }
            }
        }
        PadKind::Series | PadKind::ShuntSeries => {
            let wanted = samples.value(true, |series_ohm| Pad::Series { series_ohm });
            for series in resistors.near(wanted.unwrap_or(RANGE_OHM[1])) {
                let series_ohm = series.ohm;
                if wish.kind == PadKind::Series {
                    drafts.push(Draft {
                        pad: Pad::Series { series_ohm },
                        series: Some(series),
                        shunt: None,
                    });
                    continue;
                }
                let pad = |shunt_ohm: f64| Pad::ShuntSeries {
                    shunt_ohm,
                    series_ohm,
                };
                let wanted = samples.crossing(|ohm| samples.load_db(pad(ohm)));
                let near = wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm));
                for shunt in resistors.singles().chain(near) {
                    drafts.push(Draft {
                        pad: pad(shunt.ohm),
                        series: Some(series.clone()),
                        shunt: Some(shunt),
                    });
                }
            }
        }
        PadKind::Autoformer => {
            let taps = match wish.taps.as_slice() {
                [] => vec![in_thousandths(samples.ratio_or_ideal())],
                taps => taps.to_vec(),
            };
            for ratio in taps {
                let pad = |shunt_ohm| Pad::Autoformer { ratio, shunt_ohm };
                let wanted = samples.crossing(|ohm| samples.load_db(pad(Some(ohm))));
                let near = wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm));
                drafts.push(Draft {
                    pad: pad(None),
                    series: None,
                    shunt: None,
                });
                drafts.extend(near.into_iter().map(|shunt| Draft {
                    pad: pad(Some(shunt.ohm)),
                    series: None,
                    shunt: Some(shunt),
                }));
            }
        }
    }
    drafts.retain(|draft| resistors.enough([draft.series.as_ref(), draft.shunt.as_ref()]));
    drafts
}

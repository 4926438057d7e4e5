//! Pairs of the stock that are tried for a target.

use super::samples::Samples;
use super::stock::{Resistors, StockResistor};
use super::target::PadTarget;
use crate::synthesis::{Pad, PadKind};

/// Range in which resistors that several make are looked for, in ohm, and values for each decade.
const JOINED_OHM: [f64; 2] = [0.03, 3000.0];
const JOINED_PER_DECADE: f64 = 12.0;

/// A pad with its resistors, not yet looked at.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub(super) pad: Pad,
    pub(super) series: Option<StockResistor>,
    pub(super) shunt: Option<StockResistor>,
}

/// Pads that may come near to the target: each single resistor with those that go with it.
pub(super) fn drafts(
    samples: &Samples<'_>,
    target: &PadTarget,
    resistors: &Resistors,
) -> Vec<Draft> {
    let singles: Vec<StockResistor> = resistors.singles().collect();
    let mut drafts = match target.kind {
        PadKind::LPad => l_pads(samples, resistors, &singles),
        PadKind::Series => {
            let wanted = samples.nearest(true, |series_ohm| Pad::Series { series_ohm });
            let near = resistors.near(wanted).into_iter().map(|series| Draft {
                pad: Pad::Series {
                    series_ohm: series.ohm,
                },
                series: Some(series),
                shunt: None,
            });
            near.collect()
        }
        PadKind::ShuntSeries => {
            // What goes with a series resistor of the right attenuation is often made of several.
            let wanted = samples.nearest(true, |series_ohm| Pad::Series { series_ohm });
            let near = resistors.near(wanted).into_iter().flat_map(|series| {
                let wanted =
                    samples.crossing(|ohm| samples.load_db(Pad::shunt_series(ohm, series.ohm)));
                wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm))
            });
            let shunts: Vec<StockResistor> = near.chain(singles).collect();
            shunt_series(samples, resistors, &shunts)
        }
        PadKind::Autoformer => autoformers(samples, target, resistors),
    };
    // The drawer may hold too few for both.
    drafts.retain(|draft| resistors.enough([draft.series.as_ref(), draft.shunt.as_ref()]));
    drafts
}

/// Pads of which both resistors may be made of several, for a target that [`drafts`] do not come near to.
pub(super) fn more_drafts(
    samples: &Samples<'_>,
    target: &PadTarget,
    resistors: &Resistors,
) -> Vec<Draft> {
    let [low, high] = JOINED_OHM;
    let values = ((high / low).log10() * JOINED_PER_DECADE).ceil() as i32;
    let mut joined: Vec<StockResistor> = (0..=values)
        .flat_map(|i| resistors.near(low * 10f64.powf(f64::from(i) / JOINED_PER_DECADE)))
        .filter(|resistor| resistor.count() > 1)
        .collect();
    joined.sort_by(|a, b| {
        let by_value = a.ohm.total_cmp(&b.ohm);
        by_value.then_with(|| a.count().cmp(&b.count()))
    });
    joined.dedup_by(|later, kept| later.ohm <= kept.ohm * (1.0 + 1e-9));
    match target.kind {
        PadKind::LPad => l_pads(samples, resistors, &joined),
        PadKind::ShuntSeries => shunt_series(samples, resistors, &joined),
        PadKind::Series | PadKind::Autoformer => Vec::new(),
    }
}

/// Each of some resistors as the shunt and as the series resistor, with what goes with it.
fn l_pads(samples: &Samples<'_>, resistors: &Resistors, some: &[StockResistor]) -> Vec<Draft> {
    let draft = |series: &StockResistor, shunt: &StockResistor| Draft {
        pad: Pad::l_pad(series.ohm, shunt.ohm),
        series: Some(series.clone()),
        shunt: Some(shunt.clone()),
    };
    let as_shunt = some.iter().flat_map(|shunt| {
        let wanted = samples.nearest(true, |series_ohm| Pad::l_pad(series_ohm, shunt.ohm));
        let near = resistors.near(wanted).into_iter();
        near.map(move |series| draft(&series, shunt))
    });
    let as_series = some.iter().flat_map(|series| {
        let wanted = samples.nearest(false, |shunt_ohm| Pad::l_pad(series.ohm, shunt_ohm));
        let near = resistors.near(wanted).into_iter();
        near.map(move |shunt| draft(series, &shunt))
    });
    as_shunt.chain(as_series).collect()
}

fn shunt_series(
    samples: &Samples<'_>,
    resistors: &Resistors,
    shunts: &[StockResistor],
) -> Vec<Draft> {
    let of = |shunt: &StockResistor| {
        let wanted = samples.nearest(true, |series_ohm| Pad::shunt_series(shunt.ohm, series_ohm));
        let near = resistors.near(wanted).into_iter().map(|series| Draft {
            pad: Pad::shunt_series(shunt.ohm, series.ohm),
            series: Some(series),
            shunt: Some(shunt.clone()),
        });
        near.collect::<Vec<_>>()
    };
    shunts.iter().flat_map(of).collect()
}

fn autoformers(samples: &Samples<'_>, target: &PadTarget, resistors: &Resistors) -> Vec<Draft> {
    let to_order = target.taps.is_empty();
    let taps = if to_order {
        vec![in_thousandths(samples.ratio_or_ideal(None))]
    } else {
        target.taps.clone()
    };
    let mut drafts = Vec::new();
    for ratio in taps {
        let pad = |shunt_ohm| Pad::Autoformer { ratio, shunt_ohm };
        let wanted = samples.crossing(|ohm| samples.load_db(pad(Some(ohm))));
        let near = wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm));
        drafts.push(Draft {
            pad: pad(None),
            series: None,
            shunt: None,
        });
        for shunt in near {
            let mut ratios = vec![ratio];
            if to_order {
                // The resistor across the winding changes what the filter gives.
                ratios.push(in_thousandths(samples.ratio_or_ideal(Some(shunt.ohm))));
                ratios.dedup();
            }
            drafts.extend(ratios.into_iter().map(|ratio| Draft {
                pad: Pad::Autoformer {
                    ratio,
                    shunt_ohm: Some(shunt.ohm),
                },
                series: None,
                shunt: Some(shunt.clone()),
            }));
        }
    }
    drafts
}

/// A tap as it is ordered: in thousandths of the turns, where these are fine enough.
fn in_thousandths(ratio: f64) -> f64 {
    if ratio < 0.05 {
        return ratio;
    }
    (1000.0 * ratio).round() / 1000.0
}

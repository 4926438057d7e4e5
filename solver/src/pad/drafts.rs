//! Pads of the stock that are tried for a target.

use super::samples::Samples;
use super::stock::Resistors;
use crate::stock::Choice;
use crate::synthesis::{Pad, PadKind};

/// Range in which resistors that several make are looked for, in ohm, and values for each decade.
const JOINED_OHM: [f64; 2] = [0.03, 3000.0];
const JOINED_PER_DECADE: f64 = 12.0;
/// Below this share of the turns a tap is ordered as exactly as it can be said.
const FINE_RATIO: f64 = 0.05;

/// A pad with its resistors, not yet looked at.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub(super) pad: Pad,
    pub(super) series: Option<Choice>,
    pub(super) shunt: Option<Choice>,
}

impl Draft {
    /// Whether another one is of the same values, but from other lines of the stock.
    pub(super) fn is_of_other_lines(&self, other: &Self) -> bool {
        type Resistor = Option<Choice>;
        let pairs = [(&self.series, &other.series), (&self.shunt, &other.shunt)];
        let values = |of: &Resistor| of.as_ref().map(Choice::values);
        let items = |of: &Resistor| of.as_ref().map(|of| of.items.clone());
        pairs.iter().all(|(a, b)| values(a) == values(b))
            && pairs.iter().any(|(a, b)| items(a) != items(b))
    }
}

/// What sets the level of a pad: a tap, or a series resistor.
#[derive(Debug, Clone)]
struct PadValue {
    of: f64,
    series: Option<Choice>,
}

impl From<Choice> for PadValue {
    fn from(series: Choice) -> Self {
        Self {
            of: series.value_si,
            series: Some(series),
        }
    }
}

/// Pads that may come near to a target: each of some resistors as shunt or series resistor, with those that go with it.
pub(super) fn drafts(samples: &Samples<'_>, resistors: &Resistors, some: &[Choice]) -> Vec<Draft> {
    let kind = samples.target.kind;
    let mut drafts: Vec<Draft> = Vec::new();
    let mut draft = |value: PadValue, shunt: Option<Choice>| {
        drafts.push(Draft {
            pad: samples.pad(value.of, shunt.as_ref().map(|shunt| shunt.value_si)),
            series: value.series,
            shunt,
        });
    };
    let values = |shunt: Option<&Choice>| values(samples, resistors, shunt);
    let keeping = |value: &PadValue| {
        let shunt_ohm = samples.keeping(|_| Some(value.of));
        shunt_ohm.map_or_else(Vec::new, |ohm| resistors.near(ohm))
    };
    let mut shunts: Vec<Option<Choice>> = Vec::new();
    match kind {
        PadKind::Series => shunts.push(None),
        // What goes with a series resistor of the right attenuation is often made of several.
        PadKind::ShuntSeries => shunts.extend(values(None).iter().flat_map(keeping).map(Some)),
        PadKind::LPad => {}
        PadKind::Autoformer => {
            for value in values(None) {
                draft(value.clone(), None);
                for shunt in keeping(&value) {
                    draft(value.clone(), Some(shunt.clone()));
                    // The resistor across the winding changes what the filter gives.
                    shunts.extend(samples.target.taps.is_empty().then_some(Some(shunt)));
                }
            }
        }
    }
    if matches!(kind, PadKind::LPad | PadKind::ShuntSeries) {
        shunts.extend(some.iter().cloned().map(Some));
    }
    for shunt in shunts {
        for value in values(shunt.as_ref()) {
            draft(value, shunt.clone());
        }
    }
    if kind == PadKind::LPad {
        for series in some {
            for shunt in resistors.near(samples.shunt(series.value_si)) {
                draft(series.clone().into(), Some(shunt));
            }
        }
    }
    // The drawer may hold too few for both.
    drafts.retain(|draft| resistors.enough([draft.series.as_ref(), draft.shunt.as_ref()]));
    drafts
}

/// Taps and series resistors that can be had for the asked decibels beside a shunt.
fn values(samples: &Samples<'_>, resistors: &Resistors, shunt: Option<&Choice>) -> Vec<PadValue> {
    let taps = &samples.target.taps;
    let tap = |of: f64| PadValue { of, series: None };
    if samples.target.kind == PadKind::Autoformer && !taps.is_empty() {
        return taps.iter().map(|ratio| tap(*ratio)).collect();
    }
    let (Ok(wanted) | Err(wanted)) = samples.value(shunt.map(|shunt| shunt.value_si));
    match samples.target.kind {
        // As it is ordered: in thousandths of the turns, where these are fine enough.
        PadKind::Autoformer if wanted < FINE_RATIO => vec![tap(wanted)],
        PadKind::Autoformer => vec![tap((1000.0 * wanted).round() / 1000.0)],
        _ => resistors
            .near(wanted)
            .into_iter()
            .map(PadValue::from)
            .collect(),
    }
}

/// Resistors made of several over the whole range of pads, for a target that [`drafts`] of single ones do not come near to.
pub(super) fn joined(resistors: &Resistors) -> Vec<Choice> {
    let [low, high] = JOINED_OHM;
    let values = ((high / low).log10() * JOINED_PER_DECADE).ceil() as i32;
    let mut joined: Vec<Choice> = (0..=values)
        .flat_map(|i| resistors.near(low * 10f64.powf(f64::from(i) / JOINED_PER_DECADE)))
        .filter(|resistor| resistor.count() > 1)
        .collect();
    joined.sort_by(|a, b| {
        let by_value = a.value_si.total_cmp(&b.value_si);
        by_value.then_with(|| a.count().cmp(&b.count()))
    });
    // Of the same values others may be from other lines.
    joined.dedup_by(|later, kept| {
        later.value_si <= kept.value_si * (1.0 + 1e-9)
            && (later.made_of != kept.made_of || later.items == kept.items)
    });
    joined
}

//! A value that was found, by the name of the mistake that makes it: a neighbour in the series, a decimal
//! point, a unit; and how likely such a value is before anything is measured.

use netlist::network::PartKind;
use netlist::project::{Stock, StockKind};
use netlist::series::Series;

use super::bench::Bench;
use super::hypothesis::{BuiltChange, LEAST_DCR_OHM};
use crate::stock::stock_kind;

/// Steps of the series that are taken for a neighbour.
const STEPS: i64 = 3;
/// Share of wrong values that are neighbours in the series, for each of them (judgement).
const SHARE_NEIGHBOUR: f64 = 0.4 / (2.0 * STEPS as f64);
/// Decades by which a marking is misread, and their shares: a decimal point or a multiplier, two of them,
/// a unit's prefix (judgement).
const DECADES: [(f64, f64); 6] = [
    (10.0, 0.12),
    (0.1, 0.12),
    (1000.0, 0.05),
    (0.001, 0.05),
    (100.0, 0.03),
    (0.01, 0.03),
];
/// The rest is any value within so many e-folds of the drawn one on either side.
const WIDTH: f64 = 8.0;
const SHARE_ANY: f64 = 0.2;
/// Deviation of a neighbour's or misread value beyond its tolerance.
const LEAST_DEVIATION: f64 = 0.01;
/// A value known to within this many times its tolerance is seen.
const SEEN: f64 = 1.5;
/// A coil's resistance nearer to the drawn one than this factor is no mistake.
const LEAST_LOSS: f64 = 0.25;
/// Deviation of a wrong coil resistance, over its logarithm (judgement).
const LOSS_DEVIATION: f64 = 1.2;
/// A driver's impedance nearer than this is that of another sample.
const LEAST_IMPEDANCE: f64 = 0.15;
/// Deviation of a wrong driver's impedance, over its logarithm (judgement).
const IMPEDANCE_DEVIATION: f64 = 0.7;
/// A box tuned nearer than this is one of the drawing.
const LEAST_TUNING: f64 = 0.12;
/// Deviation of a wrong tuning, over its logarithm (judgement).
const TUNING_DEVIATION: f64 = 0.3;
/// A found value this near to a misread one, or to a neighbour, bears its name.
const BEARS_NAME: f64 = 0.22;
const IS_NEIGHBOUR: f64 = 0.06;

/// Logarithm of a changed number over the drawn one.
pub(super) fn off_drawn(bench: &Bench, change: BuiltChange) -> f64 {
    match change {
        BuiltChange::Value(part, value) => (value / bench.values.value[part]).ln(),
        BuiltChange::Loss(part, ohm) => (ohm / bench.values.loss[part].max(LEAST_DCR_OHM)).ln(),
        BuiltChange::Impedance(_, factor) | BuiltChange::Tuning(_, factor) => factor.ln(),
        _ => 0.0,
    }
}

/// Logarithm of the density of a wrong number `off` (a logarithm over the drawn one), known to a
/// deviation; `None` where that number is as drawn.
pub(super) fn ln_density(
    bench: &Bench,
    change: BuiltChange,
    off: f64,
    deviation: f64,
) -> Option<f64> {
    let normal = |mean: f64, sigma: f64| {
        let sigma = sigma.hypot(deviation);
        let z = (off - mean) / sigma;
        (-0.5 * z * z).exp() / (sigma * std::f64::consts::TAU.sqrt())
    };
    let density = match change {
        BuiltChange::Value(part, _) => {
            // As drawn, unless the measurement hardly sees the part at all.
            let tolerance = bench.tolerance[part];
            if off.abs() < tolerance && off.abs() + 2.0 * deviation < SEEN * tolerance {
                return None;
            }
            let sigma = (bench.tolerance[part] / 3f64.sqrt()).max(LEAST_DEVIATION);
            let drawn = bench.values.value[part];
            let series = series_of(&bench.network.parts()[part].kind, None);
            let near: f64 = (neighbours(series, drawn).into_iter())
                .map(|(_, value)| SHARE_NEIGHBOUR * normal((value / drawn).ln(), sigma))
                .sum();
            let decades: f64 = (DECADES.iter())
                .map(|(times, share)| share * normal(times.ln(), sigma))
                .sum();
            near + decades + SHARE_ANY / (2.0 * WIDTH)
        }
        BuiltChange::Loss(..) if off.abs() < LEAST_LOSS => return None,
        BuiltChange::Loss(..) => normal(0.0, LOSS_DEVIATION),
        BuiltChange::Impedance(..) if off.abs() < LEAST_IMPEDANCE => return None,
        BuiltChange::Impedance(..) => normal(0.0, IMPEDANCE_DEVIATION),
        BuiltChange::Tuning(..) if off.abs() < LEAST_TUNING => return None,
        BuiltChange::Tuning(..) => normal(0.0, TUNING_DEVIATION),
        _ => return Some(0.0),
    };
    // Never nothing: what was found was found.
    Some(density.max(1e-6).ln())
}

/// The series that a part's values come from.
pub(super) fn series_of(kind: &PartKind, stock: Option<&Stock>) -> Series {
    let kind = stock_kind(kind).unwrap_or(StockKind::Inductor);
    match stock {
        Some(stock) => stock.range(kind).series,
        None => kind.default_range().series,
    }
}

/// Values of a series beside a drawn one, with their steps from it.
pub(super) fn neighbours(series: Series, drawn: f64) -> Vec<(i64, f64)> {
    let Some(step) = series.nearest_step(drawn) else {
        return Vec::new();
    };
    (-STEPS..=STEPS)
        .filter(|by| *by != 0)
        .map(|by| (by, series.value(step + by)))
        .collect()
}

/// A found value in words, beside the drawn one.
pub(super) fn words(
    kind: &PartKind,
    stock: &Stock,
    (drawn, tolerance): (f64, f64),
    found: f64,
) -> String {
    let kind = stock_kind(kind).unwrap_or(StockKind::Inductor);
    let off = (found / drawn).ln();
    if off.abs() < tolerance {
        return "of a value that this measurement hardly sees".to_owned();
    }
    let near = |times: f64| (off - times.ln()).abs() < BEARS_NAME;
    let about = format!(
        "about {} where the drawing has {}",
        kind.show_beside(found, drawn),
        kind.show(drawn)
    );
    let hint = match kind {
        _ if near(10.0) || near(0.1) => {
            "a factor of ten: look at the marking and its decimal point"
        }
        StockKind::Capacitor if near(0.001) => "a factor of a thousand: nF in place of µF",
        StockKind::Capacitor if near(1000.0) => "a factor of a thousand: µF in place of nF",
        StockKind::Inductor if near(0.001) => "a factor of a thousand: µH in place of mH",
        StockKind::Resistor if near(1000.0) => "a factor of a thousand: kilohm in place of ohm",
        _ if near(1000.0) || near(0.001) => {
            "a factor of a thousand: look at the unit of the marking"
        }
        _ if near(100.0) || near(0.01) => "a factor of a hundred: look at the marking",
        _ => {
            let series = stock.range(kind).series;
            let close = neighbours(series, drawn)
                .into_iter()
                .find(|(_, value)| (found / value).ln().abs() < IS_NEIGHBOUR);
            return match close {
                Some((_, value)) => {
                    format!("{about}: {} of the series {series}", kind.show(value))
                }
                None => about,
            };
        }
    };
    format!("{about}: {hint}")
}

#[cfg(test)]
mod tests {
    use netlist::network::NodeId;
    use netlist::quantity::{Farads, Henries, Ohms};

    use super::*;

    #[test]
    fn found_values_are_written_like_drawn_ones_and_bear_the_name_of_their_mistake() {
        let between = [NodeId::IN, NodeId::GND];
        let coil = PartKind::Inductor {
            inductance: Henries(2.2e-3),
            dcr: Ohms(0.5),
            between,
        };
        let capacitor = PartKind::Capacitor {
            capacitance: Farads(4.7e-6),
            esr: Ohms(0.0),
            between,
        };
        let stock = Stock::default();
        let said =
            |kind: &PartKind, drawn: f64, found: f64| words(kind, &stock, (drawn, 0.05), found);
        let ten = said(&coil, 2.2e-3, 0.23e-3);
        assert!(
            ten.starts_with("about 0.23 mH where the drawing has 2.2 mH"),
            "{ten}"
        );
        assert!(ten.contains("factor of ten"), "{ten}");
        let nano = said(&capacitor, 4.7e-6, 4.6e-9);
        assert!(
            nano.starts_with("about 4.6 nF") && nano.ends_with("nF in place of µF"),
            "{nano}"
        );
        let near = said(&capacitor, 4.7e-6, 5.52e-6);
        assert!(
            near.contains("about 5.5 µF") && near.contains("5.6 µF of the series E12"),
            "{near}"
        );
        assert!(said(&coil, 2.2e-3, 2.25e-3).contains("hardly sees"));
        let far = said(&coil, 2.2e-3, 6.2e-3);
        assert_eq!(far, "about 6.2 mH where the drawing has 2.2 mH");
    }
}

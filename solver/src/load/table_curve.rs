//! Curves of the rows of a table.

use std::f64::consts::LN_10;

use netlist::table::Table;

use super::Curve;
use super::curve::MeasuredCurve;

/// Least impedance that a table can hold, in ohm: keeps the logarithm finite.
const LEAST_OHM: f64 = 1e-6;

/// Of impedances or of levels.
pub(super) fn measured_curve(table: &Table, curve: Curve) -> MeasuredCurve {
    let ln = |value: &f64| match curve {
        Curve::Impedance => value.max(LEAST_OHM).ln(),
        Curve::Response => value * LN_10 / 20.0,
    };
    let magnitude = table.magnitude.iter().map(ln).collect();
    MeasuredCurve::new(&table.f_hz, magnitude, table.phase_deg.as_deref(), curve)
}

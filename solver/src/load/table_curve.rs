//! Curves of the rows of a table.

use std::f64::consts::LN_10;

use netlist::table::Table;

use super::Curve;
use super::curve::MeasuredCurve;
use super::table_end::CurveKind;

/// Least impedance that a table can hold, in ohm: keeps the logarithm finite.
const LEAST_OHM: f64 = 1e-6;

/// Of impedances or of levels.
pub(super) fn measured_curve(table: &Table, curve: Curve) -> MeasuredCurve {
    match curve {
        Curve::Impedance => impedance_curve(table),
        Curve::Response => response_curve(table),
    }
}

pub(super) fn impedance_curve(table: &Table) -> MeasuredCurve {
    let ohms = table.magnitude.iter();
    let ln_ohm = ohms.map(|ohm| ohm.max(LEAST_OHM).ln()).collect();
    let phase = table.phase_deg.as_deref();
    MeasuredCurve::new(&table.f_hz, ln_ohm, phase, CurveKind::Impedance)
}

pub(super) fn response_curve(table: &Table) -> MeasuredCurve {
    let levels = table.magnitude.iter();
    let ln_level = levels.map(|db| db * LN_10 / 20.0).collect();
    let phase = table.phase_deg.as_deref();
    MeasuredCurve::new(&table.f_hz, ln_level, phase, CurveKind::Response)
}

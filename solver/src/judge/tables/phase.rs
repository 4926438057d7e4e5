//! Phases in radian, and phases that nobody measured.

use std::f64::consts::TAU;

use netlist::table::Table;

use super::{TRUST, inside, largest, rms};
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::load::{Curve, fitted_slope, minimum_phase_deg};
use crate::spectrum::unwrap;

/// What a phase in radian reaches when it is wrapped, with some rounding.
const WRAPPED_RAD: f64 = 6.4;
/// An impedance's phase in radian stays below a quarter turn.
const QUARTER_RAD: f64 = 1.6;
/// What a measured phase is off that of its magnitude and a flight time at least where its unit is wrong, degrees rms.
const OFF_DEG: f64 = 12.0;
/// And how much less it is off in its right unit.
const NEARER: f64 = 0.35;

/// A magnitude that turns by tens of degrees and a phase column that never does.
pub(super) fn radian(what: &str, curve: Curve, table: &Table) -> Option<Finding> {
    let column = table.phase_deg.as_ref()?;
    let phase = largest(column);
    let rows = inside(table);
    let minimum = minimum_phase_deg(table, curve, &rows);
    let turned = minimum.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - minimum.iter().copied().fold(f64::INFINITY, f64::min);
    let (limit, least) = match curve {
        Curve::Impedance => (QUARTER_RAD, 25.0),
        Curve::Response => (WRAPPED_RAD, 60.0),
    };
    if curve == Curve::Response && phase >= limit {
        return unwrapped(what, table, column, &rows, &minimum);
    }
    (phase > 0.0 && phase < limit && turned > least).then(|| {
        Finding::danger(
            FindingCode::PhaseInRadian,
            format!(
                "the phase of {what} stays within ±{phase:.2}, while its magnitude can only belong to one that turns by {turned:.0}°: the column is in radian; write it in degrees (times 57.3), or {TRUST}"
            ),
        )
    })
}

/// The same of a phase that was not wrapped, so that it has the flight time as well: only as radian it is that and
/// the phase of its magnitude.
fn unwrapped(
    what: &str,
    table: &Table,
    column: &[f64],
    rows: &[usize],
    minimum: &[f64],
) -> Option<Finding> {
    let mut in_degrees: Vec<f64> = column.iter().map(|deg| deg.to_radians()).collect();
    unwrap(&mut in_degrees, TAU);
    let off = |phase_rad: &[f64]| {
        let beyond: Vec<f64> = (rows.iter().zip(minimum))
            .map(|(&i, minimum)| phase_rad[i].to_degrees() - minimum)
            .collect();
        let f_hz: Vec<f64> = rows.iter().map(|&i| table.f_hz[i]).collect();
        off_a_line(&f_hz, &beyond)
    };
    let (as_degrees, as_radian) = (off(&in_degrees), off(column));
    (as_degrees > OFF_DEG && as_radian < NEARER * as_degrees).then(|| {
        Finding::danger(
            FindingCode::PhaseInRadian,
            format!(
                "the phase of {what} is {as_degrees:.0}° off what belongs to its magnitude and a flight time, and only {as_radian:.0}° if the column is in radian; write it in degrees (times 57.3), or {TRUST}"
            ),
        )
    })
}

/// What values are off a straight line, rms.
fn off_a_line(x: &[f64], y: &[f64]) -> f64 {
    let count = x.len() as f64;
    let (mean_x, mean_y) = (x.iter().sum::<f64>() / count, y.iter().sum::<f64>() / count);
    let slope = fitted_slope(x, y);
    rms(x
        .iter()
        .zip(y)
        .map(|(x, y)| y - mean_y - slope * (x - mean_x)))
}

/// A response whose phase was worked out from its magnitude.
pub(super) fn constructed(name: &str, table: &Table) -> Option<Finding> {
    let phase = table.phase_deg.as_ref()?;
    let rows = inside(table);
    let minimum = minimum_phase_deg(table, Curve::Response, &rows);
    let turned = largest(&minimum);
    let off: Vec<f64> = (rows.iter().zip(&minimum))
        .map(|(&i, m)| (phase[i] - m).rem_euclid(360.0))
        .collect();
    // Polarity apart.
    let sign = if off.iter().filter(|d| (90.0..270.0).contains(*d)).count() * 2 > off.len() {
        180.0
    } else {
        0.0
    };
    let folded = off
        .iter()
        .map(|d| (d - sign + 540.0).rem_euclid(360.0) - 180.0);
    let apart = rms(folded);
    (turned > 30.0 && apart < 1.5).then(|| {
        Finding::note(
            FindingCode::PhaseIsMinimum,
            format!(
                "the phase of {name} is that of its magnitude to {apart:.1}°, as worked out and not measured: it says nothing of where the acoustic centre is, so that position.back must say that in full"
            ),
        )
    })
}

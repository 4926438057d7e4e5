//! Impedances in dB above 1 ohm.

use netlist::table::Table;

use super::{TRUST, inside, rms};
use crate::judge::finding::Finding;
use crate::load::{Curve, minimum_phase_deg};

/// Least magnitudes that make one think, ohm: those of 16 ohm drivers are seldom more than 14.5 (IEC 60268-5 lets them have
/// 12.8), and as dB above 1 ohm these are the 5.3 to 10.6 ohm of the usual 8.
const LEAST: std::ops::Range<f64> = 14.5..20.5;
/// Peaks and coil lift an impedance by more than this (common practice); in dB it is seldom more.
const LIFT: f64 = 2.5;

/// An impedance in dB re 1 ohm: only as such its magnitude belongs to its phase.
pub(super) fn finding(name: &str, table: &Table) -> Option<Finding> {
    let Some(phase) = &table.phase_deg else {
        return without_phase(name, table);
    };
    let plausible = table
        .magnitude
        .iter()
        .all(|value| (3.0..65.0).contains(value));
    if !plausible {
        return None;
    }
    let rows = inside(table);
    let as_ohm = minimum_phase_deg(table, Curve::Impedance, &rows);
    let mut ohms = table.clone();
    for value in &mut ohms.magnitude {
        *value = 10f64.powf(*value / 20.0);
    }
    let as_db = minimum_phase_deg(&ohms, Curve::Impedance, &rows);
    let off = |minimum: &[f64]| rms(rows.iter().zip(minimum).map(|(&i, m)| phase[i] - m));
    let (ohm_off, db_off) = (off(&as_ohm), off(&as_db));
    (ohm_off > 6.0 && db_off < 0.4 * ohm_off).then(|| {
        Finding::danger(
            "impedance-in-db",
            format!(
                "the impedance of {name} and its phase do not belong together (they are {ohm_off:.0}° apart), but do if the column is in dB above 1 ohm ({db_off:.0}°); write it in ohm (10^(dB/20)), or {TRUST}"
            ),
        )
    })
}

/// The magnitude alone fits a driver either way, but high and flat as ohms is rare and as dB is usual.
fn without_phase(name: &str, table: &Table) -> Option<Finding> {
    let magnitude = || table.magnitude.iter().copied();
    let least = magnitude().fold(f64::INFINITY, f64::min);
    let most = magnitude().fold(0.0, f64::max);
    let ohm = |db: f64| 10f64.powf(db / 20.0);
    (LEAST.contains(&least) && most < LIFT * least).then(|| {
        Finding::caution(
            "impedance-in-db",
            format!(
                "the impedance of {name} lies between {least:.1} and {most:.1}: as ohms high and flat for a driver, and as dB above 1 ohm the usual {:.1} to {:.0} ohm; without a phase the table cannot tell; write it in ohm (10^(dB/20)), or {TRUST}",
                ohm(least),
                ohm(most)
            ),
        )
    })
}

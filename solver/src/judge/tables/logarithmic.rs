//! Impedances in dB above 1 ohm.

use netlist::table::Table;

use super::{TRUST, inside, rms};
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::load::{Curve, minimum_phase_deg};

/// Least magnitudes that make one think, ohm, each with the times that to which all of an honest impedance is seldom
/// held (common practice: resonance and coil lift it by more), where in dB above 1 ohm most are:
///
/// - 12 to 14.5: the 4 to 5.3 ohm of the flatter drivers of nominal 6 in dB, and honest ones of 16, which are seldom so flat;
/// - 14.5 to 20.5: those of 16 ohm are seldom more than 14.5 (IEC 60268-5 lets them have 12.8), and in dB these are the
///   5.3 to 10.6 ohm of the usual 8;
/// - 20.5 to 25.5: nominal 32 is rare, and in dB these are the 10.6 to 19 ohm of 16.
///
/// Below 12 the dB of a 4 ohm driver are the ohms of one of 12 to 16, and no magnitude tells which.
const HIGH_AND_FLAT: [(std::ops::Range<f64>, f64); 3] =
    [(12.0..14.5, 1.5), (14.5..20.5, 2.3), (20.5..25.5, 2.0)];

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
            FindingCode::ImpedanceInDb,
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
    let suspect =
        (HIGH_AND_FLAT.iter()).any(|(range, lift)| range.contains(&least) && most < lift * least);
    suspect.then(|| {
        Finding::caution(
            FindingCode::ImpedanceInDb,
            format!(
                "the impedance of {name} lies between {least:.1} and {most:.1}: as ohms high and flat for a driver, and as dB above 1 ohm {:.1} to {:.0} ohm as usual; without a phase the table cannot tell; write it in ohm (10^(dB/20)), or {TRUST}",
                ohm(least),
                ohm(most)
            ),
        )
    })
}

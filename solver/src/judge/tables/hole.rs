//! Rows that are missing in the midst of a table.

use netlist::quantity::Hertz;
use netlist::table::Table;

use super::TRUST;
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;

/// A hole is wider than this, octaves.
const WIDE_OCTAVES: f64 = 0.75;
/// And so many times as wide as the steps beside it: tables with equal steps in hertz have wide ones at their low end,
/// each a little wider than the next.
const TIMES_ITS_NEIGHBOURS: f64 = 3.0;

/// A stretch without rows where the way plays, an octave to either side of its band (Hz) counted; the widest of them.
pub(super) fn finding(of: &str, table: &Table, band_hz: (f64, f64)) -> Option<Finding> {
    let octaves: Vec<f64> = (table.f_hz.windows(2))
        .map(|pair| (pair[1] / pair[0]).log2())
        .collect();
    let is_hole = |&i: &usize| {
        let beside = [i.checked_sub(1), Some(i + 1)];
        let beside = beside
            .into_iter()
            .flatten()
            .filter_map(|at| octaves.get(at));
        let widest = beside.fold(0.0, |widest: f64, &step| widest.max(step));
        let heard = table.f_hz[i] < 2.0 * band_hz.1 && table.f_hz[i + 1] > 0.5 * band_hz.0;
        heard && octaves[i] > WIDE_OCTAVES && octaves[i] > TIMES_ITS_NEIGHBOURS * widest
    };
    let widest = (0..octaves.len())
        .filter(is_hole)
        .max_by(|&a, &b| octaves[a].total_cmp(&octaves[b]))?;
    Some(Finding::caution(
        FindingCode::TableHasHole,
        format!(
            "{of} has no row between {:.3} and {:.3}, where it plays: {:.1} octaves are taken as smooth, whatever the driver does there; measure or export it anew with all rows; {TRUST}",
            Hertz(table.f_hz[widest]),
            Hertz(table.f_hz[widest + 1]),
            octaves[widest]
        ),
    ))
}

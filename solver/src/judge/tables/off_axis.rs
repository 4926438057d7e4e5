//! Tables off the axis that are not what they seem, by themselves and against that on it.

use netlist::project::{MeasuredDriver, OffAxis, Plane};
use netlist::table::Table;

use super::{TRUST, noise_floor, phase, typical};
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::load::Curve;
use crate::sound::flight;

/// No driver sends so much less to a side over all of its band, dB.
const LEAST_DB: f64 = -50.0;
/// How much louder off the axis than on it, dB, over how many octaves, a driver seldom is (judgement): what interferes on
/// the axis does so over less.
const LOUDER_DB: f64 = 3.0;
const LOUDER_OCTAVES: f64 = 1.0;
/// Samples to an octave.
const PER_OCTAVE: f64 = 12.0;
/// By how much the ways to the microphone may differ when a loudspeaker is turned about a place that is not the
/// driver's own, m.
const APART_M: f64 = 0.5;

/// Findings on a driver's tables off its axis; `band` is where it plays, Hz.
pub(super) fn findings(name: &str, measured: &MeasuredDriver, band: (f64, f64)) -> Vec<Finding> {
    let mut findings = Vec::new();
    let axis = flight(&measured.response);
    for one in &measured.off_axis {
        let what = format!("the response of {name} {}", direction(one));
        findings.extend(phase::radian(&what, Curve::Response, &one.response));
        let less_db = typical(&one.response, band) - typical(&measured.response, band);
        if less_db < LEAST_DB {
            findings.push(Finding::danger(
                FindingCode::OffAxisNotSpl,
                format!(
                    "{what} is {:.0} dB below that on the axis in its band, which no driver is: levels relative to the axis, where the table must have them as the one on the axis has; add that one's levels, or {TRUST}",
                    -less_db
                ),
            ));
            continue;
        }
        findings.extend(noise_floor(&what, &one.response, None));
        findings.extend(louder(&what, measured, one, band));
        let (Some(axis), Some(off)) = (axis, flight(&one.response)) else {
            continue;
        };
        let farther_m = (off.delay_s - axis.delay_s) * SPEED_OF_SOUND_M_PER_S;
        if farther_m.abs() > APART_M {
            findings.push(Finding::caution(
                FindingCode::OffAxisTimeDiffers,
                format!(
                    "the phase of {what} holds {:.2} m {} of way than that on the axis: not one time reference for both, so that what ways do to each other off the axis is wrong; export all with the same one, or {TRUST}",
                    farther_m.abs(),
                    if farther_m > 0.0 { "more" } else { "less" }
                ),
            ));
        }
    }
    findings
}

fn direction(one: &OffAxis) -> String {
    let side = match (one.plane, one.angle.0 > 0.0) {
        (Plane::Horizontal, true) => "to the right",
        (Plane::Horizontal, false) => "to the left",
        (Plane::Vertical, true) => "up",
        (Plane::Vertical, false) => "down",
    };
    format!("{:.0}° {side}", one.angle.0.abs())
}

/// Louder than on the axis by much over a wide band: exchanged tables, or an axis that is none.
fn louder(
    what: &str,
    measured: &MeasuredDriver,
    one: &OffAxis,
    (low, high): (f64, f64),
) -> Option<Finding> {
    let ends = |table: &Table| (table.f_hz[0], table.f_hz[table.f_hz.len() - 1]);
    let (on, off) = (ends(&measured.response), ends(&one.response));
    let reliable = measured.reliable_from.map_or(0.0, |from| from.0);
    let from = (low / 2.0).max(on.0).max(off.0).max(reliable);
    let to = (high * 2.0).min(on.1).min(off.1);
    if from >= to {
        return None;
    }
    let count = ((to / from).log2() * PER_OCTAVE) as usize;
    let f_hz = |i: usize| from * 2f64.powf(i as f64 / PER_OCTAVE);
    let is_louder = |i: usize| {
        level_at(&one.response, f_hz(i)) - level_at(&measured.response, f_hz(i)) > LOUDER_DB
    };
    // The longest run.
    let (mut best, mut begin) = ((0, 0), 0);
    for i in 0..=count {
        if i == count || !is_louder(i) {
            if i - begin > best.1 - best.0 {
                best = (begin, i);
            }
            begin = i + 1;
        }
    }
    (((best.1 - best.0) as f64) > LOUDER_OCTAVES * PER_OCTAVE).then(|| {
        Finding::caution(
            FindingCode::LouderOffAxis,
            format!(
                "{what} is more than {LOUDER_DB:.0} dB louder than on the axis from {:.0} Hz to {:.0} Hz: exchanged tables, another drive or distance than that on the axis, or an axis that the driver does not face; see which table is which, or {TRUST}",
                f_hz(best.0),
                f_hz(best.1 - 1)
            ),
        )
    })
}

/// Level within a table, straight over log-frequency.
fn level_at(table: &Table, f_hz: f64) -> f64 {
    let last = table.f_hz.len() - 1;
    let above = table.f_hz.partition_point(|f| *f < f_hz).clamp(1, last);
    let (a, b) = (table.f_hz[above - 1], table.f_hz[above]);
    let share = ((f_hz / a).ln() / (b / a).ln()).clamp(0.0, 1.0);
    let level = &table.magnitude;
    level[above - 1] + share * (level[above] - level[above - 1])
}

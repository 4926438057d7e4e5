//! What a loudspeaker sends in other directions than the one it is judged in.

use netlist::quantity::Hertz;

use crate::directions::Directions;
use crate::judge::finding::{Finding, listed};
use crate::judge::finding_code::FindingCode;
use crate::sound::KnownFrom;

/// A lobe that points further away than this misses a listener who moves a little (common practice: the listening
/// window ends there).
const TILT_DEG: f64 = 10.0;
/// Drivers closer than this have no lobes to speak of, m.
const APART_M: f64 = 0.01;
/// A change within the listening window that is heard as another loudspeaker, dB.
const CHANGE_DB: f64 = 6.0;

pub(super) fn findings(found: &Directions, findings: &mut Vec<Finding>) {
    for lobe in &found.lobes {
        if lobe.tilt_deg.abs() <= TILT_DEG || lobe.apart_m < APART_M {
            continue;
        }
        let way = match (lobe.plane, lobe.tilt_deg > 0.0) {
            ("vertical", true) => "upwards",
            ("vertical", false) => "downwards",
            (_, true) => "to the right",
            (_, false) => "to the left",
        };
        findings.push(Finding::note(
            FindingCode::LobeTilted,
            format!(
                "at {:.3} the sum of {} and {} is loudest {:.0}° {way}, not straight ahead: their acoustic centres are not equally far from the listener, or their slopes are not in phase there; set one of them back by position.back, or let aim.judged = \"window\" design for all of the window",
                Hertz(lobe.frequency_hz),
                lobe.between[0],
                lobe.between[1],
                lobe.tilt_deg.abs()
            ),
        ));
    }
    let change = &found.vertical_change;
    if change.most_db.abs() > CHANGE_DB {
        findings.push(Finding::note(
            FindingCode::VerticalWindowUneven,
            format!(
                "{:.0}° {} the axis the sum changes by {:+.1} dB at {:.3}: the drivers are far apart for the wavelength there ({:.0} cm); bring them closer, cross lower or steeper, or sit at the height that it is designed for",
                change.angle_deg.abs(),
                if change.angle_deg > 0.0 { "above" } else { "below" },
                change.most_db,
                Hertz(change.at_hz),
                100.0 * crate::air::SPEED_OF_SOUND_M_PER_S / change.at_hz
            ),
        ));
    }
    let points: Vec<&str> = (found.sources.iter())
        .filter(|source| source.known_from == KnownFrom::Nothing)
        .map(|source| source.driver.as_str())
        .collect();
    if !points.is_empty() {
        findings.push(Finding::note(
            FindingCode::DirectionsNotKnown,
            format!(
                "nothing says where {} {} the sound, taken as alike in all directions: windows and sound power hold only what the places of the drivers do; write size (diameter of the cone, or width and height of the mouth) or coverage, or name tables measured off the axis",
                listed(&points),
                if points.len() == 1 { "sends" } else { "send" }
            ),
        ));
    }
}

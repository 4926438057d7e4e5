//! What was measured close to a diaphragm: how it meets the far field, and how far up it holds.

use netlist::project::{Project, Source};
use netlist::quantity::{Hertz, Metres};

use super::finding::Finding;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::load::{Join, near_field_to_hz};
use crate::search::Job;

/// Near and far field that are further apart than this are not of the same measurement (judgement): 1 dB is common.
const APART_DB: f64 = 2.0;
/// Further apart than this, one has no level at all.
const NO_LEVEL_DB: f64 = 12.0;
/// Phases that are further apart than this over the join, degrees rms (judgement).
const APART_DEG: f64 = 20.0;

/// How near and far field meet.
pub(super) fn of_join(name: &str, join: &Join) -> Finding {
    let hz = |f_hz: f64| format!("{:.3}", Hertz(f_hz));
    let level = match join.misfit_db {
        db if db.abs() < 0.05 => "as loud as".to_owned(),
        db if db > 0.0 => format!("{db:.1} dB louder than"),
        db => format!("{:.1} dB less loud than", -db),
    };
    let phase = match join.misfit_deg {
        Some(deg) => format!(
            "; their phases agree to {deg:.0}° with the near field {:.0} mm farther away{}",
            Metres(join.delay_s * SPEED_OF_SOUND_M_PER_S).0 * 1000.0,
            if join.inverted {
                " and the other way round"
            } else {
                ""
            }
        ),
        None => {
            "; the far field has no phase, so that the phase of both is worked out from the level"
                .to_owned()
        }
    };
    let mut message = format!(
        "near and far field of {name} meet at {}, {} to {}: by the area of the diaphragm the near field is {level} the far field there{phase}",
        hz(join.at_hz),
        hz(join.from_hz),
        hz(join.to_hz)
    );
    let apart_db = join.misfit_db.abs();
    if apart_db > APART_DB {
        message += "; see whether sd, drive, near_drive and distance are as they were, whether [cabinet] says what box it was measured in, and whether the far field still holds there (the limit of its gate)";
    } else if join.misfit_deg.is_some_and(|deg| deg > APART_DEG) {
        message += "; join them where both hold, or see whether one of the phases is right";
    } else {
        return Finding::note("near-field-joined", message);
    }
    match apart_db > NO_LEVEL_DB {
        true => Finding::danger("near-field-joined", message),
        false => Finding::caution("near-field-joined", message),
    }
}

/// Near fields that are used further up than they hold.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, way) in job.ways.iter().enumerate() {
        let Source::Measured(measured) = &project.drivers[way.name.as_str()].source else {
            continue;
        };
        let Some(near) = &measured.near else {
            continue;
        };
        let holds_hz = near_field_to_hz(near);
        let (used_hz, way_out) = match &near.joined {
            Some(joined) => (joined.at.0, "join it lower"),
            None => (
                job.band_hz(number).1,
                "measure the far field too, and join both",
            ),
        };
        if used_hz > holds_hz {
            findings.push(Finding::caution(
                "near-field-too-high",
                format!(
                    "the near field of {} is used up to {:.3}, and a diaphragm of {} tells its level at a distance within 1 dB up to {:.3} only; {way_out}",
                    way.name,
                    Hertz(used_hz),
                    near.sd,
                    Hertz(holds_hz)
                ),
            ));
        }
    }
    findings
}

//! What was measured close to a diaphragm: how it meets the far field, and how far up it holds.

use netlist::project::{Project, Source};
use netlist::quantity::Hertz;

use super::finding::Finding;
use super::finding_code::FindingCode;
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
            join.delay_s * SPEED_OF_SOUND_M_PER_S * 1000.0,
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
        "the near field of {name} is {level} its far field where they meet, about {} ({} to {}): as the area of the diaphragm has it{phase}",
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
        return Finding::note(FindingCode::NearFieldJoined, message);
    }
    match apart_db > NO_LEVEL_DB {
        true => Finding::danger(FindingCode::NearFieldJoined, message),
        false => Finding::caution(FindingCode::NearFieldJoined, message),
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
                FindingCode::NearFieldTooHigh,
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

#[cfg(test)]
mod tests {
    use super::super::Severity::{Caution, Danger, Note};
    use super::super::fixture::{Brief, find, has, table};

    const WALL: &str = "[cabinet]\nwidth = \"20 m\"\nheight = \"20 m\"\ndepth = \"1 m\"";

    /// A woofer of 850 cm², its near field `more_db` louder than its area has it; joined, or alone.
    fn woofer(more_db: f64, tables: &str) -> Brief {
        // 2r/a at 1 m.
        let gain_db = 20.0 * (2.0 / (0.085 / std::f64::consts::PI).sqrt()).log10();
        let z = table(15.0, 25_000.0, |_| "7 0".into());
        let far = table(100.0, 20_000.0, |f| format!("95 {}", -360.0 * f * 1e-3));
        let near = table(15.0, 900.0, |_| {
            format!("{:.3} 0", 95.0 + gain_db + more_db)
        });
        Brief::default()
            .measured("low", z, far)
            .file("near.txt", near)
            .with(
                "low",
                &format!("{{ impedance = \"low-z.txt\", sd = \"850 cm2\", {tables} }}"),
            )
            .with("power_low", "on_baffle = { up = \"9 m\" }")
            .with("extra", WALL)
    }

    const JOINED: &str = "near = \"near.txt\", far = \"low-r.txt\", join = \"250 Hz\"";

    #[test]
    fn near_and_far_field_that_meet_or_do_not() {
        let code = "near-field-joined";
        for (more_db, severity) in [
            (0.4, Note),
            (-1.5, Note),
            (2.6, Caution),
            (-6.0, Caution),
            (20.0, Danger),
        ] {
            let found = woofer(more_db, JOINED).findings();
            let finding = find(&found, code);
            assert_eq!(finding.severity, severity, "{finding:?}");
            let told = match more_db > 0.0 {
                true => "dB louder than its far field",
                false => "dB less loud than its far field",
            };
            assert!(finding.message.contains(told), "{finding:?}");
            assert!(
                finding.message.contains("meet, about 250 Hz"),
                "{finding:?}"
            );
            assert_eq!(finding.message.contains("whether sd"), severity != Note);
        }
        let plain = "response = \"low-r.txt\"";
        assert!(!has(&woofer(0.0, plain).findings(), code));
    }

    /// A diaphragm of 16 cm radius: ka is 1.6 at 531 Hz, and the crossover is at 800 Hz.
    #[test]
    fn a_near_field_that_is_used_too_high() {
        let code = "near-field-too-high";
        let alone = "response = \"near.txt\", space = \"near field\"";
        let found = woofer(0.0, alone).findings();
        let finding = find(&found, code);
        assert_eq!(finding.severity, Caution);
        assert!(finding.message.contains("up to 800 Hz"), "{finding:?}");
        assert!(finding.message.contains("531 Hz only"), "{finding:?}");
        assert!(!has(&woofer(0.0, JOINED).findings(), code));
        let high = JOINED.replace("250", "700");
        assert!(has(&woofer(0.0, &high).findings(), code));
        // A near field is of the diaphragm: neither worked out nor in want of a way.
        for code in ["phase-is-minimum", "depth-counted-twice"] {
            assert!(!has(&found, code), "{found:#?}");
        }
    }

    #[test]
    fn gated_data_below_their_limit_matter_from_the_join_on() {
        let code = "data-below-gate";
        let gated = |from: &str| format!("{JOINED}, reliable_from = \"{from}\"");
        assert!(!has(&woofer(0.0, &gated("170 Hz")).findings(), code));
        assert!(has(&woofer(0.0, &gated("220 Hz")).findings(), code));
    }

    #[test]
    fn without_a_cabinet_the_wall_is_told() {
        let bare = woofer(0.0, JOINED).with("extra", "").with("power_low", "");
        assert!(has(&bare.findings(), "no-cabinet"));
        assert!(!has(&woofer(0.0, JOINED).findings(), "no-cabinet"));
    }
}

//! Gaps in the data, and what cannot be checked for want of them.

use netlist::project::{Project, Source};
use netlist::quantity::{Hertz, Ohms, Quantity};

use super::finding::{Finding, listed};
use super::finding_code::FindingCode;
use super::notes::{of_note, word};
use super::{amplifier_table, cabinet, near_field, tables};
use crate::load::{Curve, measured_response, phase_doubt};
use crate::programme::Loudness;
use crate::search::{Job, Way};

/// A doubt about a phase below this changes nothing that is heard, degrees: two equal ways lose 0.03 dB.
const WORTH_A_WORD_DEG: f64 = 10.0;
/// One above this makes the phase at a crossover a guess, degrees: the sum of two equal ways that should be in phase
/// falls by 0.3 dB at 30°, and at 60° by 1.2 dB.
const DOUBTFUL_DEG: f64 = 30.0;

/// Findings on the drivers' data and on what the project does not say.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, way) in job.ways.iter().enumerate() {
        for note in &way.notes {
            findings.extend(of_note(job, number, note));
        }
    }
    findings.extend(cabinet::finding(project, job));
    findings.extend(near_field::findings(project, job));
    findings.extend(amplifier_table::finding(&project.amplifier));
    findings.extend(tables::findings(project, job));
    phases_in_doubt(project, job, &mut findings);
    phase_references(project, job, &mut findings);
    not_stated(project, job, &mut findings);
    not_used(project, job, &mut findings);
    findings
}

/// A phase that was worked out and hangs on what is beyond the table's ends, where it is used: that of a response
/// about the way's crossovers, that of an impedance in the way's band and an octave around it.
fn phases_in_doubt(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    for (number, way) in job.ways.iter().enumerate() {
        let driver = &project.drivers[way.name.as_str()];
        let (Source::Measured(measured), Some(response)) =
            (&driver.source, measured_response(driver))
        else {
            continue;
        };
        let (low, high) = job.band_hz(number);
        let crossovers = [
            (number > 0).then_some(low),
            (number < job.crossovers.len()).then_some(high),
        ];
        let half_octave = std::f64::consts::SQRT_2;
        let about =
            |from: f64, to: f64| (0..=8).map(move |i| from * (to / from).powf(f64::from(i) / 8.0));
        let near: Vec<f64> = (crossovers.into_iter().flatten())
            .flat_map(|f| about(f / half_octave, f * half_octave))
            .collect();
        let band: Vec<f64> = about(low / 2.0, high * 2.0).collect();
        for (curve, table, f_hz, where_used) in [
            (Curve::Response, &*response, near, "about its crossovers"),
            (Curve::Impedance, &measured.impedance, band, "in its band"),
        ] {
            let Some(doubt) = phase_doubt(table, curve, &f_hz) else {
                continue;
            };
            if doubt.most_deg < WORTH_A_WORD_DEG {
                continue;
            }
            let upper = doubt.end_hz > doubt.at_hz;
            let message = format!(
                "the {} phase of {} was worked out and hangs on what is {} the end of its table at {:.3}, which nobody knows: {where_used} it may be off by up to {:.0}° (at {:.3}); measure an octave further {}, or with phase",
                word(curve),
                way.name,
                if upper { "above" } else { "below" },
                Hertz(doubt.end_hz),
                doubt.most_deg,
                Hertz(doubt.at_hz),
                if upper { "up" } else { "down" },
            );
            findings.push(match doubt.most_deg > DOUBTFUL_DEG {
                true => Finding::caution(FindingCode::PhaseDoubtful, message),
                false => Finding::note(FindingCode::PhaseDoubtful, message),
            });
        }
    }
}

/// What is said and has no use.
fn not_used(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    for way in &job.ways {
        let Source::Cone(cone) = &project.drivers[way.name.as_str()].source else {
            continue;
        };
        let closed = cone
            .enclosure
            .filter(|enclosure| enclosure.tuning.is_none());
        let Some(ql) = closed.and_then(|enclosure| enclosure.ql) else {
            continue;
        };
        findings.push(Finding::note(
            FindingCode::LeakWithoutVent,
            format!(
                "the box of {} has no tuning and so is closed; ql = {ql}, the leak of a vented box at its tuning, is not used; state the tuning, or leave ql out",
                way.name
            ),
        ));
    }
}

/// A measured phase holds what the measurement holds of flight time, a modelled or reconstructed one
/// nothing: together they mean something only if the flight time was taken out.
fn phase_references(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    let written = |way: &&Way| {
        let driver = &project.drivers[way.name.as_str()];
        match &driver.source {
            // That of a near field is of the diaphragm alone.
            Source::Measured(measured) => {
                measured.response.phase_deg.is_some() && !measured.is_near_only()
            }
            Source::Cone(_) | Source::Compression(_) | Source::Horn(_) => false,
        }
    };
    let (with, without): (Vec<&Way>, Vec<&Way>) = job.ways.iter().partition(written);
    if with.is_empty() || without.is_empty() {
        return;
    }
    let names = |ways: &[&Way]| listed(&ways.iter().map(|w| w.name.as_str()).collect::<Vec<_>>());
    findings.push(Finding::caution(
        FindingCode::PhaseReferencesDiffer,
        format!(
            "the phase of {} is measured and that of {} worked out without any flight time; they fit together only if the flight time was taken out of the measurement and position.back says where each acoustic centre is",
            names(&with),
            names(&without)
        ),
    ));
}

/// Checks that cannot be made for want of a figure.
fn not_stated(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    let amplifier = &project.amplifier;
    if amplifier.rated_power.is_none() {
        findings.push(Finding::note(
            FindingCode::NoRatedPower,
            "the amplifier's rated_power is not stated, so that the heat in the parts and the power in the drivers cannot be checked; write it under [amplifier]".to_owned(),
        ));
    }
    if amplifier.rated_load.is_none() {
        let limit = if job.least_load_ohm > 0.0 {
            format!(
                "only the minimum_load of {} is held",
                Ohms(job.least_load_ohm)
            )
        } else {
            "no limit is put to the load".to_owned()
        };
        let power = amplifier.rated_power.map_or(String::new(), |_| {
            let load = Ohms(Loudness::of(amplifier).load_ohm);
            format!(", and rated_power is taken to be into {load}")
        });
        findings.push(Finding::note(
            FindingCode::NoRatedLoad,
            format!(
                "the amplifier's rated_load is not stated: {limit}{power}; write it under [amplifier]"
            ),
        ));
    }
    let lacking = |lacks: &dyn Fn(&netlist::project::Driver) -> bool| -> Vec<&str> {
        (job.ways.iter())
            .map(|way| way.name.as_str())
            .filter(|name| lacks(&project.drivers[*name]))
            .collect()
    };
    let without_power = lacking(&|driver| driver.power.is_none());
    if !without_power.is_empty() {
        findings.push(Finding::note(
            FindingCode::NoDriverPower,
            format!(
                "no rated power is stated for {}, so that it cannot be checked against what the amplifier sends there; write power = \"...\"",
                listed(&without_power)
            ),
        ));
    }
    let without_band = lacking(&|driver| driver.usable.is_none());
    if !without_band.is_empty() {
        findings.push(Finding::note(
            FindingCode::NoUsableBand,
            format!(
                "no usable band is stated for {}, so that the crossovers cannot be checked against it; write usable = {{ from = \"...\", to = \"...\" }}",
                listed(&without_band)
            ),
        ));
    }
    let anywhere = |way: &Way| {
        let position = project.drivers[way.name.as_str()].position;
        position.back.si() == 0.0 && position.back_to.is_none()
    };
    if job.ways.iter().all(anywhere) && project.listener.is_none() {
        findings.push(Finding::note(
            FindingCode::NoDepthStated,
            "every driver stands at position.back = 0, so that all acoustic centres are taken to be in one plane unless measured phases hold the difference; a horn's centre is often many centimetres behind a woofer's".to_owned(),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::Severity::{Caution, Note as Noted};
    use super::super::fixture::{Brief, find, has, table};
    use super::super::{Finding, brief_findings};
    use super::*;
    use crate::load::Note;

    fn with_note(way: usize, note: Note) -> Vec<Finding> {
        let brief = Brief::default();
        let mut job = brief.job();
        job.ways[way].notes.push(note);
        brief_findings(&brief.project(), &job)
    }

    #[test]
    fn a_response_without_phase_weighs_more_than_an_impedance() {
        let brief = Brief::default().measured(
            "high",
            table(50.0, 20_000.0, |_| "7".into()),
            table(50.0, 20_000.0, |_| "105".into()),
        );
        let found: Vec<Finding> = (brief.findings().into_iter())
            .filter(|f| f.code.text() == "phase-reconstructed")
            .collect();
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].severity, Caution);
        assert!(found[0].message.starts_with("the response of high"));
        assert_eq!(found[1].severity, Noted);
        assert!(!has(&Brief::default().findings(), "phase-reconstructed"));
    }

    #[test]
    fn tables_that_end_too_early() {
        let flat = |_: f64| "7 0".to_owned();
        let loud = |_: f64| "105 0".to_owned();
        // Ends at 10 kHz, the aim at 15 kHz: inside the band of the upper way.
        let found = Brief::default()
            .measured(
                "high",
                table(15.0, 10_000.0, flat),
                table(50.0, 20_000.0, loud),
            )
            .findings();
        let finding = find(&found, "table-ends-inside-band");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.starts_with(
                "the impedance table of high ends at 10 kHz, inside its band of 800 Hz to 15 kHz"
            ),
            "{finding:?}"
        );
        assert!(!has(&found, "table-ends-beyond-band"));
        // Begins at 300 Hz: inside the aim, outside the band.
        let found = Brief::default()
            .measured(
                "high",
                table(15.0, 25_000.0, flat),
                table(300.0, 20_000.0, loud),
            )
            .findings();
        let finding = find(&found, "table-ends-beyond-band");
        assert_eq!(finding.severity, Noted);
        assert!(
            finding
                .message
                .contains("response table of high begins at 300 Hz")
        );
        assert!(!has(&found, "table-ends-inside-band"));
    }

    #[test]
    fn doubtful_phases_are_cautions() {
        let found = with_note(
            0,
            Note::PhaseLimited {
                from_hz: 100.0,
                to_hz: 200.0,
                worst_deg: 97.2,
            },
        );
        let finding = find(&found, "impedance-phase-limited");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding
                .message
                .contains("low reaches 97° between 100 Hz and 200 Hz")
        );
        let found = with_note(
            1,
            Note::PhaseTooCoarse {
                curve: Curve::Response,
                at_hz: 9000.0,
            },
        );
        let finding = find(&found, "phase-too-coarse");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.contains("response phase of high") && finding.message.contains("9 kHz")
        );
        let found = with_note(0, Note::ReEstimated { re_ohm: 5.62 });
        let finding = find(&found, "coil-resistance-estimated");
        assert_eq!(finding.severity, Noted);
        assert!(finding.message.contains("5.62 Ω"));
    }

    #[test]
    fn measured_and_modelled_phases_do_not_mix_unseen() {
        let z = || table(50.0, 20_000.0, |_| "7 0".into());
        let r = || table(50.0, 20_000.0, |_| "105 0".into());
        let mixed = Brief::default().measured("high", z(), r());
        assert_eq!(
            find(&mixed.findings(), "phase-references-differ").severity,
            Caution
        );
        let both = mixed.measured("low", z(), table(50.0, 20_000.0, |_| "95 0".into()));
        assert!(!has(&both.findings(), "phase-references-differ"));
        assert!(!has(
            &Brief::default().findings(),
            "phase-references-differ"
        ));
    }

    #[test]
    fn what_is_not_stated_cannot_be_checked() {
        let codes = ["no-rated-power", "no-rated-load", "no-driver-power"];
        let sound = Brief::default().findings();
        assert!(codes.iter().all(|code| !has(&sound, code)));
        let bare = Brief::default()
            .with("amplifier", "")
            .with("power_low", "")
            .with("power_high", "");
        let found = bare.findings();
        for code in codes {
            assert_eq!(find(&found, code).severity, Noted);
        }
        assert!(
            find(&found, "no-rated-load")
                .message
                .contains("no limit is put")
        );
        assert!(
            find(&found, "no-driver-power")
                .message
                .contains("low and high,")
        );
        let found = bare.with("aim", "minimum_load = \"5 ohm\"").findings();
        assert!(
            find(&found, "no-rated-load")
                .message
                .contains("minimum_load of 5 Ω")
        );
        let mut project = bare.project();
        project.drivers["low"].usable = None;
        let found = brief_findings(&project, &bare.job());
        assert!(
            find(&found, "no-usable-band")
                .message
                .contains("stated for low,")
        );
    }

    /// A response without phase that begins close below its crossover leaves the phase there in doubt, one that begins
    /// far below, where it falls as its horn does, does not; nor one with phase.
    #[test]
    fn a_phase_that_hangs_on_what_is_beyond_the_table() {
        let level = |f: f64| {
            let x = f / 400.0;
            105.0 + 20.0 * (x * x / (1.0 + x.powi(4)).sqrt()).log10()
        };
        let z = || table(10.0, 25_000.0, |_| "7 0".into());
        let from = |from_hz: f64, phase: &str| {
            let row = |f: f64| format!("{:.3}{phase}", level(f));
            Brief::default()
                .measured("high", z(), table(from_hz, 40_000.0, row))
                .findings()
        };
        let code = "phase-doubtful";
        let found = from(500.0, "");
        let finding = find(&found, code);
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.contains("response phase of high"),
            "{finding:?}"
        );
        assert!(
            finding
                .message
                .contains("below the end of its table at 500 Hz")
        );
        assert!(finding.message.contains("measure an octave further down"));
        assert!(!has(&from(40.0, ""), code), "{:#?}", from(40.0, ""));
        assert!(!has(&from(500.0, " 0"), code));
    }

    #[test]
    fn a_leak_that_no_vent_uses_is_told() {
        let boxed = |text: &str| {
            let low = format!(
                r#"{{ re = 6.5, fs = "30 Hz", qms = 6, qes = 0.4, vas = "200 L", sd = "850 cm2", box = {text} }}"#
            );
            Brief::default().with("low", &low).findings()
        };
        let code = "leak-without-vent";
        let found = boxed(r#"{ volume = "100 L", ql = 5 }"#);
        let finding = find(&found, code);
        assert_eq!(finding.severity, Noted);
        assert!(finding.message.contains("low") && finding.message.contains("ql = 5"));
        assert!(!has(&boxed(r#"{ volume = "100 L" }"#), code));
        let vented = r#"{ volume = "100 L", tuning = "32 Hz", ql = 5 }"#;
        assert!(!has(&boxed(vented), code));
    }

    #[test]
    fn depth_that_nobody_stated() {
        let plane = Brief::default();
        assert!(has(&plane.findings(), "no-depth-stated"));
        assert!(!has(
            &plane.with("back_high", "80 mm").findings(),
            "no-depth-stated"
        ));
    }
}

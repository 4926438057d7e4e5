//! Crossovers against what the drivers stand: usable band, resonance, horn cut-off.
//!
//! The margins are common practice, no standard: a crossover at least 2 times above the resonance of the
//! upper driver with a slope of 12 dB per octave and 1.5 times with 24 dB per octave; at least 1.2 times
//! above the horn's cut-off, an octave for full power; 12 dB per octave as the gentlest slope for a
//! compression driver.

use netlist::project::Project;
use netlist::quantity::{Hertz, Quantity};

use super::finding::Finding;
use super::finding_code::FindingCode;
use super::margin_side::MarginSide;
use crate::load::{driver_resonance, is_delicate};
use crate::search::{Job, choose_alignments};

/// Findings for each crossover, lowest first.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    let alignments = choose_alignments(job);
    for (c, crossover) in job.crossovers.iter().enumerate() {
        let f = crossover.frequency;
        let [lower, upper] = [c, c + 1].map(|way| MarginSide {
            name: &job.ways[way].name,
            driver: &project.drivers[job.ways[way].name.as_str()],
        });
        if let Some(finding) = exchanged(&lower, &upper) {
            findings.push(finding);
            continue;
        }
        if let Some(finding) = apart(&lower, &upper, f) {
            // Whatever else would be said of this crossover is advice against the rest of it.
            findings.push(finding);
            continue;
        }
        lower.top_of_usable_band(f, &mut findings);
        upper.bottom_of_usable_band(f, &mut findings);
        let order = alignments[c].upper.order;
        upper.resonance(f, order, &mut findings);
        upper.horn(f, order, &mut findings);
    }
    ends_of_aim(project, job, &mut findings);
    findings.extend(lowest_way(project, job));
    findings
}

/// Two drivers of a crossover whose usable bands say that the one called the lower is the upper.
fn exchanged(lower: &MarginSide<'_>, upper: &MarginSide<'_>) -> Option<Finding> {
    let (low, high) = (lower.driver.usable?, upper.driver.usable?);
    let above = |end: usize| low[end].si() > high[end].si();
    (above(0) && above(1)).then(|| {
        Finding::caution(
            FindingCode::DriversExchanged,
            format!(
                "{} is usable from {} to {} and {}, which is to play above it, from {} to {}: the two look exchanged; write between = [\"{}\", \"{}\"], the lower driver first",
                lower.name, low[0], low[1], upper.name, high[0], high[1], upper.name, lower.name
            ),
        )
    })
}

/// A delicate driver with nothing below it: no high pass is designed for it, so all that is fed below its resonance moves
/// its diaphragm.
fn lowest_way(project: &Project, job: &Job) -> Option<Finding> {
    let name = &job.ways[0].name;
    let driver = &project.drivers[name.as_str()];
    let resonance = driver_resonance(driver).filter(|_| is_delicate(driver))?;
    let from = job.aim.from;
    Some(if from.si() < resonance.si() {
        Finding::danger(
            FindingCode::LowestWayUnprotected,
            format!(
                "{name} is the lowest way and is to play from {from}, below its resonance at {resonance:.3}: nothing keeps the bass from its diaphragm, which can break at a level that sounds harmless; put a driver below it and cross to it"
            ),
        )
    } else {
        Finding::caution(
            FindingCode::LowestWayUnprotected,
            format!(
                "{name} is the lowest way and nothing here keeps what is below its resonance at {resonance:.3} from its diaphragm; feed this loudspeaker through a high pass (12 dB per octave or more, common practice), or put a driver below it"
            ),
        )
    })
}

/// Two drivers with nothing in common: what the one can do ends below where the other may begin, however
/// steep the slopes.
fn apart(lower: &MarginSide<'_>, upper: &MarginSide<'_>, f: Hertz) -> Option<Finding> {
    let to = lower.driver.usable?[1];
    let (from_hz, why) = upper.begins_hz()?;
    if from_hz <= to.si() {
        return None;
    }
    let breaks = is_delicate(upper.driver)
        && driver_resonance(upper.driver).is_some_and(|resonance| f.si() < resonance.si());
    let message = format!(
        "{} and {} cannot meet: {} is usable up to {to} and {} may begin at {:.3} only ({why}); no crossover suits both, so a driver between them is needed, or one of them that reaches further; what is designed for {f} is the nearest thing{}",
        lower.name,
        upper.name,
        lower.name,
        upper.name,
        Hertz(from_hz),
        if breaks {
            ", and at that frequency the diaphragm can break at a level that sounds harmless"
        } else {
            ""
        }
    );
    Some(if breaks {
        Finding::danger(FindingCode::DriversCannotMeet, message)
    } else {
        Finding::caution(FindingCode::DriversCannotMeet, message)
    })
}

/// The aim against the usable bands of the lowest and the highest driver.
fn ends_of_aim(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    let usable = |way: usize| project.drivers[job.ways[way].name.as_str()].usable;
    let (from, to) = (job.aim.from, job.aim.to);
    if let Some([usable_from, _]) = usable(0)
        && from.si() < usable_from.si()
    {
        findings.push(Finding::note(
            FindingCode::AimOutsideUsableBand,
            format!(
                "the aim begins at {from}, but {} is usable from {usable_from} only; what is missing there counts as an error; begin the aim at {usable_from}",
                job.ways[0].name
            ),
        ));
    }
    let top = job.ways.len() - 1;
    if let Some([_, usable_to]) = usable(top)
        && to.si() > usable_to.si()
    {
        findings.push(Finding::note(
            FindingCode::AimOutsideUsableBand,
            format!(
                "the aim ends at {to}, but {} is usable up to {usable_to} only; what is missing there counts as an error; end the aim at {usable_to}",
                job.ways[top].name
            ),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::Severity::{Caution, Danger, Note};
    use super::super::fixture::{Brief, find, has};

    #[test]
    fn a_sound_brief_has_no_margin_findings() {
        let found = Brief::default().findings();
        for code in [
            "crossover-outside-usable-band",
            "crossover-near-end-of-usable-band",
            "crossover-below-resonance",
            "crossover-near-resonance",
            "no-resonance-known",
            "crossover-below-horn-cutoff",
            "crossover-near-horn-cutoff",
            "slope-too-gentle",
            "aim-outside-usable-band",
            "drivers-exchanged",
            "lowest-way-unprotected",
        ] {
            assert!(!has(&found, code), "{code}: {found:#?}");
        }
    }

    /// A compression driver as the lowest way plays the bass.
    #[test]
    fn nothing_keeps_the_bass_from_the_lowest_way() {
        let horn = |resonance: &str| {
            let low = r#"{ re = "6.5 ohm", level = "108 dB", horn = { cutoff = "90 Hz" }, resonances = [{ r = "20 ohm", f = "RESONANCE", q = 2.5 }] }"#;
            Brief::default().with("low", &low.replace("RESONANCE", resonance))
        };
        let found = horn("385 Hz").findings();
        let finding = find(&found, "lowest-way-unprotected");
        assert_eq!(finding.severity, Danger);
        assert!(finding.message.contains("below its resonance at 385 Hz"));
        let found = horn("70 Hz").findings();
        assert_eq!(find(&found, "lowest-way-unprotected").severity, Caution);
    }

    #[test]
    fn drivers_in_the_wrong_order_are_told() {
        let found = Brief::default()
            .with("usable_low", "600 Hz, 18 kHz")
            .with("usable_high", "40 Hz, 2 kHz")
            .findings();
        let finding = find(&found, "drivers-exchanged");
        assert_eq!(finding.severity, Caution);
        assert!(finding.message.contains("between = [\"high\", \"low\"]"));
        assert!(!has(&found, "drivers-cannot-meet"));
    }

    #[test]
    fn usable_bands_on_both_sides() {
        let found = Brief::default()
            .with("usable_low", "20 Hz, 600 Hz")
            .findings();
        let finding = find(&found, "crossover-outside-usable-band");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding
                .message
                .starts_with("low is to play up to the crossover at 800 Hz")
        );

        let found = Brief::default()
            .with("usable_low", "20 Hz, 1 kHz")
            .findings();
        let finding = find(&found, "crossover-near-end-of-usable-band");
        assert_eq!(finding.severity, Note);
        assert!(finding.message.contains("707 Hz"), "{finding:?}");

        let found = Brief::default()
            .with("usable_high", "900 Hz, 20 kHz")
            .findings();
        let finding = find(&found, "crossover-outside-usable-band");
        assert!(
            finding.message.contains("usable from 900 Hz"),
            "{finding:?}"
        );

        let found = Brief::default()
            .with("usable_high", "700 Hz, 20 kHz")
            .findings();
        let finding = find(&found, "crossover-near-end-of-usable-band");
        assert!(finding.message.contains("990 Hz or above"), "{finding:?}");
    }

    /// Said once, with one way out, in place of two opposite counsels.
    #[test]
    fn drivers_that_cannot_meet_are_told_once() {
        let apart = Brief::default()
            .with("usable_low", "20 Hz, 600 Hz")
            .with("usable_high", "1.2 kHz, 20 kHz");
        let found = apart.findings();
        let finding = find(&found, "drivers-cannot-meet");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.contains("a driver between them is needed"),
            "{finding:?}"
        );
        assert!(
            finding
                .message
                .contains("begin at 1.2 kHz only (its usable band)"),
            "{finding:?}"
        );
        for code in [
            "crossover-outside-usable-band",
            "crossover-near-end-of-usable-band",
            "crossover-near-resonance",
        ] {
            assert!(!has(&found, code), "{code}: {found:#?}");
        }
        let found = apart.with("resonance", "900 Hz").findings();
        assert_eq!(find(&found, "drivers-cannot-meet").severity, Danger);
        assert!(!has(&found, "crossover-below-resonance"));

        let meeting = Brief::default().with("usable_high", "600 Hz, 20 kHz");
        assert!(!has(&meeting.findings(), "drivers-cannot-meet"));
    }

    #[test]
    fn the_aim_stays_in_the_usable_bands() {
        let found = Brief::default()
            .with("usable_low", "120 Hz, 3 kHz")
            .with("usable_high", "300 Hz, 12 kHz")
            .findings();
        let messages: Vec<&str> = (found.iter())
            .filter(|f| f.code.text() == "aim-outside-usable-band")
            .map(|f| f.message.as_str())
            .collect();
        assert_eq!(messages.len(), 2);
        assert!(messages[0].contains("begin the aim at 120 Hz"));
        assert!(messages[1].contains("end the aim at 12 kHz"));
    }

    #[test]
    fn resonance_margin_depends_on_the_slope() {
        // 800 Hz is 1.6 times 500 Hz: enough for 24 dB per octave, not for 12.
        let steep = Brief::default().with("resonance", "500 Hz");
        assert!(!has(&steep.findings(), "crossover-near-resonance"));
        let found = steep.with("alignment", "\"LR2\"").findings();
        let finding = find(&found, "crossover-near-resonance");
        assert_eq!(finding.severity, Caution);
        assert!(finding.message.contains("1.60 times"), "{finding:?}");
        assert!(finding.message.contains("1 kHz or above"), "{finding:?}");
    }

    #[test]
    fn below_the_resonance_is_a_danger() {
        let found = Brief::default().with("resonance", "900 Hz").findings();
        let finding = find(&found, "crossover-below-resonance");
        assert_eq!(finding.severity, Danger);
        assert!(finding.message.contains("1.35 kHz or above"), "{finding:?}");
        assert!(!has(&found, "crossover-near-resonance"));
    }

    /// A stated resonance goes before that of the data; without any there is a note.
    #[test]
    fn a_driver_without_a_peak() {
        let found = Brief::default().with("peaks", "").findings();
        assert_eq!(find(&found, "no-resonance-known").severity, Note);
        let stated = Brief::default()
            .with("peaks", "")
            .with("stated", "resonance = \"820 Hz\"");
        assert_eq!(
            find(&stated.findings(), "crossover-below-resonance").severity,
            Danger
        );
    }

    /// A cone as the upper way: no danger, but a caution; its resonance is read off its impedance.
    #[test]
    fn a_cone_below_its_resonance_is_no_danger() {
        let cone = "{ re = \"6 ohm\", fs = \"220 Hz\", qms = 4, qes = 0.5, vas = \"2 L\", sd = \"80 cm2\" }";
        let found = Brief::default()
            .with("high", cone)
            .with("crossover", "200 Hz")
            .findings();
        let finding = find(&found, "crossover-near-resonance");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.contains("resonance at 220 Hz"),
            "{finding:?}"
        );
        assert!(!has(&found, "crossover-below-resonance"));
    }

    #[test]
    fn horn_cutoff_margins() {
        for (cutoff, code, severity) in [
            ("900 Hz", "crossover-below-horn-cutoff", Danger),
            ("700 Hz", "crossover-near-horn-cutoff", Caution),
            ("450 Hz", "crossover-within-octave-of-horn-cutoff", Note),
        ] {
            let found = Brief::default().with("cutoff", cutoff).findings();
            assert_eq!(find(&found, code).severity, severity);
            assert_eq!(
                found
                    .iter()
                    .filter(|f| f.code.text().contains("cutoff"))
                    .count(),
                1
            );
        }
        let found = Brief::default().with("cutoff", "399 Hz").findings();
        assert!(!found.iter().any(|f| f.code.text().contains("cutoff")));
    }

    #[test]
    fn a_compression_driver_wants_a_slope() {
        let found = Brief::default().with("alignment", "\"BW1\"").findings();
        assert_eq!(find(&found, "slope-too-gentle").severity, Caution);
    }
}

//! Each finding stands where it should, and not where it should not.

use super::super::Severity::{Caution, Danger, Note};
use super::super::fixture::{Brief, PARTS, find, has};
use super::*;
use crate::goal::CrossoverFigures;
use crate::search::{choose_alignments, depths};

/// Figures without fault: of a way that needs no pad, with a load above the limit.
fn good(job: &Job) -> (Figures, LoadFigures) {
    let figures = Figures {
        level_db: job.ways[job.weakest()].level_db,
        rms_db: 0.5,
        max_db: 1.2,
        max_at_hz: 3000.0,
        match_db: vec![0.8, 0.9],
        crossovers: vec![CrossoverFigures {
            phase_match_deg: 12.0,
        }],
    };
    let load = LoadFigures {
        least_ohm: 6.5,
        at_hz: 200.0,
        phase_deg: -10.0,
        least_epdr_ohm: 4.0,
        least_epdr_at_hz: 150.0,
    };
    (figures, load)
}

fn found(brief: &Brief, change: impl Fn(&mut Figures, &mut LoadFigures)) -> Vec<Finding> {
    let job = brief.job();
    let depths = depths(&job, &choose_alignments(&job));
    let (mut figures, mut load) = good(&job);
    change(&mut figures, &mut load);
    design_findings(&brief.project(), &job, &depths, &figures, &load)
}

#[test]
fn a_good_design_has_only_the_cautions_of_its_kind() {
    let codes: Vec<&str> = found(&Brief::default(), |_, _| {})
        .iter()
        .map(|f| f.code.text())
        .collect();
    assert_eq!(codes, [""; 0]);
}

#[test]
fn load_below_the_limit() {
    // The limit is 80 % of 8 ohm; 60 % of it is 4.8 ohm.
    let brief = Brief::default();
    let at = |ohm: f64| found(&brief, |_, load| load.least_ohm = ohm);
    assert!(!at(6.41).iter().any(|f| f.code.text().starts_with("load")));
    let low = at(4.81);
    let finding = find(&low, "load-too-low");
    assert_eq!(finding.severity, Caution);
    assert!(
        finding
            .message
            .contains("4.81 Ω at 200 Hz, 75 % of the limit"),
        "{finding:?}"
    );
    let dangerous = at(4.79);
    assert_eq!(dangerous[0].code.text(), "load-dangerously-low");
    assert_eq!(dangerous[0].severity, Danger);
}

#[test]
fn load_without_a_limit() {
    let brief = Brief::default().with("amplifier", "");
    let at = |ohm: f64| found(&brief, |_, load| load.least_ohm = ohm);
    assert!(!at(3.21).iter().any(|f| f.code.text().starts_with("load")));
    assert!(
        find(&at(3.0), "load-too-low")
            .message
            .contains("gives no limit")
    );
    assert!(has(&at(2.0), "load-dangerously-low"));
}

#[test]
fn why_the_load_is_low() {
    let low = |brief: &Brief, at_hz: f64| {
        let found = found(brief, |_, load| {
            load.least_ohm = 5.2;
            load.at_hz = at_hz;
        });
        find(&found, "load-too-low").message.clone()
    };
    let asked = Brief::default().with("aim", "minimum_load = \"6.4 ohm\"");
    let driver = low(&asked.with("re_low", "5 ohm"), 200.0);
    assert!(driver.contains("low itself has 5."), "{driver}");
    let crossover = low(&Brief::default(), 1000.0);
    assert!(
        crossover.contains("near the crossover at 800 Hz"),
        "{crossover}"
    );
    let elsewhere = low(&Brief::default(), 5000.0);
    assert!(elsewhere.contains("in the band of high"), "{elsewhere}");
}

#[test]
fn figures_beyond_their_limits() {
    let brief = Brief::default();
    let found = found(&brief, |figures, _| {
        figures.rms_db = 0.81;
        figures.max_db = 1.9;
        figures.match_db = vec![1.1, 1.3];
        figures.crossovers[0].phase_match_deg = 31.0;
    });
    assert!(find(&found, "sum-not-flat").message.contains("0.81 dB rms"));
    let most = &find(&found, "sum-far-off-the-aim").message;
    assert!(
        most.contains("1.9 dB at 3 kHz, in the band of high,"),
        "{most}"
    );
    let off: Vec<&Finding> = (found.iter())
        .filter(|f| f.code.text() == "way-off-its-target")
        .collect();
    assert_eq!(off.len(), 1);
    assert!(
        off[0]
            .message
            .starts_with("high is off its target by 1.30 dB")
    );
    let phases = &find(&found, "phases-apart").message;
    assert!(
        phases.contains("31° off the phase") && phases.contains("another pick"),
        "{phases}"
    );
    assert!(found.iter().all(|f| f.severity == Caution));
}

/// 110 mm at 700 Hz and 343 m/s: 360 · 700 · 0.11 / 343 = 81°.
#[test]
fn depth_with_its_cure() {
    let deep = Brief::default()
        .with("crossover", "700 Hz")
        .with("back_high", "110 mm");
    let costs = found(&deep, |_, _| {});
    let finding = find(&costs, "depth-costs");
    assert_eq!(finding.severity, Caution);
    for part in [
        "high is 110 mm farther",
        "81° at 700 Hz",
        "set low back, or high forward, by 110 mm",
        "alignment = \"auto\"",
    ] {
        assert!(finding.message.contains(part), "{part}: {finding:?}");
    }
    let other = Brief::default().with("back_low", "110 mm");
    let message = &find(&found(&other, |_, _| {}), "depth-costs")
        .message
        .clone();
    assert!(message.contains("110 mm nearer"), "{message}");
    assert!(
        message.contains("set high back, or low forward"),
        "{message}"
    );
    let apart = found(&deep, |figures, _| {
        figures.crossovers[0].phase_match_deg = 40.0
    });
    let message = &find(&apart, "phases-apart").message;
    assert!(message.contains("depth alone makes 81°"), "{message}");
}

#[test]
fn a_little_depth_is_a_note_or_nothing() {
    // 8 mm at 800 Hz: 7°.
    let flat = found(&Brief::default().with("back_high", "8 mm"), |_, _| {});
    assert!(!flat.iter().any(|f| f.code.text().starts_with("depth")));
    // 26 mm: 22°.
    let some = found(&Brief::default().with("back_high", "26 mm"), |_, _| {});
    assert_eq!(find(&some, "depth-costs-little").severity, Note);
}

#[test]
fn cautions_of_the_kind() {
    let valve = found(&Brief::default().with("output", "1.8 ohm"), |_, _| {});
    assert!(find(&valve, "valve-amplifier").message.contains("1.8 Ω"));
    assert!(!has(
        &found(&Brief::default().with("output", "0.1 ohm"), |_, _| {}),
        "valve-amplifier"
    ));
}

/// What gets hot is read off the network, and told in watt where the amplifier's power is known.
#[test]
fn resistors_that_get_hot() {
    let with = |brief: &Brief| found(&brief.with("parts", PARTS), |_, _| {});
    let message = find(&with(&Brief::default()), "hot-pad-resistors")
        .message
        .clone();
    assert!(message.contains("20 W into 8 Ω: R1 "), "{message}");
    assert!(message.contains("W (buy "), "{message}");
    let small = Brief::default().with("amplifier", "rated_power = \"1 W\"");
    assert!(!has(&with(&small), "hot-pad-resistors"));
    let unknown = find(
        &with(&Brief::default().with("amplifier", "")),
        "hot-pad-resistors",
    )
    .message
    .clone();
    assert!(unknown.contains("% of all power"), "{unknown}");
    // And what burns, or breaks a diaphragm, is told before it is built.
    let stock = "[stock]\nresistors = { series = \"E24\", power = \"0.1 W\" }";
    let burns = with(&Brief::default().with("extra", stock));
    assert_eq!(find(&burns, "resistor-overloaded").severity, Danger);
    let without = PARTS.replace(
        "R1 = { resistor = \"6.8 ohm\"",
        "R1 = { resistor = \"0.01 ohm\"",
    );
    let without = without.replace("3.9 ohm", "3900 ohm");
    let none = found(&Brief::default().with("parts", &without), |_, _| {});
    assert!(!has(&none, "hot-pad-resistors"), "{none:#?}");
}

//! Each finding of a check stands where it should, and not where it should not.

use std::ops::ControlFlow;

use netlist::quantity::Hertz;

use super::findings::{epdr, hot_coil, output_impedance, tap, wire_cost};
use super::*;
use crate::judge::Severity::{Caution, Note};
use crate::judge::fixture::{Brief, PARTS, find, has};

fn brief() -> Brief {
    Brief::default()
        .with("output", "1.8 ohm")
        .with("parts", PARTS)
}

fn checked(brief: &Brief) -> Check {
    checked_project(&brief.project())
}

fn checked_project(project: &Project) -> Check {
    let few = ToleranceOptions {
        builds: 20,
        ..ToleranceOptions::default()
    };
    let found = check(project, &few, &mut |_| ControlFlow::Continue(()));
    found.unwrap().unwrap()
}

fn load() -> AmplifierLoad {
    checked(&brief()).load.unwrap()
}

fn said(say: impl FnOnce(&mut Vec<Finding>)) -> Vec<Finding> {
    let mut findings = Vec::new();
    say(&mut findings);
    findings
}

#[test]
fn output_impedance_by_how_much_it_shapes_the_sum() {
    let mut load = load();
    let mut at = |shape_db: f64| {
        load.output_impedance
            .as_mut()
            .unwrap()
            .changes
            .system
            .shape_db = shape_db;
        said(|findings| output_impedance(&load, findings))
    };
    assert_eq!(
        find(&at(1.1), "output-impedance-shapes-sum").severity,
        Caution
    );
    assert_eq!(find(&at(0.5), "output-impedance-shapes-sum").severity, Note);
    assert!(at(0.1).is_empty());
    let none = checked(&brief().with("output", "0 ohm")).load.unwrap();
    assert!(none.output_impedance.is_none() && none.taps.is_none());
    assert!(said(|findings| output_impedance(&none, findings)).is_empty());
}

#[test]
fn phase_that_heats_the_amplifier() {
    let mut load = load();
    load.minimum_ohm = Some(6.4);
    load.figures.least_epdr_ohm = 3.1;
    assert_eq!(
        find(&said(|f| epdr(&load, f)), "phase-heats-amplifier").severity,
        Note
    );
    load.taps = None;
    assert_eq!(
        find(&said(|f| epdr(&load, f)), "phase-heats-amplifier").severity,
        Caution
    );
    load.figures.least_epdr_ohm = 3.3;
    assert!(said(|f| epdr(&load, f)).is_empty());
    load.figures.least_epdr_ohm = 0.1;
    load.minimum_ohm = None;
    assert!(said(|f| epdr(&load, f)).is_empty());
}

#[test]
fn another_tap() {
    let mut load = load();
    let mut at = |best_ohm: f64| {
        load.taps.as_mut().unwrap().best_ohm = best_ohm;
        said(|findings| tap(&load, findings))
    };
    assert!(at(8.0).is_empty());
    let lower = at(4.0);
    let message = &find(&lower, "another-tap-fits").message;
    assert!(message.starts_with("the 4 Ω output tap"), "{message}");
    assert!(message.contains("below 80 % of 8 Ω"), "{message}");
    assert!(
        message.contains("output impedance is about 0.9 Ω"),
        "{message}"
    );
    assert!(
        find(&at(16.0), "another-tap-fits")
            .message
            .contains("nearer to 16 Ω")
    );
}

#[test]
fn hot_coils_by_the_balance_between_the_ways() {
    let mut hot = checked(&brief()).hot_coil;
    let mut at = |low_db: f64, high_db: f64, shape_db: f64| {
        hot.changes.ways[0].change.mean_db = low_db;
        hot.changes.ways[1].change.mean_db = high_db;
        hot.changes.system.shape_db = shape_db;
        said(|findings| hot_coil(&hot, findings))
    };
    assert_eq!(
        find(&at(-1.0, -2.1, 0.8), "hot-coils-shift-balance").severity,
        Caution
    );
    assert_eq!(find(&at(-1.0, -1.9, 0.8), "hot-coils").severity, Note);
}

#[test]
fn wire_by_what_it_costs() {
    let wire = |gauge: &str| {
        let table = format!(
            "[wiring]\ncable = {{ length = \"10 m\", gauge = \"{gauge}\" }}\ninternal = {{ high = {{ length = \"1 m\", gauge = \"0.75 mm2\" }} }}"
        );
        let found = checked(&brief().with("extra", &table));
        (found.findings, found.wire.unwrap())
    };
    let (findings, thin) = wire("0.5 mm2");
    let finding = find(&findings, "wire-costs");
    assert_eq!(finding.severity, Caution);
    // 20 m of 39 Ω/km.
    assert!(
        finding.message.contains("the cable has most, 0.78 Ω"),
        "{finding:?}"
    );
    let (findings, thick) = wire("6 mm2");
    assert!(!has(&findings, "wire-costs") && wire_cost(&thick).is_none());
    assert!(thin.power_share > thick.power_share);
    assert_eq!(thin.leads[0].driver, "high");
}

#[test]
fn what_is_not_asked_for_cannot_be_held_against_it() {
    let both = checked(&brief());
    assert!(both.assessment.is_ok() && !has(&both.findings, "not-assessed"));
    // The crossover is outside the band asked for, but everything else is known.
    let narrow = |brief: Brief| {
        let mut project = brief.project();
        project.aim.from = Hertz(4000.0);
        checked_project(&project)
    };
    let sound = narrow(brief());
    assert!(sound.assessment.is_err());
    let finding = find(&sound.findings, "not-assessed");
    assert_eq!(finding.severity, Caution);
    // The load is judged all the same.
    let low = PARTS
        .replace("\"6.8 ohm\"", "\"0.01 ohm\"")
        .replace("\"3.9 ohm\"", "\"0.2 ohm\"");
    let low = narrow(brief().with("parts", &low));
    assert!(
        has(&low.findings, "load-dangerously-low"),
        "{:#?}",
        low.findings
    );
    assert!(!has(&sound.findings, "load-dangerously-low"));
}

#[test]
fn a_level_far_out_of_reach_is_given_up_for_the_loudest() {
    let loud = checked(&brief().with("aim", "level = \"120 dB\""));
    let finding = find(&loud.findings, "level-out-of-reach");
    assert_eq!(finding.severity, Caution);
    assert!(finding.message.contains("120.0 dB"), "{finding:?}");
    // Then everything is as if no level had been asked for.
    let free = checked(&brief());
    let (loud, free) = (loud.assessment.unwrap(), free.assessment.unwrap());
    assert_eq!(loud.figures, free.figures);
}

#[test]
fn findings_are_sorted_and_a_brief_has_none() {
    let found = checked(&brief());
    let severities: Vec<_> = found.findings.iter().map(|f| f.severity).collect();
    assert!(
        severities.windows(2).all(|pair| pair[0] >= pair[1]),
        "{severities:?}"
    );
    assert!(has(&found.findings, "valve-amplifier"));
    let options = ToleranceOptions::default();
    let none = check(&Brief::default().project(), &options, &mut |_| {
        ControlFlow::Continue(())
    });
    assert!(none.unwrap().is_none());
}

/// Drivers in any order of the parts are the same loudspeaker.
#[test]
fn the_order_of_the_parts_does_not_matter() {
    let (head, rest) = PARTS.split_once("LOW = ").unwrap();
    let (low, rest) = rest.split_once('\n').unwrap();
    let turned = format!("{head}{rest}LOW = {low}\n");
    let figures = |parts: &str| {
        checked(&brief().with("parts", parts))
            .assessment
            .unwrap()
            .figures
    };
    let (one, other) = (figures(PARTS), figures(&turned));
    assert!((one.rms_db - other.rms_db).abs() < 1e-9);
    assert!((one.match_db[0] - other.match_db[0]).abs() < 1e-9);
    assert!((one.match_db[1] - other.match_db[1]).abs() < 1e-9);
}

/// Where the rated load is not stated, a rated power is taken to be into the usual one: everywhere.
#[test]
fn a_rated_power_without_its_load_is_the_same_in_faults_and_in_stress() {
    let powers = |amplifier: &str| {
        let found = checked(&brief().with("amplifier", amplifier));
        let drivers = found.faults.drivers.iter();
        let of_faults: Vec<_> = drivers
            .map(|driver| (driver.power_w, driver.voltage_v))
            .collect();
        let of_stress: Vec<_> = (found.stress.drivers.iter())
            .map(|driver| driver.noise.power_w)
            .collect();
        (of_faults, of_stress)
    };
    let stated = powers("rated_power = \"20 W\"\nrated_load = \"8 ohm\"");
    assert!(stated.0.iter().all(|(power_w, _)| power_w.is_some()));
    assert_eq!(powers("rated_power = \"20 W\""), stated);
    let unknown = powers("rated_load = \"8 ohm\"").0;
    assert!(unknown.iter().all(|powers| *powers == (None, None)));
}

//! Each finding on stress stands where it should, and not where it should not.

use super::super::Severity::{Caution, Danger};
use super::super::fixture::{Brief, PARTS, find, has};
use super::*;
use crate::judge::Finding;

fn of(parts: &str) -> Stress {
    let project = Brief::default().with("parts", parts).project();
    stress(&project).unwrap().unwrap()
}

fn found(parts: &str) -> Vec<Finding> {
    findings(&of(parts))
}

/// The network with something said of a part.
fn rated(part: &str, rating: &str) -> Vec<Finding> {
    let at = format!("{part} = {{ ");
    assert!(PARTS.contains(&at));
    found(&PARTS.replace(&at, &format!("{at}{rating}, ")))
}

fn part<'a>(stress: &'a Stress, name: &str) -> &'a PartStress {
    stress.parts.iter().find(|part| part.part == name).unwrap()
}

#[test]
fn nothing_is_said_of_parts_whose_rating_nobody_knows() {
    let codes: Vec<&str> = found(PARTS).iter().map(|f| f.code).collect();
    assert!(codes.is_empty(), "{codes:?}");
}

#[test]
fn resistors_against_their_rating() {
    let burnt_w = part(&of(PARTS), "R1").noise.power_w;
    assert!(burnt_w > 1.0, "{burnt_w}");
    let at = |share: f64| rated("R1", &format!("power = \"{} W\"", share * burnt_w));
    let over = at(0.99);
    assert_eq!(find(&over, "resistor-overloaded").severity, Danger);
    let close = at(1.9);
    let finding = find(&close, "resistor-without-margin");
    assert_eq!(finding.severity, Caution);
    assert!(finding.message.contains("R1 (6.8 Ω)") && finding.message.contains("buy "));
    assert!(!has(&close, "resistor-overloaded"));
    assert!(at(2.01).is_empty());
    // What the stock says holds for parts that say nothing, and a part's own word before it.
    let stock = "[stock]\nresistors = { series = \"E24\", power = \"0.1 W\" }";
    let with = |parts: &str| {
        let project = Brief::default().with("extra", stock).with("parts", parts);
        findings(&stress(&project.project()).unwrap().unwrap())
    };
    assert!(has(&with(PARTS), "resistor-overloaded"));
    let own = PARTS.replace("R1 = { ", "R1 = { power = \"50 W\", ");
    let own = own.replace("R2 = { ", "R2 = { power = \"50 W\", ");
    assert!(!has(&with(&own), "resistor-overloaded"));
}

#[test]
fn capacitors_against_their_rating() {
    let peak_v = part(&of(PARTS), "C2").peak_v();
    let at = |share: f64| rated("C2", &format!("voltage = \"{} V\"", share * peak_v));
    assert_eq!(find(&at(0.99), "capacitor-over-voltage").severity, Danger);
    assert_eq!(find(&at(1.4), "capacitor-without-margin").severity, Caution);
    assert!(at(1.51).is_empty());
}

#[test]
fn coils_that_saturate() {
    let peak_a = part(&of(PARTS), "L1").peak_a();
    let at = |share: f64| rated("L1", &format!("current = \"{} A\"", share * peak_a));
    let over = at(0.99);
    let finding = find(&over, "coil-saturates");
    assert_eq!(finding.severity, Caution);
    assert!(finding.message.contains("without a core"), "{finding:?}");
    assert!(at(1.01).is_empty());
}

#[test]
fn the_catalogue_s_rating_is_that_of_the_same_value() {
    let mut project = Brief::default().with("parts", PARTS).project();
    let item = |value_si: f64, rating: f64| netlist::project::CatalogueItem {
        kind: netlist::project::StockKind::Resistor,
        value_si,
        tolerance: None,
        loss: None,
        rating: Some(rating),
        price: None,
        name: "wirewound".to_owned(),
        count: None,
    };
    project.stock.catalogue = vec![item(6.8, 0.5), item(3.3, 0.1)];
    let stress = stress(&project).unwrap().unwrap();
    assert_eq!(part(&stress, "R1").rated, Some(Rating::PowerW(0.5)));
    assert_eq!(part(&stress, "R2").rated, None);
}

#[test]
fn drivers_against_their_rating() {
    let mut stress = of(PARTS);
    let (noise_w, sine_w) = {
        let low = &stress.drivers[0];
        (low.noise.power_w, low.sine.power_w.most)
    };
    assert!(sine_w > 1.1 * noise_w);
    let mut at = |rated_w: Option<f64>| {
        stress.drivers[0].rated_w = rated_w;
        findings(&stress)
    };
    assert_eq!(
        find(&at(Some(0.99 * noise_w)), "driver-overloaded").severity,
        Danger
    );
    let tone = at(Some(0.99 * sine_w));
    assert_eq!(
        find(&tone, "steady-tone-overloads-driver").severity,
        Caution
    );
    assert!(!has(&tone, "driver-overloaded"));
    assert!(at(Some(1.01 * sine_w)).is_empty());
    assert!(at(None).is_empty());
    // Of an amplifier of unknown power nothing can be said.
    stress.drivers[0].rated_w = Some(0.01);
    stress.loudness.stated = false;
    assert!(findings(&stress).is_empty());
}

#[test]
fn diaphragms_are_kept_from_their_resonance() {
    let mut stress = of(PARTS);
    let excursion = stress.drivers[1].excursion.unwrap();
    assert!(
        (excursion.resonance_hz - 380.0).abs() < 1e-9,
        "{excursion:?}"
    );
    let mut at = |most_db: f64, resonance_hz: f64| {
        stress.drivers[1].excursion = Some(Excursion {
            most_db,
            resonance_hz,
            ..excursion
        });
        findings(&stress)
    };
    assert!(at(-9.1, 380.0).is_empty());
    let little = at(-8.0, 380.0);
    let finding = find(&little, "excursion-little-protected");
    assert_eq!(finding.severity, Caution);
    assert!(finding.message.contains("only 8 dB less"), "{finding:?}");
    let none = at(2.0, 380.0);
    let finding = find(&none, "excursion-unprotected");
    assert_eq!(finding.severity, Danger);
    assert!(finding.message.contains("2 dB more voltage"), "{finding:?}");
    // A cone only distorts.
    assert!(at(2.0, 90.0).is_empty());
}

/// A single capacitor before a diaphragm with a high resonance peak lets more through at the resonance
/// than at the crossover.
#[test]
fn a_capacitor_alone_protects_little() {
    let parts = PARTS.replace(
        "L2 = { inductor = \"2.2 mH\"",
        "L2 = { inductor = \"2.2 H\"",
    );
    let parts = parts.replace("\"3.9 ohm\"", "\"3.9 kohm\"");
    let found = found(&parts);
    assert!(
        has(&found, "excursion-little-protected") || has(&found, "excursion-unprotected"),
        "{found:#?}"
    );
}

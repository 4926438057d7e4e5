//! Each finding on stress stands where it should, and not where it should not.

use netlist::project::{CatalogueItem, StockKind};

use super::super::Severity::{Caution, Danger, Note};
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
    let codes: Vec<&str> = found(PARTS).iter().map(|f| f.code.text()).collect();
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
    assert!(!has(&at(2.01), "resistor-without-margin"));
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
fn resistors_and_the_steady_tone() {
    let tone = part(&of(PARTS), "R1").sine.power_w;
    let at = |share: f64| rated("R1", &format!("power = \"{} W\"", share * tone.most));
    let code = "steady-tone-overloads-resistor";
    let short = at(0.99);
    let finding = find(&short, code);
    assert_eq!(finding.severity, Note);
    assert!(finding.message.contains("few seconds"), "{finding:?}");
    assert_eq!(find(&at(0.19), code).severity, Caution);
    assert!(!has(&at(1.01), code));
    // What is bought as advised bears a short tone.
    let Some(Rating::PowerW(buy_w)) = part(&of(PARTS), "R1").buy else {
        panic!("the power is stated");
    };
    let bought = rated("R1", &format!("power = \"{buy_w} W\""));
    assert!(
        bought.iter().all(|found| found.severity == Note),
        "{bought:?}"
    );
}

/// Two resistors of 3.4 Ω one after the other bear twice what one does, and 1.7 with 5.1 Ω no more than
/// the larger lets: by Ohm's law it has three quarters of the power.
#[test]
fn a_part_made_of_several_bears_what_its_pieces_bear() {
    let of_pieces = |made_of: &str| {
        let at = "R1 = { ";
        let parts = PARTS.replace(at, &format!("{at}power = \"10 W\", made_of = {made_of}, "));
        part(&of(&parts), "R1").clone()
    };
    let near = |found: Option<Rating>, right_w: f64| {
        let Some(Rating::PowerW(w)) = found else {
            panic!("{found:?}");
        };
        assert!((w - right_w).abs() < 1e-9, "{w}");
    };
    let alike = of_pieces("{ series = [\"3.4 ohm\", \"3.4 ohm\"] }");
    near(alike.rated, 20.0);
    assert_eq!((alike.pieces, alike.largest_share), (2, 0.5));
    let unlike = of_pieces("{ series = [\"1.7 ohm\", \"5.1 ohm\"] }");
    near(unlike.rated, 10.0 / 0.75);
    let beside = of_pieces("{ parallel = [\"8.5 ohm\", \"34 ohm\"] }");
    near(beside.rated, 10.0 / 0.8);
    // What is to be bought is told piece by piece.
    let one = part(&of(PARTS), "R1").clone();
    near(
        alike.buy,
        rating::resistor_w(0.5 * one.noise.power_w, 0.5 * one.sine.power_w.most),
    );
    let low = PARTS.replace(
        "R1 = { ",
        "R1 = { power = \"0.1 W\", made_of = { series = [\"3.4 ohm\", \"3.4 ohm\"] }, ",
    );
    let found = found(&low);
    let finding = find(&found, "resistor-overloaded");
    assert!(
        finding.message.contains("for each of its 2 pieces"),
        "{finding:?}"
    );
}

/// Behind a filter clipped noise is nearly Gaussian again, with peaks far above twice the rms value.
#[test]
fn peaks_behind_a_filter_are_more_than_twice_the_rms_value() {
    let stress = of(PARTS);
    for name in ["L1", "C2", "R1"] {
        let noise = part(&stress, name).noise;
        let crest = (noise.peak_v / noise.rms_v, noise.peak_a / noise.rms_a);
        assert!(crest.0 > 2.2 && crest.0 < 6.0, "{name}: {crest:?}");
        assert!(crest.1 > 2.2 && crest.1 < 6.0, "{name}: {crest:?}");
    }
    assert!((stress.peaks.crest_factor - 2.0).abs() < 1e-12);
    assert!(stress.peaks.seconds >= 4.0);
}

/// What is bought for a capacitor is twice its peak voltage, not its rms voltage (common practice).
#[test]
fn a_capacitor_is_bought_for_twice_its_peak() {
    // Loud enough that the steps between what is sold do not hide the difference.
    let loud = "rated_power = \"200 W\"\nrated_load = \"8 ohm\"";
    let brief = Brief::default()
        .with("amplifier", loud)
        .with("parts", PARTS);
    let stress = stress(&brief.project()).unwrap().unwrap();
    for name in ["C1", "C2"] {
        let found = part(&stress, name);
        let Some(Rating::VoltageV(volts)) = found.buy else {
            panic!("{found:?}");
        };
        let peak_v = found.noise.peak_v.max(found.sine.peak_v);
        assert!(volts >= 2.0 * peak_v, "{name}: {volts} {peak_v}");
        let sizes = [0.0, 63.0, 100.0, 160.0, 250.0, 400.0];
        let next = sizes.iter().rposition(|size| *size < volts).unwrap();
        assert!(sizes[next] < 2.0 * peak_v, "{name}: {volts} {peak_v}");
    }
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
    let close = at(1.01);
    assert_eq!(find(&close, "coil-without-margin").severity, Note);
    assert!(!has(&close, "coil-saturates"));
    assert!(at(1.31).is_empty());
}

#[test]
fn the_catalogue_s_rating_is_that_of_the_same_value() {
    let mut project = Brief::default().with("parts", PARTS).project();
    let item = |value_si: f64, rating: f64| CatalogueItem {
        rating: Some(rating),
        ..CatalogueItem::of(StockKind::Resistor, value_si, None)
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

/// Two drivers share what their way gets: both together are held against twice the rating of one.
#[test]
fn several_drivers_bear_several_times_the_power() {
    let with = |more: &str| {
        let power = format!("power = \"50 W\"\n{more}");
        let project = Brief::default()
            .with("power_low", &power)
            .with("parts", PARTS);
        stress(&project.project()).unwrap().unwrap()
    };
    let one = &with("").drivers[0];
    assert_eq!(one.rated_w, Some(50.0));
    for wired in ["parallel", "series"] {
        let mut both = with(&format!("count = 2\nwired = \"{wired}\""));
        assert_eq!(both.drivers[0].rated_w, Some(100.0));
        // In parallel they draw more than one, in series less.
        let more = both.drivers[0].noise.power_w > one.noise.power_w;
        assert_eq!(more, wired == "parallel", "{both:?}");
        // Each gets half: 99 W are not too much, 101 W are.
        for (noise_w, over) in [(99.0, false), (101.0, true)] {
            both.drivers[0].noise.power_w = noise_w;
            both.drivers[0].sine.power_w.most = noise_w;
            assert_eq!(has(&findings(&both), "driver-overloaded"), over);
        }
    }
}

#[test]
fn diaphragms_are_kept_from_their_resonance() {
    let mut stress = of(PARTS);
    let excursion = stress.drivers[1].excursion.unwrap();
    assert!(
        (excursion.limits.resonance_hz - 380.0).abs() < 1e-9,
        "{excursion:?}"
    );
    let mut at = |most_db: f64, resonance_hz: f64| {
        let mut excursion = excursion;
        excursion.gets.most_db = most_db;
        excursion.limits.resonance_hz = resonance_hz;
        excursion.limits.delicate = resonance_hz >= 300.0;
        stress.drivers[1].excursion = Some(excursion);
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

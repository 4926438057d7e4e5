//! What `check` finds in the demo's network when it is spoilt: each finding where it should stand.

use serde_json::Value;
use tests::check::checked;
use tests::command::handover;
use tests::document::{codes, document};

#[test]
fn few_builds_are_a_guess() {
    let found = document(&handover(&["check", "--demo", "--json", "--builds", "1"]));
    assert!(codes(&found).contains(&"few-builds".to_owned()));
    let found = document(&handover(&["check", "--demo", "--json", "--builds", "100"]));
    assert!(!codes(&found).contains(&"few-builds".to_owned()));
}

/// A trap of high quality lies between the frequencies of any grid: at its resonance, 1.718 kHz, what is
/// left of it is its resistance, 0.11 Ω, beside which the rest counts little. All of the command names it.
#[test]
fn a_sharp_dip_of_the_load_is_met() {
    let trap = |text: String| {
        text + "LX = { inductor = \"3.9 mH\", between = [\"in\", \"x\"], dcr = \"0.1 ohm\" }\n\
             CX = { capacitor = \"2.2 uF\", between = [\"x\", \"gnd\"], esr = \"10 mohm\" }\n"
    };
    let found = document(&checked(trap));
    let load = &found["load"];
    let number = |value: &Value| value.as_f64().unwrap();
    let resonance_hz = 1.0 / (std::f64::consts::TAU * (3.9e-3f64 * 2.2e-6).sqrt());
    assert!(
        (number(&load["at_hz"]) / resonance_hz - 1.0).abs() < 1e-3,
        "{load}"
    );
    let least_ohm = number(&load["least_ohm"]);
    assert!((0.107..0.111).contains(&least_ohm), "{load}");
    let same = &found["faults"]["least_load"]["magnitude_ohm"];
    assert!((number(same) - least_ohm).abs() < 1e-4);
    assert_eq!(load["drawn_by"]["part"], "LX");
    // A voltage of 20 W into 8 Ω through 1.8 Ω and 0.11 Ω: the current, times the reactance.
    let current = (20.0f64 * 8.0).sqrt() * 9.8 / 8.0 / (1.8 + least_ohm);
    let volts = current * (3.9e-3f64 / 2.2e-6).sqrt();
    let parts = found["stress"]["parts"].as_array().unwrap();
    let trap = parts.iter().find(|part| part["part"] == "CX").unwrap();
    let most = number(&trap["sine"]["rms_v"]["most"]);
    assert!((most / volts - 1.0).abs() < 0.02, "{most} {volts}");
    // It does not hide that a short circuit elsewhere is low at another frequency.
    let faults = found["faults"]["faults"].as_array().unwrap();
    let short = (faults.iter())
        .find(|fault| fault["part"] == "C2" && fault["kind"] == "part_shorted")
        .unwrap();
    assert_eq!(short["severity"], "danger");
    assert_eq!(short["hazards"][0]["hazard"], "low_load", "{short}");
}

/// A horn driver without a capacitor is a danger, whether or not a crossover is named.
#[test]
fn a_horn_driver_straight_at_the_amplifier_is_a_danger() {
    let bare = |text: String| {
        let (parts, _) = text.split_once("# Mid:").unwrap();
        format!("{parts}MID = {{ driver = \"mid\", between = [\"in\", \"gnd\"] }}\n")
    };
    let nameless = |text: String| {
        let (head, rest) = text.split_once("[[crossovers]]").unwrap();
        let (_, stock) = rest.split_once("[stock]").unwrap();
        format!("{head}[stock]{stock}")
    };
    for outcome in [checked(bare), checked(|text| nameless(bare(text)))] {
        assert_eq!(outcome.status, 1, "{}", outcome.err);
        let found = document(&outcome);
        let findings = found["findings"].as_array().unwrap();
        let open = (findings.iter())
            .find(|f| f["code"] == "excursion-unprotected")
            .unwrap();
        assert_eq!(open["severity"], "danger");
        let message = open["message"].as_str().unwrap();
        assert!(message.contains("a capacitor in series"), "{message}");
    }
}

/// A valve amplifier with the woofer's branch left out is nearly unloaded.
#[test]
fn a_missing_branch_leaves_a_valve_amplifier_open() {
    let found = document(&checked(|text| {
        let (head, rest) = text.split_once("# Low:").unwrap();
        let (_, upper) = rest.split_once("# Mid:").unwrap();
        let (_, top) = upper.split_once("C5 = ").unwrap();
        format!("{head}C5 = {top}")
    }));
    let findings = found["findings"].as_array().unwrap();
    let open = (findings.iter())
        .find(|f| f["code"] == "load-nearly-open")
        .unwrap();
    assert!(
        open["message"]
            .as_str()
            .unwrap()
            .contains("a branch or a driver is missing")
    );
    assert!(!codes(&document(&checked(|text| text))).contains(&"load-nearly-open".to_owned()));
}

/// A winding of 0.4 Ω across the amplifier passes direct current; behind a capacitor it does not.
#[test]
fn a_winding_across_the_amplifier_passes_direct_current() {
    let with = |nodes: &str| {
        document(&checked(|text| {
            text + &format!(
                "LX = {{ inductor = \"0.5 H\", between = [{nodes}], dcr = \"0.4 ohm\" }}\n"
            )
        }))
    };
    let across = with("\"in\", \"gnd\"");
    let ohm = across["load"]["direct_current_ohm"].as_f64().unwrap();
    assert!(ohm > 0.3 && ohm < 0.4, "{ohm}");
    assert!(codes(&across).contains(&"direct-current-path".to_owned()));
    assert!(!codes(&with("\"m1\", \"gnd\"")).contains(&"direct-current-path".to_owned()));
}

/// Where nothing is known of its resonance, the horn's cut-off or the usable band says what to keep from a
/// horn driver.
#[test]
fn a_horn_driver_of_unknown_resonance_needs_a_filter_too() {
    let bare = |text: String| {
        let (parts, _) = text.split_once("# Mid:").unwrap();
        let parts = parts.replace(
            "measured = { impedance = \"mid-impedance.txt\", response = \"mid-response.txt\", drive = \"2.83 V\", distance = \"1 m\" }",
            "modelled = { re = \"5.8 ohm\", level = \"107 dB\", horn = { cutoff = \"400 Hz\", order = 2, q = 0.7 } }",
        );
        let parts = parts.replace("resonance = \"385 Hz\"\n", "");
        format!("{parts}MID = {{ driver = \"mid\", between = [\"in\", \"gnd\"] }}\n")
    };
    let found = document(&checked(bare));
    let findings = found["findings"].as_array().unwrap();
    let open = findings
        .iter()
        .find(|f| f["code"] == "excursion-unprotected")
        .unwrap();
    assert_eq!(open["severity"], "danger");
    let message = open["message"].as_str().unwrap();
    assert!(
        message.contains("its horn's cut-off (no resonance is known) at 400 Hz"),
        "{message}"
    );
}

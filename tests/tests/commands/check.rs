//! `check` as a whole command: the screen, the document, the status, mistakes.

use serde_json::Value;
use tests::check::{FEW, checked, demo};
use tests::command::handover;
use tests::document::{FIGURES, codes, document, number};
use tests::made::WIRED_TWO_WAY;

#[test]
fn the_document_holds_what_the_contract_names() {
    let outcome = handover(&["check", "--demo", "--json", FEW[0], FEW[1]]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let document = document(&outcome);
    let more = [
        "/ways/low/match_db",
        "/ways/mid/match_db",
        "/ways/high/match_db",
        "/crossovers/0/frequency_hz",
        "/crossovers/1/phase_match_deg",
        "/load/mean_ohm",
        "/load/output_impedance/system/shape_db",
        "/load/output_impedance/ways/0/mean_db",
        "/load/taps/best_ohm",
        "/stress/loudness/power_w",
        "/stress/peaks/seconds",
        "/stress/parts/0/noise/power_w",
        "/stress/parts/0/sine/rms_v/at_hz",
        "/stress/drivers/1/excursion/most_db",
        "/hot_coil/rise_k",
        "/hot_coil/crossovers/0/hot_hz",
        "/tolerance/all/within_db",
        "/tolerance/contributors/0/share",
        "/faults/faults/0/least_load/magnitude_ohm",
    ];
    for pointer in FIGURES.into_iter().chain(more) {
        let number = document.pointer(pointer).and_then(Value::as_f64);
        assert!(number.is_some_and(f64::is_finite), "{pointer}: {document}");
    }
    assert!(
        document["wiring"].is_null(),
        "the demo says nothing of wire"
    );
    for finding in document["findings"].as_array().unwrap() {
        for field in ["severity", "code", "message"] {
            assert!(finding[field].is_string(), "{finding}");
        }
    }
}

/// The figures have one definition: those of `check` are those that `design` gave.
#[test]
fn check_repeats_what_design_said() {
    let (made, folder) = (WIRED_TWO_WAY.document(), WIRED_TWO_WAY.copy());
    // Design takes wire into drivers and amplifier, and check into the network.
    let design = folder.path().join("new/there.toml");
    let design = design.to_str().unwrap();
    let found = document(&handover(&["check", design, "--json", FEW[0], FEW[1]]));
    assert!(
        found["wiring"]["leads"][0]["ohm"].as_f64().unwrap() > 0.2,
        "the file keeps its wire"
    );
    for pointer in [
        "/level_db",
        "/flatness/rms_db",
        "/flatness/max_db",
        "/ways/low/match_db",
        "/ways/mid/match_db",
        "/crossovers/0/phase_match_deg",
        "/load/least_ohm",
        "/load/at_hz",
        "/load/least_epdr_ohm",
    ] {
        let of = |document: &Value| document.pointer(pointer).and_then(Value::as_f64).unwrap();
        assert!((of(&made) - of(&found)).abs() < 1e-9, "{pointer}");
    }
}

#[test]
fn the_screen_is_one_screen() {
    let outcome = handover(&["check", "--demo"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let lines: Vec<&str> = outcome.out.lines().collect();
    assert!(lines.len() <= 50, "{} lines\n{}", lines.len(), outcome.out);
    for line in &lines {
        assert!(line.chars().count() <= 100, "{line}");
    }
    for word in [
        "no danger",
        "load",
        "hot coils",
        "tolerance",
        "faults",
        "R2",
        "--full",
    ] {
        assert!(outcome.out.contains(word), "{word}\n{}", outcome.out);
    }
    assert!(outcome.err.is_empty(), "nobody watches: {}", outcome.err);
}

/// A horn connected the wrong way round: the swap that cures it is the first thing said, and what it cures
/// is not said again.
#[test]
fn swapped_wires_are_told_first() {
    let wrong = |text: String| {
        let right = r#"driver = "high", between = ["h3", "gnd"] }"#;
        assert!(text.contains(right), "the demo's network has changed");
        text.replace(right, &right.replace(" }", ", inverted = true }"))
    };
    let codes = |change: &dyn Fn(String) -> String| -> Vec<(String, String)> {
        let (_folder, file) = demo(change);
        let file = file.to_str().unwrap();
        let found = document(&handover(&["check", file, "--json", "--builds", "100"]));
        let findings = found["findings"].as_array().unwrap();
        let text =
            |finding: &serde_json::Value, key: &str| finding[key].as_str().unwrap().to_owned();
        (findings.iter())
            .filter(|finding| finding["severity"] == "caution")
            .map(|finding| (text(finding, "code"), text(finding, "message")))
            .collect()
    };
    let found = codes(&wrong);
    assert_eq!(found[0].0, "wires-swapped", "{found:#?}");
    assert!(
        found[0].1.starts_with("swap the two wires of high"),
        "{found:#?}"
    );
    assert!(found.iter().all(|(code, _)| code != "phases-apart"));
    let found = codes(&|text| text);
    assert!(found.iter().all(|(code, _)| code != "wires-swapped"));
}

/// A fourth way, many cautions, wire: still one screen, and nothing that matters is lost.
#[test]
fn four_ways_with_many_cautions_are_one_screen() {
    let four = |text: String| {
        let top = r#"
[drivers.top]
modelled = { re = "5.8 ohm", l1 = "0.02 mH", level = "104 dB", horn = { cutoff = "4 kHz", order = 2, q = 0.7 } }
usable = { from = "11.9 kHz", to = "20 kHz" }
resonance = "9 kHz"
power = "0.5 W"

[[crossovers]]
between = ["high", "top"]
frequency = "12 kHz"
alignment = "LR4"

[wiring]
cable = { length = "15 m", gauge = "0.75 mm2" }

[stock]"#;
        let text = text.replacen("[stock]", top, 1);
        let text = text.replace("minimum_load = \"5.6 ohm\"", "minimum_load = \"7.6 ohm\"");
        let text = text.replace("power = \"20 W\" }", "power = \"2 W\" }");
        text + r#"
C7 = { capacitor = "1 uF", between = ["in", "t1"], voltage = "40 V" }
R6 = { resistor = "3.3 ohm", between = ["t1", "t2"] }
R7 = { resistor = "3.3 ohm", between = ["t2", "gnd"] }
TOP = { driver = "top", between = ["t2", "gnd"] }
"#
    };
    let (_folder, file) = demo(four);
    let outcome = handover(&["check", file.to_str().unwrap(), "--builds", "200"]);
    assert_eq!(outcome.status, 1, "{}{}", outcome.out, outcome.err);
    let lines = outcome.out.lines().count();
    assert!(lines <= 66, "{lines} lines\n{}", outcome.out);
    let found = document(&handover(&[
        "check",
        file.to_str().unwrap(),
        "--json",
        "--builds",
        "200",
    ]));
    let findings = found["findings"].as_array().unwrap();
    assert!(findings.len() > 12, "{findings:?}");
    // Every danger whole; of cautions that no section tells the beginning.
    let flat = outcome.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for finding in findings {
        let message = finding["message"].as_str().unwrap();
        let code = finding["code"].as_str().unwrap();
        let told = code.starts_with("fault-")
            || [
                "not-assessed",
                "output-impedance-shapes-sum",
                "builds-spread-widely",
            ]
            .contains(&code);
        let head: String = message.chars().take(30).collect();
        match finding["severity"].as_str().unwrap() {
            "danger" => assert!(flat.contains(message), "{message}\n{}", outcome.out),
            "caution" if !told => {
                assert!(flat.contains(&head), "{message}\n{}", outcome.out);
            }
            _ => {}
        }
    }
    assert!(
        outcome.out.contains("add --full for what to do"),
        "{}",
        outcome.out
    );
}

#[test]
fn full_shows_every_part_fault_and_finding() {
    let outcome = handover(&["check", "--demo", "--full", FEW[0], FEW[1]]);
    assert_eq!(outcome.status, 0);
    for line in outcome.out.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    for part in [
        "L1", "C1", "R1", "L2", "C2", "L3", "C3", "L4", "C4", "R2", "R3", "C5", "L5", "C6",
    ] {
        let lines = outcome
            .out
            .lines()
            .filter(|line| line.starts_with(&format!("{part} ")));
        assert!(
            lines.count() >= 3,
            "stress and two faults of {part}\n{}",
            outcome.out
        );
    }
    // With the woofer off, the others get what they get anyway, and it nothing.
    let gets = outcome.out.split("gives the drivers").nth(1).unwrap();
    let row = |name: &str| {
        let line = gets.lines().find(|line| line.starts_with(name)).unwrap();
        line[name.len()..]
            .split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let (none, loose) = (row("none"), row("LOW disconnected"));
    assert_eq!((none.len(), loose[0].as_str()), (12, "silent"), "{gets}");
    assert_eq!(none[11], loose[8], "{gets}");
    assert!(outcome.out.contains("note: "));
    assert_eq!(handover(&["check", "--demo", "--full", "--json"]).status, 2);
}

#[test]
fn a_danger_is_an_exit_status_of_one() {
    // A resistor of 1 W where 3.5 W are burnt.
    let outcome = checked(|text| {
        text.replace(
            "R2 = { resistor = \"9.1 ohm\",",
            "R2 = { resistor = \"9.1 ohm\", power = \"1 W\",",
        )
    });
    assert_eq!(outcome.status, 1, "{}", outcome.err);
    let document = document(&outcome);
    assert_eq!(document["findings"][0]["severity"], "danger");
    assert_eq!(document["findings"][0]["code"], "resistor-overloaded");
    // And on the screen it comes first of the findings, and is counted at the top.
    let (_folder, file) = demo(|text| {
        text.replace(
            "R2 = { resistor = \"9.1 ohm\",",
            "R2 = { resistor = \"9.1 ohm\", power = \"1 W\",",
        )
    });
    let screen = handover(&["check", file.to_str().unwrap(), FEW[0], FEW[1]]);
    assert_eq!(screen.status, 1);
    assert!(screen.out.contains("1 DANGER"), "{}", screen.out);
    assert!(
        screen
            .out
            .contains("\nDANGER: R2 (9.1 Ω) turns 3.5 W to heat"),
        "{}",
        screen.out
    );
}

#[test]
fn wire_is_part_of_the_check() {
    let outcome = checked(|text| {
        text.replace(
            "[parts]",
            "[wiring]\ncable = { length = \"25 m\", gauge = \"0.75 mm2\" }\n\n[parts]",
        )
    });
    let found = document(&outcome);
    // IEC 60228: 0.75 mm² of class 5 have 26 Ω/km at most.
    let ohm = found["wiring"]["cable"]["ohm"].as_f64().unwrap();
    assert!((ohm - 50.0 * 26e-3).abs() < 1e-9, "{ohm}");
    assert!(codes(&found).contains(&"wire-costs".to_owned()));
    assert_eq!(found["stress"]["parts"][0]["part"], "cable");
    let bare = document(&checked(|text| text));
    let least = |document: &Value| document["load"]["least_ohm"].as_f64().unwrap();
    let raised = least(&found) - least(&bare);
    assert!(raised > 1.0 && raised < 1.3001, "{raised}");
    assert!(!codes(&bare).contains(&"wire-costs".to_owned()));
}

#[test]
fn a_network_without_crossovers_is_checked_as_far_as_it_goes() {
    let outcome = checked(|text| {
        let (head, rest) = text.split_once("[[crossovers]]").unwrap();
        let (_, stock) = rest.split_once("[stock]").unwrap();
        format!("{head}[stock]{stock}")
    });
    let found = document(&outcome);
    assert!(found["level_db"].is_null() && found["not_assessed"].is_string());
    assert!(found["load"]["least_ohm"].is_number() && found["stress"]["parts"][0].is_object());
    assert!(codes(&found).contains(&"not-assessed".to_owned()));
}

#[test]
fn the_same_seed_gives_the_same_document() {
    let run = |seed: &str| {
        let outcome = handover(&["check", "--demo", "--json", FEW[0], FEW[1], "--seed", seed]);
        document(&outcome)["tolerance"]["high_db"].to_string()
    };
    assert_eq!(run("3"), run("3"));
    assert_ne!(run("3"), run("4"));
}

#[test]
fn mistakes_are_told_with_the_way_out() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(
        handover(&["demo", folder.path().to_str().unwrap()]).status,
        0
    );
    let brief = folder.path().join("brief.toml");
    let outcome = handover(&["check", brief.to_str().unwrap()]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.out.is_empty());
    assert!(outcome.err.contains("no parts") && outcome.err.contains("handover design"));

    let (_folder, file) = demo(|text| {
        text.replace(
            "[parts]",
            "[wiring]\ncable = { length = \"4 ohm\" }\n[parts]",
        )
    });
    let outcome = handover(&["check", file.to_str().unwrap()]);
    assert_eq!(outcome.status, 2);
    assert!(
        outcome.err.contains("4 ohm") && outcome.err.contains("lacks 'gauge'"),
        "{}",
        outcome.err
    );

    for args in [
        vec!["check"],
        vec!["check", "--demo", "--builds", "0"],
        vec!["check", "--demo", "--driver-level", "-1 dB"],
        vec!["check", "--demo", "--driver-level=-1 dB"],
        vec!["check", "nowhere.toml"],
    ] {
        let outcome = handover(&args);
        assert_eq!(outcome.status, 2, "{args:?}");
        assert!(
            outcome.out.is_empty() && !outcome.err.is_empty(),
            "{args:?}"
        );
    }
}

/// On its own amplifier nothing changes, and on one of 0 ohm what the check says of the output impedance is undone.
#[test]
fn other_amplifiers_are_held_against_its_own() {
    let line = [
        "check",
        "--demo",
        "--json",
        "--builds",
        "20",
        "--amplifier",
        "1.8 ohm,0 ohm,3 ohm",
    ];
    let found = document(&handover(&line));
    let mean = |place: usize| number(&found, &format!("/amplifiers/{place}/system/mean_db"));
    assert!(mean(0).abs() < 1e-9, "{}", mean(0));
    let undone = number(&found, "/load/output_impedance/system/mean_db");
    assert!(
        (mean(1) + undone).abs() < 1e-9 && mean(1) > 0.0,
        "{} {undone}",
        mean(1)
    );
    assert!(mean(2) < 0.0);
    let flat = number(&found, "/flatness/rms_db");
    assert!((number(&found, "/amplifiers/0/rms_db") - flat).abs() < 1e-9);
    let screen = handover(&[
        "check",
        "--demo",
        "--builds",
        "20",
        "--amplifier",
        "0 ohm,3 ohm",
    ]);
    assert!(
        screen.out.contains("on one of 0 Ω") && screen.out.contains("on one of 3 Ω"),
        "{}",
        screen.out
    );
    let refused = handover(&["check", "--demo", "--amplifier", "-2 ohm"]);
    assert!(
        refused.status == 2 && refused.err.contains("help:"),
        "{}",
        refused.err
    );
}

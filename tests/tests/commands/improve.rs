//! `improve` as a whole command: what it finds wrong, what it leaves alone, its file and its document.

use tests::command::handover;
use tests::document::{document, number};

/// The demo's files in a folder, its network changed.
fn changed(change: impl Fn(String) -> String) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().to_str().unwrap();
    assert_eq!(handover(&["demo", name]).status, 0);
    let file = folder.path().join("network.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let new = change(text.clone());
    assert_ne!(new, text, "nothing was changed");
    std::fs::write(&file, new).unwrap();
    let file = file.to_str().unwrap().to_owned();
    (folder, file)
}

/// The tweeter's wires the wrong way round are a hole at its crossover; that swap must come first and alone.
#[test]
fn a_tweeter_the_wrong_way_round_is_swapped_first() {
    let (folder, file) = changed(|text| {
        let lines = text.lines().map(|line| {
            if !line.starts_with("HIGH") {
                return line.to_owned();
            }
            match line.contains("inverted = true") {
                true => line.replace(", inverted = true", ""),
                false => line.replace(" }", ", inverted = true }"),
            }
        });
        lines.collect::<Vec<_>>().join("\n")
    });
    let outcome = handover(&["improve", &file, "--json"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let improved = document(&outcome);
    let first = &improved["changes"][0];
    assert_eq!(first["part"], "HIGH");
    assert_eq!(first["what"], "polarity");
    assert!(first["gain"].as_f64().unwrap() > 1.0, "{first}");
    let [before, after] = ["before", "after"].map(|when| {
        let figures = &improved[when];
        figures["flatness"]["max_db"].as_f64().unwrap()
    });
    assert!(before > 5.0 && after < 2.5, "{before} {after}");
    // The file says the same.
    let written = folder.path().join("network-improved.toml");
    let checked = document(&handover(&[
        "check",
        written.to_str().unwrap(),
        "--json",
        "--builds",
        "20",
    ]));
    let rms = number(&checked, "/flatness/rms_db");
    let said = improved["after"]["flatness"]["rms_db"].as_f64().unwrap();
    assert!((rms - said).abs() < 1e-6, "{rms} {said}");
}

/// A coil across the mid driver that does nothing is taken out, and the screen says so.
#[test]
fn a_part_that_does_nothing_is_taken_out() {
    let (_folder, file) = changed(|text| {
        let at = text.lines().find(|line| line.starts_with("MID")).unwrap();
        let node = at.split('"').nth(3).unwrap().to_owned();
        text.replace(
            at,
            &format!("R99 = {{ resistor = \"100 ohm\", between = [\"{node}\", \"gnd\"] }}\n{at}"),
        )
    });
    let outcome = handover(&["improve", &file]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(
        outcome.out.contains("taken out") && outcome.out.contains("R99"),
        "{}",
        outcome.out
    );
    assert!(outcome.out.contains("in place of"), "{}", outcome.out);
}

#[test]
fn what_cannot_be_improved_is_told_so() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().to_str().unwrap();
    assert_eq!(handover(&["demo", name]).status, 0);
    let brief = format!("{name}/brief.toml");
    let outcome = handover(&["improve", &brief]);
    assert_eq!(outcome.status, 2);
    assert!(
        outcome.err.contains("no [parts]") && outcome.err.contains("help:"),
        "{}",
        outcome.err
    );
    assert!(!folder.path().join("brief-improved.toml").exists());
}

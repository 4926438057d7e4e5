//! `design` as a whole command: the screen, the document, the file.

use std::path::Path;

use serde_json::Value;
use tests::command::{Outcome, handover};
use tests::document::{FIGURES, document, number};
use tests::made::{SHORT, THREE_WAY, TWO_WAY, WIRED_TWO_WAY};

#[test]
fn the_document_holds_what_the_contract_names() {
    let document = THREE_WAY.document();
    let more = [
        "/ways/low/match_db",
        "/ways/mid/match_db",
        "/ways/high/match_db",
        "/crossovers/0/frequency_hz",
        "/crossovers/1/phase_match_deg",
        "/shapes_tried",
        "/seconds",
        "/alternatives/0/flatness/rms_db",
    ];
    for pointer in FIGURES.into_iter().chain(more) {
        let number = document.pointer(pointer).and_then(Value::as_f64);
        assert!(number.is_some_and(f64::is_finite), "{pointer}: {document}");
    }
    for finding in document["findings"].as_array().unwrap() {
        for field in ["severity", "code", "message"] {
            assert!(finding[field].is_string(), "{finding}");
        }
    }
    let file = document["design_file"].as_str().unwrap();
    assert_eq!(file, format!("{}/new/mine.toml", THREE_WAY.folder));
}

#[test]
fn the_design_file_can_be_swept_and_is_not_overwritten_unasked() {
    let (out, folder) = (&TWO_WAY.outcome.out, TWO_WAY.copy());
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    assert!(out.contains("pick  parts"), "{out}");
    let text = TWO_WAY.text("two-way-design.toml");
    let remark = TWO_WAY.text("two-way.toml");
    let remark = remark.lines().find(|line| line.starts_with('#')).unwrap();
    assert!(text.contains(remark), "the builder's remarks stay");
    let design = at("two-way-design.toml");
    let swept = handover(&["sweep", &design, "--json", "--points", "5"]);
    assert_eq!(swept.status, 0, "{}", swept.err);

    let again = handover(&["design", &at("two-way.toml")]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("--force"), "{}", again.err);
    assert!(again.out.is_empty());
}

#[test]
fn a_brief_that_cannot_be_designed_is_told_why() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("one.toml");
    let text = "[drivers.low]\nmodelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, \
                vas = \"100 L\", sd = \"500 cm2\" }\n";
    std::fs::write(&file, text).unwrap();
    let outcome = handover(&["design", file.to_str().unwrap()]);
    assert_eq!(outcome.status, 2);
    assert!(
        outcome.err.contains("at least two drivers"),
        "{}",
        outcome.err
    );
    assert!(outcome.err.contains("help:"), "{}", outcome.err);
}

#[test]
fn a_design_of_the_demo_brings_its_tables_along() {
    let (err, folder) = (&THREE_WAY.outcome.err, THREE_WAY.copy());
    assert!(err.contains("8 measured tables"), "{err}");
    let at = |name: &str| folder.path().join("new").join(name);
    let file = at("mine.toml");
    let file = file.to_str().unwrap();
    let swept = handover(&["sweep", file, "--points", "5"]);
    assert_eq!(swept.status, 0, "{}", swept.err);
    // A table of the builder's own is not overwritten.
    std::fs::write(at("mid-response.txt"), "mine").unwrap();
    std::fs::remove_file(file).unwrap();
    std::fs::remove_file(at("mine.html")).unwrap();
    let again = handover(&["design", "--demo", "-o", file]);
    assert_eq!(again.status, 2, "{}", again.err);
    assert!(again.err.contains("mid-response.txt"), "{}", again.err);
}

#[test]
fn a_design_in_another_folder_finds_its_tables() {
    let folder = WIRED_TWO_WAY.copy();
    let design = folder.path().join("new/there.toml");
    let loaded = netlist::project::load(&design).unwrap_or_else(|problems| panic!("{problems}"));
    assert!(loaded.text.contains("\"../mid-response.txt\""));
    let Outcome { err, .. } = &WIRED_TWO_WAY.outcome;
    assert!(
        err.contains("report written to") && !err.contains("copy"),
        "{err}"
    );
}

/// What is shown of a design is what its file gives, and the file holds no digits that mean nothing.
#[test]
fn the_figures_are_those_of_the_file() {
    let designed = THREE_WAY.document();
    let folder = THREE_WAY.copy();
    figures_of_the_file(&designed, "", &folder.path().join("new/mine.toml"));

    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    assert_eq!(handover(&["demo", &at("")]).status, 0);
    let (brief, file) = (at("two-way.toml"), at("ideal.toml"));
    let mut line = vec!["design", &brief, "-o", &file, "--json", "--ideal"];
    line.extend(SHORT);
    let ideal = handover(&line);
    assert_eq!(ideal.status, 0, "{}", ideal.err);
    figures_of_the_file(&document(&ideal), "/ideal", Path::new(&file));
}

fn figures_of_the_file(designed: &Value, said: &str, file: &Path) {
    let name = file.to_str().unwrap();
    let checked = document(&handover(&["check", name, "--json", "--builds", "20"]));
    for pointer in [
        "/level_db",
        "/flatness/rms_db",
        "/flatness/max_db",
        "/flatness/max_at_hz",
    ] {
        let [shown, of_file] = [
            number(designed, &format!("{said}{pointer}")),
            number(&checked, pointer),
        ];
        assert!(
            (shown - of_file).abs() < 1e-9 * of_file.abs(),
            "{pointer}: {shown} {of_file}"
        );
    }
    let text = std::fs::read_to_string(file).unwrap();
    let (_, parts) = text.split_once("[parts]").unwrap();
    let digits = |word: &&str| word.chars().filter(char::is_ascii_digit).count();
    let longest = parts
        .split(['"', ' ', ','])
        .filter(|word| word.parse::<f64>().is_ok());
    let longest = longest.max_by_key(digits).unwrap();
    assert!(digits(&longest) <= 7, "{longest}");
}

/// What a brief leaves open is decided, shown, and written into the design, so that it is judged by what it was
/// made for.
#[test]
fn what_is_left_open_is_decided_and_written() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().to_str().unwrap();
    assert_eq!(handover(&["demo", name]).status, 0);
    let brief = folder.path().join("two-way.toml");
    let text = std::fs::read_to_string(&brief).unwrap();
    let line = text
        .lines()
        .find(|line| line.starts_with("frequency"))
        .unwrap();
    std::fs::write(
        &brief,
        text.replace(line, "frequency = \"auto\" # to be found"),
    )
    .unwrap();
    let mut command = vec!["design", brief.to_str().unwrap()];
    command.extend(SHORT);
    let designed = handover(&command);
    assert_eq!(designed.status, 0, "{}", designed.err);
    assert!(
        designed.out.contains("left open by the brief"),
        "{}",
        designed.out
    );
    let file = folder.path().join("two-way-design.toml");
    let written = std::fs::read_to_string(&file).unwrap();
    let decided = written
        .lines()
        .find(|line| line.starts_with("frequency"))
        .unwrap();
    assert!(decided.contains("Hz\" # to be found"), "{decided}");
    let checked = handover(&["check", file.to_str().unwrap(), "--builds", "20"]);
    assert_eq!(checked.status, 0, "{}", checked.err);
}

#[test]
fn a_number_of_parts_that_cannot_be_is_refused() {
    for (option, value) in [("--parts", "0"), ("--budget", "-3"), ("--pick", "0")] {
        let outcome = handover(&["design", "--demo", option, value]);
        assert_eq!(outcome.status, 2, "{option}");
        assert!(outcome.err.contains(option), "{}", outcome.err);
    }
}

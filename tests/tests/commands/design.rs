//! `design` as a whole command: the screen, the document, the file.

use serde_json::Value;
use tests::command::handover;
use tests::document::{FIGURES, document, number};

/// A search short enough for a test that is not about what it finds.
const SHORT: [&str; 2] = ["--starts", "1"];

#[test]
fn the_document_holds_what_the_contract_names() {
    let outcome = handover(&["design", "--demo", "--json", SHORT[0], SHORT[1]]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let document: Value = serde_json::from_str(&outcome.out).unwrap();
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
    assert!(
        document["design_file"].is_null(),
        "the demo writes no file unasked"
    );
}

#[test]
fn the_design_file_can_be_swept_and_is_not_overwritten_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    assert_eq!(
        handover(&["demo", folder.path().to_str().unwrap()]).status,
        0
    );
    let brief = at("two-way.toml");
    let outcome = handover(&["design", &brief, SHORT[0], SHORT[1]]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(outcome.out.contains("alternatives"), "{}", outcome.out);
    let design = at("two-way-design.toml");
    let text = std::fs::read_to_string(&design).unwrap();
    let remark = std::fs::read_to_string(&brief).unwrap();
    let remark = remark.lines().find(|line| line.starts_with('#')).unwrap();
    assert!(text.contains(remark), "the builder's remarks stay");
    let swept = handover(&["sweep", &design, "--json", "--points", "5"]);
    assert_eq!(swept.status, 0, "{}", swept.err);

    let again = handover(&["design", &brief, SHORT[0], SHORT[1]]);
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
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    let file = file.to_str().unwrap();
    let outcome = handover(&["design", "--demo", "-o", file, SHORT[0], SHORT[1]]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(outcome.err.contains("6 measured tables"), "{}", outcome.err);
    let swept = handover(&["sweep", file, "--points", "5"]);
    assert_eq!(swept.status, 0, "{}", swept.err);
    // A table of the builder's own is not overwritten.
    std::fs::write(folder.path().join("mid-response.txt"), "mine").unwrap();
    std::fs::remove_file(file).unwrap();
    std::fs::remove_file(folder.path().join("mine.html")).unwrap();
    let again = handover(&["design", "--demo", "-o", file, SHORT[0], SHORT[1]]);
    assert_eq!(again.status, 2, "{}", again.err);
    assert!(again.err.contains("mid-response.txt"), "{}", again.err);
}

#[test]
fn a_design_in_another_folder_says_what_it_lacks() {
    let [from, to] = [(); 2].map(|()| tempfile::tempdir().unwrap());
    let folder = from.path().to_str().unwrap();
    assert_eq!(handover(&["demo", folder]).status, 0);
    let brief = from.path().join("two-way.toml");
    let design = to.path().join("there.toml");
    let (brief, design) = (brief.to_str().unwrap(), design.to_str().unwrap());
    let outcome = handover(&["design", brief, "-o", design, SHORT[0], SHORT[1]]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(outcome.err.contains("copy them"), "{}", outcome.err);
    assert!(outcome.err.contains(folder), "{}", outcome.err);
}

/// What is shown of a design is what its file gives, and the file holds no digits that mean nothing.
#[test]
fn the_figures_are_those_of_the_file() {
    for ideal in [&[][..], &["--ideal"]] {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("design.toml");
        let file = file.to_str().unwrap();
        let mut line = vec!["design", "--demo", "-o", file, "--json", SHORT[0], SHORT[1]];
        line.extend(ideal);
        let designed = handover(&line);
        assert_eq!(designed.status, 0, "{}", designed.err);
        let checked = handover(&["check", file, "--json", "--builds", "20"]);
        let [designed, checked] = [&designed, &checked].map(document);
        let said = if ideal.is_empty() { "" } else { "/ideal" };
        for pointer in [
            "/level_db",
            "/flatness/rms_db",
            "/flatness/max_db",
            "/flatness/max_at_hz",
        ] {
            let [shown, of_file] = [
                number(&designed, &format!("{said}{pointer}")),
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
}

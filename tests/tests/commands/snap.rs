//! `snap` as a whole command: the screen, the document, the file, mistakes.

use std::path::PathBuf;

use netlist::series::Series;
use serde_json::Value;
use tempfile::TempDir;
use tests::command::{Outcome, handover};
use tests::document::{FIGURES, document};
use tests::snapping::TWO_WAY_PARTS;

/// The demo's two-way with eight parts in a folder of its own, changed.
fn two_way(change: impl Fn(String) -> String) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let demo = handover(&["demo", folder.path().to_str().unwrap()]);
    assert_eq!(demo.status, 0, "{}", demo.err);
    let file = folder.path().join("two-way.toml");
    let text = std::fs::read_to_string(&file).unwrap() + TWO_WAY_PARTS;
    std::fs::write(&file, change(text)).unwrap();
    (folder, file)
}

fn snap(change: impl Fn(String) -> String, options: &[&str]) -> Outcome {
    let (_folder, file) = two_way(change);
    let mut args = vec!["snap", file.to_str().unwrap()];
    args.extend(options);
    handover(&args)
}

#[test]
fn the_document_holds_figures_parts_and_what_was_proven() {
    let outcome = snap(|text| text, &["--json", "--window", "1"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let document = document(&outcome);
    let more = [
        "/ways/low/match_db",
        "/ways/mid/match_db",
        "/crossovers/0/frequency_hz",
        "/crossovers/0/phase_match_deg",
        "/cost/in_file",
        "/in_file/flatness/rms_db",
        "/cost/nearest",
        "/cost/best_as_printed",
        "/change/rms_db",
        "/change/max_db",
        "/change/max_at_hz",
        "/change/ways/low/rms_db",
        "/change/crossovers/0/phase_deg",
        "/nearest/change/rms_db",
        "/nearest/load/least_ohm",
        "/parts/0/in_file_si",
        "/parts/0/nearest_si",
        "/parts/0/chosen_si",
        "/parts/0/difference",
        "/parts/0/loss_ohm",
        "/window",
        "/choices_looked_at",
        "/alternatives/0/flatness/rms_db",
        "/alternatives/0/pieces",
        "/seconds",
    ];
    for pointer in FIGURES.into_iter().chain(more) {
        let number = document.pointer(pointer).and_then(Value::as_f64);
        assert!(number.is_some_and(f64::is_finite), "{pointer}: {document}");
    }
    assert_eq!(document["proven"], true);
    assert_eq!(document["scope"], "everything");
    let known = document["known"].as_str().unwrap();
    assert!(
        known.starts_with("proven") && known.contains("±1"),
        "{known}"
    );
    let alternatives = document["alternatives"].as_array().unwrap();
    assert!((1..=5).contains(&alternatives.len()));
    let cost = |name: &str| document["cost"][name].as_f64().unwrap();
    assert!(cost("best") <= cost("nearest"));
    assert!(cost("best_as_printed") < cost("best"), "tolerance counts");
    assert_eq!(document["goal"], "least_change");
    let share = document["removed_share"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&share), "{share}");
    assert!(document["in_file"].get("change").is_none());
    // What is told of the choice and of the nearest is in their figures.
    let than = &document["than_nearest"];
    for (list, better) in [("better", true), ("worse", false)] {
        for figure in than[list].as_array().unwrap() {
            let [was, is] = ["was", "is"].map(|name| figure[name].as_f64().unwrap());
            let less = figure["unit"] != "ohm";
            assert_eq!((is < was) == less, better, "{figure}");
        }
    }
    // The coil's resistance follows the inductance that was chosen: 1.25 mm wire, not the file's.
    let coil = &document["parts"][0];
    assert_eq!(coil["name"], "L1");
    let dcr = solver::coil::air_coil_dcr_ohm(coil["chosen_si"].as_f64().unwrap(), 1.25e-3);
    assert!(
        (coil["loss_ohm"].as_f64().unwrap() / dcr - 1.0).abs() < 0.01,
        "{coil} {dcr}"
    );
}

#[test]
fn the_file_keeps_the_builders_words_and_can_be_checked() {
    let remark = "# My own remark.\n";
    let (folder, file) = two_way(|text| {
        let fixed =
            "L1 = { inductor = \"3.05 mH\", between = [\"in\", \"l1\"], dcr = \"0.62 ohm\" }";
        assert!(text.contains(fixed));
        let new = fixed.replace(" }", ", fixed = true }");
        text.replace(fixed, &format!("{remark}{new}"))
    });
    let outcome = handover(&["snap", file.to_str().unwrap(), "--window", "1"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    for words in [
        "in the file",
        "nearest",
        "chosen",
        "proven",
        "kept out of the search",
    ] {
        assert!(outcome.out.contains(words), "{words}: {}", outcome.out);
    }
    for words in [
        "better than nearest",
        "worse than nearest",
        "change of the sum",
    ] {
        assert!(outcome.out.contains(words), "{words}: {}", outcome.out);
    }
    let lines = outcome.out.lines();
    assert!(lines.clone().count() <= 56, "{}", outcome.out);
    assert!(
        lines.clone().all(|line| line.chars().count() <= 100),
        "{}",
        outcome.out
    );
    let written = folder.path().join("two-way-snapped.toml");
    let text = std::fs::read_to_string(&written).unwrap();
    assert!(text.contains(remark), "{text}");
    assert!(
        text.contains("3.05 mH") && text.contains("fixed = true"),
        "{text}"
    );
    let again = handover(&["snap", file.to_str().unwrap(), "--window", "1"]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("--force"), "{}", again.err);
    let forced = handover(&["snap", file.to_str().unwrap(), "--window", "1", "--force"]);
    assert_eq!(forced.status, 0, "{}", forced.err);
    assert_eq!(
        std::fs::read_to_string(&written).unwrap(),
        text,
        "the same again"
    );
    let checked = handover(&["check", written.to_str().unwrap(), "--builds", "50"]);
    assert!(checked.status <= 1, "{}", checked.err);
}

#[test]
fn a_series_and_a_catalogue_of_coils_are_taken_as_said() {
    let outcome = snap(|text| text, &["--json", "--window", "1", "--series", "E3"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    for part in document(&outcome)["parts"].as_array().unwrap() {
        if part["made_of_si"].is_null() {
            let value = part["chosen_si"].as_f64().unwrap();
            let nearest = Series::E3.value(Series::E3.nearest_step(value).unwrap());
            assert!((value / nearest - 1.0).abs() < 1e-9, "{part}");
        }
    }
    let (folder, file) = two_way(|text| text.replace("[parts]", "[stock.none]\n[parts]"));
    let text = std::fs::read_to_string(&file)
        .unwrap()
        .replace("[stock.none]\n", "");
    let text = text.replace("[stock]\n", "[stock]\ncatalogue = \"coils.csv\"\n");
    std::fs::write(&file, text).unwrap();
    let coils = "kind,value,dcr_or_esr,price,name,count\ncoil,3.3 mH,0.7 ohm,21.50,big,1\n\
                 coil,1.2 mH,0.38 ohm,12,small,2\n";
    std::fs::write(folder.path().join("coils.csv"), coils).unwrap();
    let outcome = handover(&["snap", file.to_str().unwrap(), "--json", "--window", "1"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let found = document(&outcome);
    let coil = |name: &str| {
        let parts = found["parts"].as_array().unwrap();
        parts
            .iter()
            .find(|part| part["name"] == name)
            .unwrap()
            .clone()
    };
    assert_eq!(coil("L1")["catalogue"], "big");
    assert_eq!(coil("L2")["catalogue"], "small");
    assert!(found["price"].is_null(), "the capacitors have no price");
    assert!((coil("L1")["price"].as_f64().unwrap() - 21.5).abs() < 1e-9);
    assert!((coil("L1")["loss_ohm"].as_f64().unwrap() - 0.7).abs() < 1e-9);
    let bad = coils.replace("12,small,2", "cheap,small,many");
    std::fs::write(folder.path().join("coils.csv"), bad).unwrap();
    let outcome = handover(&["snap", file.to_str().unwrap(), "--json"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("coils.csv:3:"), "{}", outcome.err);
    assert!(outcome.err.contains("2 mistakes"), "{}", outcome.err);
}

/// The search is done, and its best is worth more than a refusal.
#[test]
fn a_choice_that_is_not_there_gives_the_best() {
    let outcome = snap(|text| text, &["--pick", "9", "--window", "1"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(
        outcome.err.contains("--pick 9, but there are") && outcome.err.contains("1 is taken"),
        "{}",
        outcome.err
    );
    assert!(
        outcome.out.contains("parts moved onto the stock"),
        "{}",
        outcome.out
    );
}

#[test]
fn what_cannot_be_snapped_is_told_why() {
    let told = |outcome: Outcome, words: &str| {
        assert_eq!(outcome.status, 2, "{outcome:?}");
        assert!(outcome.err.contains(words), "{}", outcome.err);
        assert!(outcome.err.contains("help:"), "{}", outcome.err);
        assert!(outcome.out.is_empty());
    };
    let before_parts = |text: String| text.split("[parts]").next().unwrap().to_owned();
    told(snap(before_parts, &[]), "no [parts]");
    let all_fixed = |text: String| {
        let (brief, parts) = text.split_once("[parts]").unwrap();
        let line = |line: &str| match line.chars().next() {
            Some('L' | 'C' | 'R') if !line.contains("driver") => {
                line.replace(" }", ", fixed = true }")
            }
            _ => line.to_owned(),
        };
        let parts: Vec<String> = parts.lines().map(line).collect();
        format!("{brief}[parts]{}", parts.join("\n"))
    };
    told(snap(all_fixed, &[]), "no part of it can be moved");
    let outcome = snap(|text| text, &["--series", "E7"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("E7"), "{}", outcome.err);
}

#[test]
fn least_change_and_the_aim_are_two_goals() {
    // A design voiced by ear: its mid stands 1 dB below the aim.
    let voiced = |text: String| {
        let old = "R3 = { resistor = \"5.3 ohm\"";
        assert!(text.contains(old));
        text.replace(old, "R3 = { resistor = \"4.4 ohm\"")
    };
    let options = ["--json", "--window", "1"];
    let kept = document(&snap(voiced, &options));
    let to_aim = document(&snap(voiced, &[&options[..], &["--to-aim"]].concat()));
    assert_eq!(to_aim["goal"], "aim");
    let at = |document: &Value, pointer: &str| document.pointer(pointer).unwrap().as_f64().unwrap();
    assert!(at(&kept, "/change/rms_db") <= at(&kept, "/nearest/change/rms_db") + 1e-9);
    assert!(at(&kept, "/change/rms_db") < at(&to_aim, "/change/rms_db"));
    assert!(at(&to_aim, "/flatness/rms_db") < at(&kept, "/flatness/rms_db"));
    // What is left to gain with any values: the stock of this window is coarse.
    let free = at(&to_aim, "/any_values/flatness/rms_db");
    assert!(free < at(&to_aim, "/flatness/rms_db") + 0.05, "{free}");
    assert!(kept["any_values"].is_null());
    // What is needless is accepted, and changes nothing.
    let robust = document(&snap(voiced, &[&options[..], &["--robust"]].concat()));
    assert_eq!(robust["parts"], kept["parts"]);
}

fn limited_to(text: &str, least: &str) -> String {
    let old = "minimum_load = \"5.6 ohm\"";
    assert!(text.contains(old), "{text}");
    text.replace(old, &format!("minimum_load = \"{least}\""))
}

#[test]
fn a_load_below_the_limit_is_told_with_whose_doing_it_is() {
    let text = |text: String| limited_to(&text, "9 ohm");
    let outcome = snap(text, &["--window", "1"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    for words in ["DANGER: the load falls to", "the values of the file have"] {
        assert!(outcome.out.contains(words), "{words}: {}", outcome.out);
    }
    let found = document(&snap(text, &["--window", "1", "--json"]));
    let codes = tests::document::codes(&found);
    assert!(
        codes.iter().any(|code| code.starts_with("load-")),
        "{codes:?}"
    );
}

/// A choice that is flatter and simpler than the one that is taken says what counts against it.
#[test]
fn a_choice_under_the_least_load_says_so() {
    for (asked, short) in [("3 ohm", false), ("9 ohm", true)] {
        let limited = |text: String| limited_to(&text, asked);
        let outcome = snap(limited, &["--to-aim", "--window", "1"]);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        let (_, choices) = outcome.out.split_once("choices (--pick)").unwrap();
        let rows: Vec<&str> = (choices.lines())
            .filter(|line| line.contains("ohm least"))
            .collect();
        assert!(rows.len() > 1, "{}", outcome.out);
        for row in rows {
            assert_eq!(row.contains("(under 9.00)"), short, "{row}");
        }
        assert_eq!(choices.contains("counts against a choice"), short);
    }
}

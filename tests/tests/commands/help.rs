//! `handover help`: its texts hold every field that is read and every document that is printed.

use serde_json::Value;
use tests::command::handover;
use tests::made::THREE_WAY;

fn help(topic: &str) -> String {
    let outcome = handover(&["help", topic]);
    assert_eq!((outcome.status, outcome.err.as_str()), (0, ""), "{topic}");
    outcome.out
}

/// Whether a text has a name as a word of its own.
fn has(text: &str, name: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric() && c != '_')
        .any(|word| word == name)
}

#[test]
fn topics_and_commands_are_told_and_fit_80_columns() {
    for topic in ["files", "json"] {
        let text = help(topic);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        assert!(help("help").contains(topic));
    }
    let all = handover(&["help"]);
    let same = handover(&["--help"]);
    assert_eq!(all.status, 0);
    assert_eq!(all.out, same.out);
    let commands = ["demo", "design", "snap", "check", "pad", "sweep", "report"];
    for command in commands {
        assert!(all.out.contains(command), "{}", all.out);
        assert!(help(command).contains(&format!("handover {command}")));
    }
    let unknown = handover(&["help", "file"]);
    assert_eq!((unknown.status, unknown.out.as_str()), (2, ""));
    assert!(unknown.err.contains("files, json, demo"), "{}", unknown.err);
}

/// A document's fields, as far as the names are not the builder's.
#[test]
fn every_document_is_in_the_help() {
    let text = help("json");
    let few = ["--builds", "20"];
    let lines: [&[&str]; 4] = [
        &["snap", "--demo", "--json", "--window", "1"],
        &["check", "--demo", "--json", few[0], few[1]],
        &[
            "pad",
            "--demo",
            "--driver",
            "mid",
            "--attenuation",
            "10 dB",
            "--json",
        ],
        &["sweep", "--demo", "--json", "--points", "5"],
    ];
    let mut documents: Vec<Value> = lines
        .iter()
        .map(|line| tests::document::document(&handover(line)))
        .collect();
    documents.push(THREE_WAY.document());
    for document in &documents {
        for name in document.as_object().expect("a table").keys() {
            assert!(has(&text, name), "{name} is not in `help json`");
        }
    }
}

/// The reader itself says what each table takes when it meets a field that it does not know.
#[test]
fn every_field_of_a_project_file_is_in_the_help() {
    let text = help("files");
    let tables = [
        "zzzzzz = 1",
        "[amplifier]\nbad = 1",
        "[aim]\nbad = 1",
        "[listener]\nbad = 1",
        "[cabinet]\nbad = 1",
        "[amplifier]\noutput_impedance = { zzzzzz = 1 }",
        "[drivers.low]\nbad = 1\nmeasured = { impedance = \"z\", response = \"r\", zzzzzz = 1 }",
        "[drivers.low]\nmeasured = { impedance = \"z\", near = \"r\", far = \"r\", near_port = { zzzzzz = 1 }, zzzzzz = 1 }",
        "[drivers.low]\nmodelled = { fs = 1, zzzzzz = 1, box = { volume = 1, zzzzzz = 1 }, break_up = [{ zzzzzz = 1 }] }\non_baffle = { zzzzzz = 1 }",
        "[drivers.low]\nmodelled = { level = 1, zzzzzz = 1, horn = { cutoff = 1, zzzzzz = 1 }, top = { f = 1, zzzzzz = 1 }, resonances = [{ r = 1, zzzzzz = 1 }] }",
        "[drivers.low]\nusable = { from = 1, zzzzzz = 1 }\nposition = { up = 1, zzzzzz = 1 }",
        "[[crossovers]]\nbad = 1",
        "[stock]\nbad = 1\ncapacitors = { zzzzzz = 1 }\ninductors = { zzzzzz = 1 }\nresistors = { zzzzzz = 1 }\nautoformers = { zzzzzz = 1 }\ncatalogue = [{ zzzzzz = 1 }]",
        "[wiring]\nbad = 1\ncable = { zzzzzz = 1 }",
        "[parts]\nC1 = { capacitor = 1, zzzzzz = 1 }\nL1 = { inductor = 1, zzzzzz = 1 }\nR1 = { resistor = 1, zzzzzz = 1 }\nT1 = { autoformer = 1, zzzzzz = 1 }\nK1 = { coupling = [\"L1\", \"L2\"], zzzzzz = 1 }\nD = { driver = \"low\", zzzzzz = 1 }",
    ];
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.toml");
    let mut known = 0;
    for table in tables {
        std::fs::write(&path, table).unwrap();
        let problems = netlist::project::load(&path).unwrap_err();
        let takes = (problems.list().iter())
            .filter_map(|problem| problem.help.as_deref()?.split_once(" takes "));
        for (_, names) in takes {
            for name in names.split(", ") {
                known += 1;
                assert!(has(&text, name), "{name} is not in `help files`: {table}");
            }
        }
    }
    assert!(known > 80, "{known} fields");
}

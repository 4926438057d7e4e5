//! What a builder sees when a file is wrong: one message that says where and the way
//! out, nothing among the data, status 2.

use std::fs;

use tempfile::TempDir;
use tests::command::{Outcome, handover};

/// The demo, to be broken.
pub(super) struct Broken {
    pub(super) folder: TempDir,
}

impl Broken {
    pub(super) fn new() -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        let outcome = handover(&["demo", folder.path().to_str().expect("a plain path")]);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        Self { folder }
    }

    pub(super) fn path(&self, file: &str) -> String {
        let path = self.folder.path().join(file);
        path.to_str().expect("a plain path").to_owned()
    }

    pub(super) fn write(&self, file: &str, bytes: &[u8]) {
        fs::write(self.path(file), bytes).expect("a file");
    }

    /// Changes one place of a file and gives the line it is in, counted from 1.
    pub(super) fn change(&self, file: &str, from: &str, to: &str) -> usize {
        let text = fs::read_to_string(self.path(file)).expect("a file");
        let at = text.find(from).expect("the text to change");
        self.write(file, text.replacen(from, to, 1).as_bytes());
        text[..at].matches('\n').count() + 1
    }

    pub(super) fn sweep(&self) -> Outcome {
        handover(&["sweep", &self.path("network.toml"), "--json"])
    }

    /// One message about `file`, at `line` where there is one, which has these words, and a help line.
    pub(super) fn tells(&self, file: &str, line: Option<usize>, words: &[&str]) {
        let outcome = self.sweep();
        let first = one_message(&outcome);
        let place = match line {
            Some(line) => format!("error: {}:{line}:", self.path(file)),
            None => format!("error: {}", self.path(file)),
        };
        assert!(first.starts_with(&place), "{place}: {}", outcome.err);
        if let Some(line) = line {
            let shown = outcome.err.lines().nth(1).expect("the line itself");
            assert!(
                shown.starts_with(&format!("  {line} | ")),
                "{}",
                outcome.err
            );
            let mark = outcome.err.lines().nth(2).expect("a mark");
            assert!(mark.trim().chars().all(|c| c == '^') && mark.contains('^'));
        }
        for word in words {
            assert!(outcome.err.contains(word), "{word}: {}", outcome.err);
        }
    }
}

/// Holds an outcome to one short message with a way out, and gives its first line.
pub(super) fn one_message(outcome: &Outcome) -> &str {
    assert_eq!(outcome.status, 2, "{}", outcome.err);
    assert_eq!(outcome.out, "", "no data when there is no result");
    let count = |start: &str| {
        let lines = outcome.err.lines().map(str::trim_start);
        lines.filter(|line| line.starts_with(start)).count()
    };
    assert_eq!(count("error: "), 1, "{}", outcome.err);
    assert_eq!(count("help: "), 1, "{}", outcome.err);
    assert!(outcome.err.lines().count() <= 4, "{}", outcome.err);
    assert!(
        outcome.err.lines().all(|line| line.chars().count() < 260),
        "{}",
        outcome.err
    );
    outcome.err.lines().next().expect("a line")
}

#[test]
fn garbage() {
    let broken = Broken::new();
    broken.write("network.toml", b"garbage");
    broken.tells("network.toml", Some(1), &["not TOML"]);
}

#[test]
fn bytes_that_are_no_text() {
    let broken = Broken::new();
    broken.write(
        "network.toml",
        &[0xff, 0x00, 0x9b, 0x31, 0x6d, 0xfe, 0x0a, 0xc3],
    );
    broken.tells("network.toml", Some(1), &["UTF-8"]);
    // Nothing that a terminal would take as a command gets through.
    let shown = broken.sweep().err;
    assert!(
        shown.chars().all(|c| c == '\n' || !c.is_control()),
        "{shown:?}"
    );
}

#[test]
fn an_empty_file() {
    let broken = Broken::new();
    broken.write("network.toml", b"");
    broken.tells("network.toml", None, &["lacks 'drivers'"]);
}

#[test]
fn a_folder_and_a_file_that_is_not_there() {
    let broken = Broken::new();
    fs::remove_file(broken.path("network.toml")).expect("a file");
    broken.tells("network.toml", None, &["no such file"]);
    fs::create_dir(broken.path("network.toml")).expect("a folder");
    broken.tells("network.toml", None, &["folder"]);
}

#[test]
fn an_unknown_field() {
    let broken = Broken::new();
    let line = broken.change("network.toml", "power = \"60 W\"", "powr = \"60 W\"");
    broken.tells(
        "network.toml",
        Some(line),
        &["'powr'", "did you mean 'power'?"],
    );
}

#[test]
fn a_wrong_unit() {
    let broken = Broken::new();
    let line = broken.change(
        "network.toml",
        "inductor = \"1.8 mH\"",
        "inductor = \"1.8 uF\"",
    );
    broken.tells(
        "network.toml",
        Some(line),
        &["'1.8 uF' is a capacitance", "0.33 mH"],
    );
}

#[test]
fn a_negative_value() {
    let broken = Broken::new();
    let line = broken.change(
        "network.toml",
        "capacitor = \"47 uF\"",
        "capacitor = \"-47 uF\"",
    );
    broken.tells("network.toml", Some(line), &["above 0"]);
}

#[test]
fn a_value_that_cannot_be_solved() {
    let broken = Broken::new();
    let line = broken.change(
        "network.toml",
        "inductor = \"1.8 mH\"",
        "inductor = \"1e-30 mH\"",
    );
    broken.tells(
        "network.toml",
        Some(line),
        &["inductor is 1e-33 H, out of all reason"],
    );
}

#[test]
fn a_decimal_comma_hides_no_other_mistake() {
    let broken = Broken::new();
    let lines = [
        broken.change("network.toml", "power = \"60 W\"", "power = 60,5"),
        broken.change("network.toml", "\"1.8 mH\"", "\"1,8 mH\""),
        broken.change("network.toml", "driver = \"mid\"", "driver = \"mdi\""),
        broken.change(
            "network.toml",
            "capacitor = \"47 uF\"",
            "capacitor = 47,5 uF",
        ),
        broken.change("network.toml", "title =", "titel ="),
    ];
    let outcome = broken.sweep();
    for line in lines {
        let place = format!("error: {}:{line}:", broken.path("network.toml"));
        // The drivers of a network are looked at when all of its parts can be read.
        let hidden = line == lines[2];
        assert_eq!(
            !hidden,
            outcome.err.contains(&place),
            "{place}: {}",
            outcome.err
        );
    }
    assert!(
        outcome.err.ends_with("4 mistakes found\n"),
        "{}",
        outcome.err
    );
}

#[test]
fn a_driver_that_the_project_does_not_have() {
    let broken = Broken::new();
    let line = broken.change("network.toml", "driver = \"mid\"", "driver = \"mdi\"");
    broken.tells("network.toml", Some(line), &["'mdi'", "low, mid, high"]);
}

#[test]
fn a_node_that_hangs_in_the_air() {
    let broken = Broken::new();
    let line = broken.change("network.toml", "[\"m3\", \"gnd\"]", "[\"m3\", \"zz\"]");
    broken.tells("network.toml", Some(line), &["'zz'", "'C4'"]);
}

#[test]
fn a_coupling_of_something_that_is_no_inductor() {
    let broken = Broken::new();
    let text = fs::read_to_string(broken.path("network.toml")).expect("a file");
    let line = text.lines().count() + 1;
    let more = "K1 = { coupling = [\"L1\", \"R1\"], factor = 0.1 }\n";
    broken.write("network.toml", (text + more).as_bytes());
    broken.tells("network.toml", Some(line), &["'R1'", "resistor"]);
}

#[test]
fn a_name_twice() {
    let broken = Broken::new();
    let text = fs::read_to_string(broken.path("network.toml")).expect("a file");
    let first = text
        .lines()
        .position(|line| line.starts_with("R1 "))
        .expect("R1")
        + 1;
    let line = text.lines().count() + 1;
    let more = "R1 = { resistor = \"1 ohm\", between = [\"in\", \"gnd\"] }\n";
    broken.write("network.toml", (text + more).as_bytes());
    broken.tells(
        "network.toml",
        Some(line),
        &["'R1'", &format!("line {first}")],
    );
}

#[test]
fn a_project_without_parts() {
    let broken = Broken::new();
    let brief = fs::read(broken.path("brief.toml")).expect("a file");
    broken.write("network.toml", &brief);
    broken.tells("network.toml", None, &["no [parts]"]);
}

#[test]
fn a_table_that_is_not_there() {
    let broken = Broken::new();
    let line = broken.change(
        "network.toml",
        "\"mid-response.txt\"",
        "\"mid-respons.txt\"",
    );
    broken.tells(
        "network.toml",
        Some(line),
        &["mid-respons.txt", "no such file"],
    );
}

#[test]
fn a_table_with_a_falling_frequency() {
    let broken = Broken::new();
    let line = broken.change("mid-impedance.txt", "   103.747 ", "   100.747 ");
    broken.tells(
        "mid-impedance.txt",
        Some(line),
        &["must rise", "100.747 Hz"],
    );
}

#[test]
fn a_table_with_three_rows() {
    let broken = Broken::new();
    broken.write(
        "high-response.txt",
        b"# short\n100 90 0\n200 90 0\n300 90 0\n",
    );
    broken.tells("high-response.txt", Some(2), &["only 3 rows", "at least 8"]);
}

#[test]
fn an_impedance_below_nothing() {
    let broken = Broken::new();
    let rows: String = (1..12)
        .map(|i| format!("{} {} 0\n", 100 * i, 5 - i))
        .collect();
    broken.write("low-impedance.txt", rows.as_bytes());
    let outcome = broken.sweep();
    assert_eq!((outcome.status, outcome.out.as_str()), (2, ""));
    assert!(
        outcome.err.contains("low-impedance.txt:5:"),
        "{}",
        outcome.err
    );
    assert!(outcome.err.contains("above 0"), "{}", outcome.err);
}

#[test]
fn all_mistakes_of_all_files_are_told_at_once() {
    let broken = Broken::new();
    let field = broken.change("network.toml", "power = \"60 W\"", "powr = \"60 W\"");
    let unit = broken.change(
        "network.toml",
        "inductor = \"1.8 mH\"",
        "inductor = \"1.8 uF\"",
    );
    let row = broken.change("mid-impedance.txt", "   103.747 ", "   100.747 ");
    let outcome = broken.sweep();
    assert_eq!((outcome.status, outcome.out.as_str()), (2, ""));
    for (file, line) in [
        ("network.toml", field),
        ("network.toml", unit),
        ("mid-impedance.txt", row),
    ] {
        let place = format!("error: {}:{line}:", broken.path(file));
        assert!(outcome.err.contains(&place), "{place}: {}", outcome.err);
    }
    assert!(
        outcome.err.trim_end().ends_with("3 mistakes found"),
        "{}",
        outcome.err
    );
}

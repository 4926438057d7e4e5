//! What a builder sees when a file or an option is wrong: one message that says where and the way
//! out, nothing among the data, status 2.

use std::fs;

use tempfile::TempDir;
use tests::command::{Outcome, handover};

/// The demo, to be broken.
struct Broken {
    folder: TempDir,
}

impl Broken {
    fn new() -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        let outcome = handover(&["demo", folder.path().to_str().expect("a plain path")]);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        Self { folder }
    }

    fn path(&self, file: &str) -> String {
        let path = self.folder.path().join(file);
        path.to_str().expect("a plain path").to_owned()
    }

    fn write(&self, file: &str, bytes: &[u8]) {
        fs::write(self.path(file), bytes).expect("a file");
    }

    /// Changes one place of a file and gives the line it is in, counted from 1.
    fn change(&self, file: &str, from: &str, to: &str) -> usize {
        let text = fs::read_to_string(self.path(file)).expect("a file");
        let at = text.find(from).expect("the text to change");
        self.write(file, text.replacen(from, to, 1).as_bytes());
        text[..at].matches('\n').count() + 1
    }

    fn sweep(&self) -> Outcome {
        handover(&["sweep", &self.path("network.toml"), "--json"])
    }

    /// One message about `file`, at `line` where there is one, which has these words, and a help line.
    fn tells(&self, file: &str, line: Option<usize>, words: &[&str]) {
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
fn one_message(outcome: &Outcome) -> &str {
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

#[test]
fn frequencies_that_fall_or_are_none() {
    for (at, words) in [
        ("100,50", "50 Hz"),
        ("0,50", "--at 0 Hz is outside of 0.001 Hz to 10 MHz"),
    ] {
        let outcome = handover(&["sweep", "--demo", "--json", "--at", at]);
        let first = one_message(&outcome);
        assert!(first.contains(words), "{first}");
    }
    let outcome = handover(&["sweep", "--demo", "--from", "1 kHz", "--to", "100 Hz"]);
    one_message(&outcome);
}

#[test]
fn options_that_do_not_fit() {
    let lines: [&[&str]; 7] = [
        &["sweep"],
        &["sweep", "--demo", "--json", "--csv"],
        &["sweep", "--demo", "project.toml"],
        &["sweep", "--demo", "--points", "0"],
        &["sweep", "--demo", "--at", "loud"],
        &["sweep", "--demo", "--at", "100", "--points", "5"],
        &["swoop"],
    ];
    for line in lines {
        let outcome = handover(line);
        assert_eq!(outcome.status, 2, "{line:?}");
        assert_eq!(outcome.out, "", "{line:?}");
        assert!(
            outcome.err.contains("error: ") && outcome.err.contains("--help"),
            "{}",
            outcome.err
        );
    }
}

#[test]
fn a_value_with_a_minus_is_answered_with_its_limit() {
    let pad = ["pad", "--load", "8 ohm", "--attenuation", "10 dB"];
    let coil = ["pad", "--load", "8 ohm", "--kind", "autoformer"];
    let lines: [(&[&str], &[&str], &str); 20] = [
        (
            &pad,
            &["--steps", "-3dB"],
            "--steps -3 dB is outside of 0 to 10 dB",
        ),
        (
            &pad,
            &["--hot", "-400K"],
            "--hot -400 K is outside of 0 to 400 K",
        ),
        (
            &pad,
            &["--power", "-20W"],
            "-20 W is outside of 0.001 to 100000 W",
        ),
        (
            &pad,
            &["--at", "-650,1k"],
            "-650 Hz is outside of 1 Hz to 100 kHz",
        ),
        (&pad, &["--core", "-10V"], "--core -10 V is no voltage"),
        (
            &pad[..3],
            &["--attenuation", "-10dB"],
            "--attenuation -10 dB is not above 0 and at most 80 dB",
        ),
        (
            &pad[..3],
            &["--series", "-8R2"],
            "-8.2 Ω is outside of 0.001 to",
        ),
        (
            &pad[..3],
            &["--series", "8", "--shunt", "-3ohm"],
            "-3 Ω is outside of 0.001 to",
        ),
        (
            &pad[3..],
            &["pad", "--load", "-8ohm"],
            "-8 Ω is outside of 0.001 to",
        ),
        (
            &coil,
            &["--taps", "-0.5"],
            "--taps -0.5: a tap is a share of the turns",
        ),
        (
            &["sweep", "--demo"],
            &["--from", "-20Hz"],
            "--from -20 Hz is outside of 0.001 Hz to 10 MHz",
        ),
        (
            &["sweep", "--demo"],
            &["--to", "-20kHz"],
            "--to -20 kHz is outside of 0.001 Hz",
        ),
        (
            &["sweep", "--demo"],
            &["--at", "-100"],
            "--at -100 Hz is outside of 0.001 Hz",
        ),
        (
            &["sweep", "--demo"],
            &["--points", "-5"],
            "whole number from 1 to 100000",
        ),
        (
            &["check", "--demo"],
            &["--driver-level", "-1dB"],
            "vary by -1 dB; give a number from 0 to 20 dB",
        ),
        (
            &["check", "--demo"],
            &["--builds", "-1"],
            "whole number from 1 to 1000000",
        ),
        (
            &["check", "--demo"],
            &["--seed", "-1"],
            "whole number, 0 or more",
        ),
        (
            &["design", "--demo"],
            &["--pick", "-1"],
            "whole number from 1 to 9",
        ),
        (
            &["snap", "--demo"],
            &["--window", "-1"],
            "whole number from 1 to 10",
        ),
        (
            &["snap", "--demo"],
            &["--budget", "-5"],
            "a price is a number above 0",
        ),
    ];
    for (line, option, words) in lines {
        // The load of the pad may be the value in question.
        let line: Vec<&str> = match line.first() {
            Some(&"--attenuation") => [option, line].concat(),
            _ => [line, option].concat(),
        };
        let outcome = handover(&line);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{line:?}");
        assert!(outcome.err.contains(words), "{words}: {}", outcome.err);
        assert!(outcome.err.contains("help"), "{}", outcome.err);
        assert!(!outcome.err.contains("tip:"), "{}", outcome.err);
    }
}

#[test]
fn an_option_without_its_value_does_not_swallow_the_next() {
    for line in [
        &[
            "pad",
            "--load",
            "8",
            "--attenuation",
            "10",
            "--steps",
            "--json",
        ][..],
        &["pad", "--load", "-h"],
        &["sweep", "--demo", "--points", "--json"],
        &["snap", "--demo", "--budget", "--robust"],
    ] {
        let outcome = handover(line);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{line:?}");
        let swallowed = line.last().expect("an option");
        let words = format!("the value is missing: '{swallowed}' is another option");
        assert!(outcome.err.contains(&words), "{}", outcome.err);
    }
}

#[test]
fn a_page_is_not_written_over_its_design() {
    let broken = Broken::new();
    let file = broken.path("network.toml");
    let before = fs::read(&file).expect("a file");
    // The same file by another name.
    let other = broken.folder.path().join(".").join("network.toml");
    let other = other.to_str().expect("a plain path");
    let page = handover(&["report", &file, "-o", other, "--force"]);
    assert!(
        one_message(&page).contains("is the design itself"),
        "{}",
        page.err
    );
    assert_eq!(fs::read(&file).expect("a file"), before);
}

#[test]
fn a_place_that_cannot_be_written_is_told_before_the_work() {
    let broken = Broken::new();
    let [design, folder] = [broken.path("no/where.toml"), broken.path("")];
    let file = broken.path("network.toml");
    for line in [
        &["design", &file, "-o", &design][..],
        &["snap", &file, "-o", &design],
        &["report", &file, "-o", &design],
    ] {
        let outcome = handover(line);
        let first = one_message(&outcome);
        assert!(
            first.ends_with("cannot be written: its folder is not there"),
            "{first}"
        );
    }
    let outcome = handover(&["report", &file, "-o", &folder, "--force"]);
    let first = one_message(&outcome);
    assert!(
        first.ends_with("cannot be written: it is a folder"),
        "{first}"
    );
}

#[test]
fn help_and_version_are_data() {
    for line in [&["--help"][..], &["--version"], &["sweep", "--help"]] {
        let outcome = handover(line);
        assert_eq!((outcome.status, outcome.err.as_str()), (0, ""), "{line:?}");
        assert!(!outcome.out.is_empty());
    }
}

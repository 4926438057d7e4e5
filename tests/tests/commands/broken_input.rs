//! Input that cannot be used: a readable message with file, line and the way out, exit status 2,
//! and nothing on stdout.

use std::path::Path;

use tests::command::handover;

const DRIVER: &str = r#"[drivers.low]
measured = { impedance = "low-impedance.txt", response = "low-response.txt" }
[parts]
"#;

fn write_demo(folder: &Path) {
    let ran = handover(&["demo", folder.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
}

/// Writes a file beside the demo's tables, sweeps it, and gives what was said, with the folder
/// taken out of the names.
fn said_about(folder: &Path, name: &str, bytes: &[u8]) -> String {
    let file = folder.join(name);
    std::fs::write(&file, bytes).unwrap();
    let ran = handover(&["sweep", file.to_str().unwrap()]);
    assert_eq!(ran.status, 2, "{name}: {}", ran.err);
    assert_eq!(ran.out, "", "{name} gives no data");
    let here = format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR);
    ran.err.replace(&here, "")
}

#[test]
fn each_mistake_below_parts_is_told_with_file_line_and_the_way_out() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    // What is put below [parts], from line 4 on; where the mistake is; what is said; the way out.
    let broken_parts = [
        (
            r#"C1 = { capacitor = "24 mH", between = ["in", "gnd"] }"#,
            "4:20",
            "'24 mH' is an inductance",
            "a capacitance is written like '4.7 uF'",
        ),
        (
            r#"C1 = { capacitor = "24 uF", betwen = ["in", "gnd"] }"#,
            "4:29",
            "part 'C1' has no field 'betwen'",
            "help: did you mean 'between'?",
        ),
        (
            r#"LOW = { driver = "lo", between = ["in", "gnd"] }"#,
            "4:18",
            "driver 'lo', which the project does not have",
            "help: the drivers are low",
        ),
        (
            r#"LOW = { driver = "low", between = ["in", "gnd"] }
C1 = { capacitor = "24 uF", between = ["in", "in"] }"#,
            "5:39",
            "both ends of 'C1' are at node 'in'",
            "help: it would do nothing: give it two different nodes, or leave it out",
        ),
        (
            r#"LOW = { driver = "low", between = ["in", "gnd"] }
C1 = { capacitor = "24 uF", between = ["in", "x"] }"#,
            "5:39",
            "node 'x' is reached by one part only, 'C1'",
            "join a second part to it, or leave the part out",
        ),
        (
            r#"LOW = { driver = "low", between = ["in", "gnd"] }
LOW2 = { driver = "low", between = ["in", "gnd"] }"#,
            "5:19",
            "driver 'low' is used twice, by 'LOW' and by 'LOW2'",
            "help: one driver is one part",
        ),
        (
            r#"LOW = { driver = "low", between = ["in", "gnd"] }
LOW = { driver = "low", between = ["in", "gnd"] }"#,
            "5:1",
            "'LOW' comes twice",
            "the first 'LOW' is on line 4; rename or delete one of them",
        ),
        (
            r#"LOW = { driver = "low", between = ["b", "gnd"] }
L1 = { inductor = "1 mH", between = ["in", "b"] }
K1 = { coupling = ["L1", "L1"], factor = 0.1 }"#,
            "6:19",
            "'K1' couples 'L1' with itself",
            "help: name two different inductors",
        ),
        (
            r#"LOW = { driver = "low", between = ["in", "gnd" }"#,
            "4:",
            "this is not TOML",
            "help: ",
        ),
    ];
    for (parts, place, message, way_out) in broken_parts {
        let said = said_about(
            folder.path(),
            "x.toml",
            format!("{DRIVER}{parts}\n").as_bytes(),
        );
        assert!(
            said.starts_with(&format!("error: x.toml:{place}")),
            "{parts}:\n{said}"
        );
        assert!(said.contains(message), "{parts}:\n{said}");
        assert!(said.contains(way_out), "{parts}:\n{said}");
        assert_eq!(said.matches("error:").count(), 1, "one message:\n{said}");
    }
}

#[test]
fn the_mark_fits_lines_with_wide_letters_old_line_ends_and_great_length() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let mark_of = |text: String| {
        let said = said_about(folder.path(), "x.toml", text.as_bytes());
        let lines: Vec<String> = said.lines().take(3).map(String::from).collect();
        let [_, shown, marks] = &lines[..] else {
            panic!("no line is shown:\n{said}");
        };
        let column = marks.chars().take_while(|c| *c == ' ').count();
        let width = marks.chars().filter(|c| *c == '^').count();
        assert!(shown.chars().count() < 140, "{shown}");
        shown.chars().skip(column).take(width).collect::<String>()
    };
    let part = r#"C1 = { capacitor = "24 uF", betwen = ["in", "gnd"] }"#;
    assert_eq!(mark_of(format!("{DRIVER}{part}\n")), "betwen");
    let old = format!("{DRIVER}{part}\n").replace('\n', "\r\n");
    assert_eq!(mark_of(old), "betwen");
    // The mark is as wide as what is meant, in letters and not in bytes.
    let wide = r#"LOW = { driver = "größe", between = ["in", "gnd"] }"#;
    assert_eq!(mark_of(format!("{DRIVER}{wide}\n")), "\"größe\"");
    let far = part.replace("24 uF\",", &format!("24 uF\",{}", " ".repeat(300)));
    assert_eq!(mark_of(format!("{DRIVER}{far}\n")), "betwen");
}

#[test]
fn a_table_whose_lines_end_with_cr_alone_is_shown_line_by_line() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let rows = "Hz ohm\r10 6\r20 6\r30 6\r25 6\r40 6\r50 6\r60 6\r70 6\r80 6\r";
    std::fs::write(folder.path().join("mine.txt"), rows).unwrap();
    let project = format!(
        "{}LOW = {{ driver = \"low\", between = [\"in\", \"gnd\"] }}\n",
        DRIVER.replace("low-impedance.txt", "mine.txt")
    );
    let said = said_about(folder.path(), "x.toml", project.as_bytes());
    let lines: Vec<&str> = said.lines().collect();
    assert!(lines[0].starts_with("error: mine.txt:5:1: "), "{said}");
    assert_eq!(lines[1], "  5 | 25 6", "{said}");
    assert!(lines[2].starts_with("      ^"), "{said}");
}

#[test]
fn a_value_that_is_no_part_names_file_and_part() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let parts = r#"R2 = { resistor = 1e20, between = ["in", "gnd"] }
LOW = { driver = "low", between = ["in", "gnd"] }
"#;
    let said = said_about(
        folder.path(),
        "x.toml",
        format!("{DRIVER}{parts}").as_bytes(),
    );
    assert!(
        said.starts_with("error: x.toml") && said.contains("R2"),
        "{said}"
    );
    assert!(said.contains("help: "), "{said}");
}

#[test]
fn broken_json_is_told_like_broken_toml() {
    let folder = tempfile::tempdir().unwrap();
    let said = said_about(folder.path(), "x.json", b"{\"drivers\": {\"low\": }}");
    let start = "error: x.json:1:21: this is not JSON: a value is expected here\n";
    assert!(said.starts_with(start), "{said}");
}

#[test]
fn frequencies_far_outside_of_hearing_are_refused_and_give_no_number_that_is_none() {
    for options in [
        &["--from", "1e300", "--to", "1e308"][..],
        &["--at", "1e-9"],
        &["--at", "100,1e9"],
    ] {
        let ran = handover(&[&["sweep", "--demo", "--json"], options].concat());
        assert_eq!(ran.status, 2, "{options:?}");
        assert_eq!(ran.out, "", "{options:?}");
        let message = "Hz is outside of 0.001 Hz to 10 MHz\n  help: ";
        assert!(ran.err.contains(message), "{options:?}:\n{}", ran.err);
    }
    // The ends themselves are within.
    let ran = handover(&["sweep", "--demo", "--json", "--at", "0.001,10 MHz"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(!ran.out.contains("null"), "{}", ran.out);
}

//! Measured tables, good and bad.

use proptest::prelude::*;

use super::*;

/// Rows with the given ends of line and separator between the columns.
fn rows(separator: &str, end: &str) -> String {
    (1..=8)
        .map(|i| format!("{}{separator}{}.5{separator}-{i}{end}", 20 * i, 80 + i))
        .collect()
}

fn good(text: &[u8]) -> Table {
    match Table::parse("mid.txt", text, TableKind::Response) {
        Ok(table) => table,
        Err(problems) => panic!("{problems}"),
    }
}

fn bad(text: &str, kind: TableKind) -> Vec<String> {
    match Table::parse("mid.txt", text.as_bytes(), kind) {
        Ok(table) => panic!("read as {table:?}"),
        Err(problems) => problems.list().iter().map(ToString::to_string).collect(),
    }
}

/// The table of [`rows`] with blanks, and line `line` (counted from 1) replaced.
fn with_line(line: usize, new: &str) -> String {
    let text = rows(" ", "\n");
    let mut lines: Vec<&str> = text.lines().collect();
    lines[line - 1] = new;
    lines.join("\n")
}

#[test]
fn every_separator_and_line_end() {
    let expected = good(rows(" ", "\n").as_bytes());
    assert_eq!(
        expected.f_hz,
        [20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0, 160.0]
    );
    assert_eq!(expected.magnitude[0].to_bits(), 81.5f64.to_bits());
    assert_eq!(
        expected.phase_deg.as_ref().map(|phase| phase[7].to_bits()),
        Some((-8.0f64).to_bits())
    );
    for separator in ["\t", "   ", ",", ", ", ";", "; ", " ;\t", " , "] {
        for end in ["\n", "\r\n", "\r", " \n", "\t\r\n", ";\n"] {
            assert_eq!(
                good(rows(separator, end).as_bytes()),
                expected,
                "{separator:?} {end:?}"
            );
        }
    }
    let without_phase: String = (1..=9).map(|i| format!("{i} 90\n")).collect();
    assert_eq!(good(without_phase.as_bytes()).phase_deg, None);
}

#[test]
fn comments_marks_and_odd_bytes_are_skipped() {
    let mut bytes = b"\xef\xbb\xbf* measured in the shed, \xb0C\n\"Freq\" Hz\tdB\n\n".to_vec();
    bytes.extend(rows("\t", "\r\n").bytes());
    bytes.extend(b"# end \xff\xfe\n");
    assert_eq!(good(&bytes), good(rows(" ", "\n").as_bytes()));
}

#[test]
fn decimal_commas_are_read_only_where_they_are_plain() {
    let points = good(rows(" ", "\n").as_bytes());
    for separator in [";", "\t", "; "] {
        let text = rows(separator, "\n").replace('.', ",");
        assert_eq!(good(text.as_bytes()), points, "{separator:?}");
    }
    let both = rows(";", "\n").replacen('.', ",", 1);
    let problems = bad(&both, TableKind::Response);
    assert_eq!(problems.len(), 1);
    assert!(
        problems[0].starts_with("mid.txt:1:1: the commas of this table"),
        "{problems:?}"
    );

    let blanks = rows(" ", "\n").replace('.', ",");
    let problems = bad(&blanks, TableKind::Response);
    assert_eq!(problems.len(), 8 + 1 - 1);
    assert!(
        problems[0].starts_with("mid.txt:1:6: this comma can be a decimal comma"),
        "{problems:?}"
    );

    // Four columns, because the commas of the numbers part columns too.
    let commas = rows(",", "\n").replace('.', ",");
    assert!(bad(&commas, TableKind::Response)[0].contains("this row has 4 columns"));
}

#[test]
fn every_mistake_names_its_line() {
    use TableKind::{Impedance, Response};
    for (line, new, kind, expected) in [
        (
            3,
            "60 85",
            Response,
            "mid.txt:3:1: this row has 2 columns, the rows before it have 3",
        ),
        (
            3,
            "30 85 1",
            Response,
            "mid.txt:3:1: the frequencies must rise, but 30 Hz comes after 40 Hz",
        ),
        (3, "40 85 1", Response, "mid.txt:3:1: 40 Hz comes twice"),
        (
            3,
            "60 nan 1",
            Response,
            "mid.txt:3:4: 'nan' is not a number to work with\n  help: column 2 is the level in dB SPL; measure",
        ),
        (
            3,
            "60 85 inf",
            Response,
            "mid.txt:3:7: 'inf' is not a number to work with\n  help: column 3 is the phase in degrees; measure",
        ),
        (
            3,
            "60 1e999 3",
            Response,
            "mid.txt:3:4: '1e999' is not a number",
        ),
        (
            3,
            "nan 85 1",
            Response,
            "mid.txt:3:1: 'nan' is not a number to work with\n  help: column 1 is the frequency in Hz; measure",
        ),
        (
            3,
            "60 -7 1",
            Impedance,
            "mid.txt:3:4: an impedance of -7 ohm cannot be: it must be above 0\n  help: column 2 is the magnitude of the impedance in ohm, above 0; measure the row again, or delete it",
        ),
        (
            3,
            "60 0 1",
            Impedance,
            "mid.txt:3:4: an impedance of 0 ohm cannot be",
        ),
        (
            3,
            "60 1e12 1",
            Impedance,
            "mid.txt:3:4: an impedance of 1000000000000 ohm is out of all reason",
        ),
        (
            3,
            "60 5000 1",
            Response,
            "mid.txt:3:4: a level of 5000 dB is out of all reason",
        ),
        (
            3,
            "0 85 1",
            Response,
            "mid.txt:3:1: a frequency of 0 Hz cannot be",
        ),
        (
            1,
            "-20 85 1",
            Response,
            "mid.txt:1:1: a frequency of -20 Hz cannot be",
        ),
        (
            3,
            "60 85 1 2",
            Response,
            "mid.txt:3:1: this row has 4 columns; a table has 2 or 3",
        ),
        (
            3,
            "60",
            Response,
            "mid.txt:3:1: this row has 1 column; a table has 2 or 3",
        ),
        (
            3,
            "60,,1",
            Response,
            "mid.txt:3:3: a value is missing between two separators",
        ),
        (
            3,
            "2 m on the axis",
            Response,
            "mid.txt:3:3: 'm' is not a number\n  help: a comment line that begins",
        ),
        (
            3,
            "2024-05-01 12:00",
            Response,
            "mid.txt:3:1: '2024-05-01' is not a number",
        ),
    ] {
        let problems = bad(&with_line(line, new), kind);
        assert_eq!(problems.len(), 1, "{problems:?}");
        assert!(
            problems[0].starts_with(expected),
            "{expected}\n{}",
            problems[0]
        );
    }
}

#[test]
fn too_few_rows_and_none() {
    let seven: String = rows(" ", "\n")
        .lines()
        .take(7)
        .collect::<Vec<_>>()
        .join("\n");
    assert_eq!(
        bad(&seven, TableKind::Response),
        [
            "mid.txt:1:1: the table has only 7 rows; at least 8 are needed\n  \
          help: columns: frequency in Hz, level in dB, and if measured phase in degrees"
        ]
    );
    assert!(bad("", TableKind::Impedance)[0].contains("no row that begins with a number"));
    assert!(bad("no numbers here\n", TableKind::Impedance)[0].starts_with("mid.txt:1:1: "));
}

#[test]
fn all_mistakes_at_once_but_not_too_many() {
    let text = with_line(2, "10 85 1").replace("60 83.5", "60 x");
    let problems = bad(&text, TableKind::Response);
    assert_eq!(problems.len(), 2, "{problems:?}");
    let many: String = (1..=100).map(|i| format!("{i} x\n")).collect();
    let problems = bad(&many, TableKind::Response);
    assert_eq!(problems.len(), 9);
    assert_eq!(
        problems[8],
        "mid.txt:9:3: and 92 more mistakes from here on"
    );
}

#[test]
fn a_table_upside_down_is_one_mistake() {
    let down: String = (0..50).map(|i| format!("{} 90 0\n", 1000 - i)).collect();
    let problems = bad(&down, TableKind::Response);
    assert_eq!(problems.len(), 1, "{problems:?}");
    let said = "mid.txt:2:1: the frequencies must rise, but 999 Hz comes after 1000 Hz, and so on";
    assert!(problems[0].starts_with(said), "{problems:?}");
}

/// Spreadsheets save "Unicode text" as UTF-16.
#[test]
fn tables_in_utf_16_are_read() {
    let text = rows("\t", "\r\n");
    let expected = good(text.as_bytes());
    let mut little = vec![0xff, 0xfe];
    little.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    let mut big = vec![0xfe, 0xff];
    big.extend(text.encode_utf16().flat_map(u16::to_be_bytes));
    assert_eq!(good(&little), expected);
    assert_eq!(good(&big), expected);
    // Half a character at the end is no reason to panic.
    good(&little[..little.len() - 1]);
}

/// A single slip of a frequency is told once, not for every row that follows.
#[test]
fn one_slip_is_one_mistake() {
    assert_eq!(
        bad(&with_line(3, "6000 83 1"), TableKind::Response).len(),
        1
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Any bytes: no panic, and what is read keeps its promises.
    #[test]
    fn any_bytes_are_safe(bytes in prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..300),
        "([0-9,.;\t e-]{1,12}\n){0,16}".prop_map(String::into_bytes),
        (0usize..200, any::<u8>()).prop_map(|(at, byte)| {
            let mut bytes = rows(";", "\n").into_bytes();
            let at = at % bytes.len();
            bytes[at] = byte;
            bytes
        }),
    ]) {
        for kind in [TableKind::Impedance, TableKind::Response] {
            match Table::parse("t", &bytes, kind) {
                Ok(table) => {
                    prop_assert!(table.f_hz.len() >= LEAST_ROWS);
                    prop_assert_eq!(table.f_hz.len(), table.magnitude.len());
                    prop_assert!(table.f_hz.windows(2).all(|pair| 0.0 < pair[0] && pair[0] < pair[1]));
                    prop_assert!(table.magnitude.iter().all(|value| value.is_finite()));
                }
                Err(problems) => prop_assert!(!problems.list().is_empty()),
            }
        }
    }
}

/// What programs write around a table: a coherence, a row of 0 Hz, quotes, lines of settings.
#[test]
fn what_stands_around_a_table_is_passed_over() {
    let plain = Table::parse("r.txt", rows(" ", "\n").as_bytes(), TableKind::Response).unwrap();
    let read = |text: &str| Table::parse("r.txt", text.as_bytes(), TableKind::Response).unwrap();
    let with =
        |row: &dyn Fn(&str) -> String| -> String { rows(" ", "\n").lines().map(row).collect() };
    assert_eq!(read(&with(&|line| format!("{line} 0.97\n"))), plain);
    let quoted = with(&|line| format!("\"{}\"\n", line.replace(' ', "\";\"")));
    assert_eq!(read(&quoted), plain);
    for header in ["512\n", "48000\n16\n", "8192 48000\n"] {
        assert_eq!(
            read(&format!("{header}{}", rows(" ", "\n"))),
            plain,
            "{header}"
        );
    }
    let zero = read(&format!("0 -12 0\n{}", rows(" ", "\n")));
    assert!(zero.zero_hz_left_out && !plain.zero_hz_left_out);
    assert_eq!(zero.f_hz, plain.f_hz);
    // A first row without its phase is a mistake and no header.
    let short = format!("5 85\n{}", rows(" ", "\n"));
    assert!(bad(&short, TableKind::Response)[0].contains("columns"));
    // More than 1 is no coherence.
    let five = with(&|line| format!("{line} 42\n"));
    assert!(bad(&five, TableKind::Response)[0].contains("this row has 4 columns"));
}

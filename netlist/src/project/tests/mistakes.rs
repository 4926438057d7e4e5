//! Every mistake that a project file can have, with its place and its words.

use std::path::Path;

use super::{PROJECT, as_json, read};
use crate::problem::{FileProblem, Problems};

pub(super) fn problems(name: &str, text: &str) -> Problems {
    match read(name, text) {
        Ok(_) => panic!("was read without a mistake:\n{text}"),
        Err(problems) => problems,
    }
}

/// Line and column of the first occurrence of `at` in `text`.
fn place_of(text: &str, at: &str) -> (usize, usize) {
    let start = text
        .find(at)
        .unwrap_or_else(|| panic!("'{at}' is not in the text"));
    let before = &text[..start];
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    (line, column)
}

/// Replaces `from` by `to` in [`PROJECT`]; the file then has exactly one mistake, which begins at
/// `at`, and whose printed form holds all of `words`. The same in JSON.
pub(super) fn wrong(from: &str, to: &str, at: &str, words: &[&str]) -> FileProblem {
    wrong_in(PROJECT, from, to, at, words)
}

/// The same in another project.
pub(super) fn wrong_in(
    project: &str,
    from: &str,
    to: &str,
    at: &str,
    words: &[&str],
) -> FileProblem {
    assert!(project.contains(from), "'{from}' is not in the project");
    let text = project.replacen(from, to, 1);
    let found = problems("p.toml", &text);
    assert_eq!(found.list().len(), 1, "{found}");
    let problem = &found.list()[0];
    assert_eq!(
        problem.file,
        Path::new("box").join("p.toml").display().to_string()
    );
    let place = problem.place.as_ref().expect("a place");
    assert_eq!((place.line, place.column), place_of(&text, at), "{problem}");
    for word in words {
        assert!(
            problem.to_string().contains(word),
            "'{word}' is not in: {problem}"
        );
    }
    let json = problems("p.json", &as_json(&text));
    assert_eq!(json.list().len(), 1, "{json}");
    assert_eq!(json.list()[0].message, problem.message);
    problem.clone()
}

#[test]
fn message_has_file_line_column_and_the_way_out() {
    let problem = wrong(
        "frequency = \"650 Hz\"",
        "frequency = \"650 mH\"",
        "\"650 mH\"",
        &[],
    );
    assert_eq!(
        problem.to_string(),
        "box/p.toml:33:13: '650 mH' is an inductance\n  help: a frequency is written like '650 Hz'"
    );
    let problem = wrong(
        "output_impedance",
        "output_impedence",
        "output_impedence",
        &[],
    );
    assert_eq!(
        problem.to_string(),
        "box/p.toml:5:1: [amplifier] has no field 'output_impedence'\n  \
         help: did you mean 'output_impedance'?"
    );
}

#[test]
fn unknown_fields_and_tables() {
    wrong(
        "[amplifier]",
        "[amplifer]",
        "amplifer",
        &["no field 'amplifer'", "did you mean 'amplifier'?"],
    );
    wrong(
        "tilt =",
        "lean =",
        "lean",
        &["[aim] has no field 'lean'", "takes from, to, level, tilt"],
    );
    wrong(
        "usable =",
        "usabel =",
        "usabel",
        &["driver 'mid' has no field", "'usable'?"],
    );
    wrong(
        "together = 2",
        "togehter = 2",
        "togehter",
        &["capacitors has no field", "'together'?"],
    );
    wrong(
        "esr = \"20 mohm\", together",
        "wire = \"1 mm\", together",
        "wire",
        &["capacitors has no field 'wire'"],
    );
    wrong(
        "dcr = \"0.31 ohm\"",
        "esr = \"0.31 ohm\"",
        "esr = \"0.31",
        &[
            "part 'L1' has no field 'esr'",
            "takes inductor, between, dcr",
        ],
    );
    wrong("[listener]", "[listner]", "listner", &["'listener'?"]);
    wrong("drive = \"2 V\"", "Drive = \"2 V\"", "Drive", &["'drive'?"]);
}

#[test]
fn missing_fields() {
    wrong(
        "distance = \"3 m\"\n",
        "",
        "[listener]",
        &["[listener] lacks 'distance'", "add distance = \"1.1 m\""],
    );
    wrong(
        ", vas = \"180 L\"",
        "",
        "{ re = \"5.4 ohm\"",
        &["a modelled cone driver lacks 'vas'"],
    );
    // A field of a like name is there in its own right.
    wrong(
        "qms = 6.0, ",
        "",
        "{ re = \"5.4 ohm\"",
        &["a modelled cone driver lacks 'qms'"],
    );
    wrong(
        "cutoff = \"2 kHz\", ",
        "",
        "{ order = 3 }",
        &["horn lacks 'cutoff'"],
    );
    wrong(
        ", n = 0.6",
        "",
        "{ re = 6.2",
        &["compression driver lacks 'n'"],
    );
    wrong(
        "response = \"mid-r.txt\", ",
        "",
        "{ impedance",
        &["measured lacks 'response'"],
    );
    wrong(
        "from = \"450 Hz\", ",
        "",
        "{ to = \"16 kHz\" }",
        &["usable lacks 'from'"],
    );
    wrong(
        "frequency = \"650 Hz\"\n",
        "",
        "[[crossovers]]",
        &["[[crossovers]] lacks 'frequency'"],
    );
    wrong(
        ", upper = \"BW3\"",
        "",
        "{ lower",
        &["alignment lacks 'upper'"],
    );
    wrong(
        "between = [\"m1\", \"gnd\"], dcr",
        "dcr",
        "{ inductor",
        &["part 'L1' lacks 'between'"],
    );
    wrong(
        ", factor = 0.02",
        "",
        "{ coupling",
        &["part 'K1' lacks 'factor'"],
    );
    wrong(
        "taps = { m3 = 0.5, m4 = 0.35 }, ",
        "",
        "{ autoformer",
        &["part 'T1' lacks 'taps'"],
    );
}

#[test]
fn wrong_kinds_of_value() {
    wrong(
        "rated_power = \"20 W\"",
        "rated_power = true",
        "true",
        &["rated_power is true or false, but a power is needed"],
    );
    wrong(
        "qms = 6.0",
        "qms = \"6.0\"",
        "\"6.0\"",
        &["qms is text, but a number is needed", "without quotes"],
    );
    wrong(
        "title = \"Test box\"",
        "title = 5",
        "5",
        &["title is a number, but text is needed"],
    );
    wrong(
        "fixed = true",
        "fixed = \"yes\"",
        "\"yes\"",
        &["fixed is text, but true or false is needed"],
    );
    wrong(
        "between = [\"m1\", \"m2\"]",
        "between = \"m1\"",
        "\"m1\", power",
        &["between is text, but a list is needed"],
    );
    wrong(
        "between = [\"m1\", \"m2\"]",
        "between = [\"m1\", \"m2\", \"m3\"]",
        "[\"m1\", \"m2\", \"m3\"]",
        &["needs two names, but 3 are given"],
    );
    wrong(
        "taps = { m3 = 0.5, m4 = 0.35 }",
        "taps = [\"m3\"]",
        "[\"m3\"]",
        &["taps is a list, but a table is needed"],
    );
    wrong(
        "order = 3",
        "order = 2.5",
        "2.5 }",
        &["order must be a whole number from 1 to 4"],
    );
    wrong(
        "order = 3",
        "order = 5",
        "5 }, res",
        &["order must be a whole number from 1 to 4"],
    );
    wrong(
        "together = 2",
        "together = 0",
        "0 }\nind",
        &["together must be a whole number from 1 to 4"],
    );
    wrong(
        "catalogue = \"stock.csv\"",
        "catalogue = 5",
        "5\n\n[parts]",
        &["a file name or a list is needed"],
    );
    wrong(
        "alignment = \"LR4\"",
        "alignment = 4",
        "4\n\n[[",
        &["alignment is a number", "\"auto\""],
    );
}

#[test]
fn values_out_of_range() {
    wrong(
        "from = \"60 Hz\"",
        "from = \"0 Hz\"",
        "\"0 Hz\"",
        &["from must be above 0"],
    );
    wrong(
        "from = \"60 Hz\"",
        "from = \"20 kHz\"",
        "\"17 kHz\"",
        &["the band from 20 kHz to 17 kHz is empty"],
    );
    wrong(
        "from = \"450 Hz\"",
        "from = \"45 kHz\"",
        "\"16 kHz\"",
        &["'from' must be below 'to'"],
    );
    wrong("qes = 0.36", "qes = 0", "0, vas", &["qes must be above 0"]);
    wrong(
        "sd = \"855 cm2\"",
        "sd = \"-855 cm2\"",
        "\"-855 cm2\"",
        &["sd must be above 0"],
    );
    wrong("n = 0.6", "n = 1.6", "1.6", &["between 0 and 1"]);
    wrong(
        "coil_rise = \"60 K\"",
        "coil_rise = \"6000 K\"",
        "\"6000 K\"",
        &["coil_rise is 6000 K, outside of -60 K to 1000 K"],
    );
    wrong(
        "coil_rise = \"60 K\"",
        "coil_rise = \"-260 K\"",
        "\"-260 K\"",
        &[
            "coil_rise is -260 K",
            "copper would have no resistance left",
        ],
    );
    wrong(
        "\"10 ohm\"",
        "\"1e300 ohm\"",
        "\"1e300 ohm\"",
        &[
            "resistor is 1e300 Ω, out of all reason",
            "from 1e-9 to 1e9 Ω",
            "the exponent",
        ],
    );
    wrong(
        "dcr = \"0.31 ohm\"",
        "dcr = \"1e20 ohm\"",
        "\"1e20 ohm\"",
        &["dcr is 1e20 Ω, out of all reason"],
    );
    wrong(
        "output_impedance = \"1.8 ohm\"",
        "output_impedance = \"1e308 ohm\"",
        "\"1e308 ohm\"",
        &["output_impedance is 1e308 Ω, out of all reason"],
    );
    wrong(
        "rated_power = \"20 W\"",
        "rated_power = \"1e-300 W\"",
        "\"1e-300 W\"",
        &["rated_power is 1e-300 W, out of all reason"],
    );
    wrong(
        "qes = 0.36",
        "qes = 1e308",
        "1e308, vas",
        &["qes is 1e308, out of all reason"],
    );
    wrong(
        "tolerance = \"5 %\", esr",
        "tolerance = 5, esr",
        "5, esr",
        &["a tolerance of 500 %", "\"5 %\""],
    );
    wrong(
        "from = \"0.1 uF\"",
        "from = \"1 mF\"",
        "\"220 uF\"",
        &["the range of capacitors is empty"],
    );
    wrong(
        "\"10 ohm\"",
        "\"0 ohm\"",
        "\"0 ohm\"",
        &["resistor must be above 0"],
    );
    wrong(
        "dcr = \"0.31 ohm\"",
        "dcr = \"-1 ohm\"",
        "\"-1 ohm\"",
        &["dcr must not be negative"],
    );
    wrong(
        "factor = 0.02",
        "factor = 1.0",
        "1.0 }\nMID",
        &["coupling factor of 'K1' is 1"],
    );
    wrong(
        "coupling = 0.999",
        "coupling = 1.5",
        "1.5, dcr",
        &["coupling factor of 'T1' is 1.5"],
    );
    wrong(
        "m4 = 0.35",
        "m4 = 1.35",
        "{ m3 = 0.5",
        &["tap 'm4' of 'T1' has the ratio 1.35"],
    );
    wrong(
        "\"2 uF\"]",
        "\"20 uF\"]",
        "{ parallel",
        &["together are 42 µF, but its value is 24 µF"],
    );
    wrong(
        "series = \"E12\", from = \"50",
        "series = \"E13\", from = \"50",
        "\"E13\"",
        &["E96"],
    );
    wrong(
        "wire = \"1.25 mm\"",
        "wire = \"1.25 mm\", dcr_at_1_mh = \"0.3 ohm\"",
        "\"0.3 ohm\"",
        &["given twice"],
    );
}

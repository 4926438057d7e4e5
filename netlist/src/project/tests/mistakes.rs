//! Every mistake that a project file can have, with its place and its words.

use std::path::Path;

use super::super::*;
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

#[test]
fn drivers_of_no_kind_or_two() {
    wrong(
        "modelled = { re = 6.2",
        "modelled = { fs = \"1 kHz\", re = 6.2",
        "{ fs",
        &["'fs' is of a cone driver, 'level' of a compression driver"],
    );
    wrong(
        "k = 0.02, n = 0.6",
        "k = 0.02, n = 0.6, l1 = 0",
        "{ re = 6.2",
        &["given twice, by 'l1' and by 'k'"],
    );
    wrong(
        "measured = {",
        "modelled = { re = 5 }\nmeasured = {",
        "{ re = 5 }",
        &["is both measured and modelled"],
    );
    wrong(
        "[listener]",
        "[drivers.sub]\n[listener]",
        "[drivers.sub]",
        &["neither measured nor modelled"],
    );
    wrong(
        "[listener]",
        "[drivers.sub]\nmodelled = { re = 5 }\n[listener]",
        "{ re = 5 }",
        &["neither what cone driver"],
    );
    let text = "title = \"x\"\n";
    let none = problems("p.toml", text);
    assert!(
        none.to_string()
            .contains("the project file lacks 'drivers'"),
        "{none}"
    );
    let none = problems("p.toml", "[drivers]\n");
    assert!(
        none.to_string().contains("p.toml:1:1: there is no driver"),
        "{none}"
    );
}

#[test]
fn crossovers() {
    wrong(
        "between = [\"low\", \"mid\"]",
        "between = [\"low\", \"mdi\"]",
        "\"mdi\"",
        &["there is no driver 'mdi'", "did you mean 'mid'?"],
    );
    wrong(
        "between = [\"low\", \"mid\"]",
        "between = [\"mid\", \"mid\"]",
        "\"mid\"]",
        &["a crossover of 'mid' with itself"],
    );
    wrong(
        "\"650 Hz\"",
        "\"6500 Hz\"",
        "[[crossovers]]\nbetween = [\"mid\"",
        &["is not above the one before it"],
    );
    wrong(
        "between = [\"mid\", \"high\"]",
        "between = [\"low\", \"high\"]",
        "[[crossovers]]\nbetween = [\"low\", \"high\"]",
        &["make no chain", "[\"mid\", \"high\"]"],
    );
    wrong(
        "\"LR4\"\n",
        "\"LR3\"\n",
        "\"LR3\"",
        &["'LR3' is not an alignment; there are LR2, LR4, LR6, LR8, BW1 to BW8"],
    );
    for name in [
        "LR0", "LR10", "BW9", "BE0", "XX2", "LR", "4", "BW2.0", "LR4 ",
    ] {
        assert_eq!(name.parse::<Alignment>().is_ok(), name == "LR4 ", "{name}");
    }
    for family in [Family::LinkwitzRiley, Family::Butterworth, Family::Bessel] {
        for order in family.orders() {
            let alignment = Alignment { family, order };
            assert_eq!(alignment.to_string().parse(), Ok(alignment));
        }
    }
}

/// A brief must say where each driver hands over; a design need not.
#[test]
fn a_brief_needs_its_crossovers() {
    let brief = &PROJECT[..PROJECT.find("[parts]").expect("parts")];
    let second = brief.rfind("[[crossovers]]").expect("crossovers");
    let end = brief.find("[stock]").expect("stock");
    let text = format!("{}{}", &brief[..second], &brief[end..]);
    let found = problems("p.toml", &text);
    assert_eq!(found.list().len(), 1, "{found}");
    assert!(
        found
            .to_string()
            .contains("driver 'high' is in no crossover"),
        "{found}"
    );
    let parts = &PROJECT[PROJECT.find("[parts]").expect("parts")..];
    assert!(read("p.toml", &format!("{text}{parts}")).is_ok());
}

#[test]
fn parts() {
    wrong(
        "R1 = { resistor",
        "R1 = { resistro",
        "{ resistro",
        &[
            "part 'R1' does not say what it is",
            "did you mean 'resistor'?",
        ],
    );
    wrong(
        "R1 = { resistor",
        "R1 = { capacitor = \"1 uF\", resistor",
        "{ capacitor = \"1 uF\"",
        &["part 'R1' is both resistor and capacitor"],
    );
    wrong(
        "driver = \"mid\"",
        "driver = \"mad\"",
        "\"mad\"",
        &[
            "driver 'mad', which the project does not have",
            "low, mid, high",
        ],
    );
    wrong(
        "driver = \"high\"",
        "driver = \"low\"",
        "\"low\", between = [\"in\", \"gnd\"]",
        &["used twice, by 'LOW' and by 'HIGH'"],
    );
    wrong(
        "\"L1\", \"L2\"]",
        "\"L1\", \"C1\"]",
        "[\"L1\", \"C1\"]",
        &["couples 'C1', which is a capacitor"],
    );
    wrong(
        "{ inductor = \"2 mH\", between = [\"in\", \"l1\"] }",
        "{ inductor = \"2 mH\", between = [\"in\", \" l1\"] }",
        "\" l1\"",
        &["begins or ends with a blank"],
    );
    wrong(
        "made_of = { parallel",
        "made_of = { paralel",
        "paralel",
        &["made_of has no field 'paralel'"],
    );
}

/// A node written in two ways: both places are told, each with the other as the way out.
#[test]
fn a_node_in_two_spellings() {
    let text = PROJECT.replace("between = [\"in\", \"l1\"]", "between = [\"in\", \"l9\"]");
    let found = problems("p.toml", &text).to_string();
    assert_eq!(
        found,
        "box/p.toml:52:37: node 'l9' is reached by one part only, 'L2'\n  \
         help: did you mean node 'l1'? otherwise join a second part to it or leave the part out\n\
         box/p.toml:55:35: node 'l1' is reached by one part only, 'LOW'\n  \
         help: did you mean node 'l9'? otherwise join a second part to it or leave the part out"
    );
}

#[test]
fn a_network_needs_parts_and_drivers() {
    let brief = &PROJECT[..PROJECT.find("[parts]").expect("parts")];
    let none = problems("p.toml", &format!("{brief}[parts]\n"));
    assert_eq!(none.list().len(), 1);
    assert!(
        none.to_string().contains("the network has no parts"),
        "{none}"
    );
    let silent = format!("{brief}[parts]\nR1 = {{ resistor = 8, between = [\"in\", \"gnd\"] }}\n");
    let silent = problems("p.toml", &silent);
    assert!(
        silent.to_string().contains("the network feeds no driver"),
        "{silent}"
    );
    let list = problems("p.toml", &format!("parts = [1]\n{brief}"));
    assert!(
        list.to_string().contains("p.toml:1:9: parts is a list"),
        "{list}"
    );
}

/// A number whose unit was forgotten is not taken for farad, metre or cubic metre.
#[test]
fn forgotten_units() {
    wrong(
        "\"24 uF\"",
        "24",
        "24, between",
        &["capacitor without a unit would be 24 F", "like \"4.7 uF\""],
    );
    wrong(
        "\"24 uF\"",
        "\"24\"",
        "\"24\"",
        &["capacitor without a unit would be 24 F"],
    );
    wrong(
        "\"2 mH\"",
        "2",
        "2, between",
        &["inductor without a unit would be 2 H"],
    );
    wrong(
        "\"180 L\"",
        "180",
        "180, sd",
        &["vas without a unit would be 180 m³"],
    );
    wrong(
        "\"855 cm2\"",
        "855",
        "855, l1",
        &["sd without a unit would be 855 m²"],
    );
    wrong(
        "\"0.09 m\"",
        "90",
        "90 }",
        &["back without a unit would be 90 m"],
    );
    wrong(
        "\"1.25 mm\"",
        "1.25",
        "1.25 }",
        &["a wire of 1.25 m is not a wire"],
    );
    assert!(
        read(
            "p.toml",
            &PROJECT
                .replace("\"24 uF\"", "24e-6")
                .replace("\"3 m\"", "3")
        )
        .is_ok()
    );
}

#[test]
fn crossovers_in_a_ring() {
    let third = "[[crossovers]]\nbetween = [\"high\", \"low\"]\nfrequency = \"9 kHz\"\n\n[stock]";
    wrong(
        "[stock]",
        third,
        "[[crossovers]]\nbetween = [\"high\"",
        &["driver 'low' is already in a crossover"],
    );
}

#[test]
fn autoformers_of_the_stock() {
    let with = |line: &str| format!("[stock]\nautoformers = {{ {line} }}");
    let read = read(
        "p.toml",
        &PROJECT.replacen(
            "[stock]",
            &with("inductance = \"40 mH\", to = \"12 dB\""),
            1,
        ),
    );
    let range = read.unwrap().project.stock.autoformers.expect("was stated");
    assert_eq!(range.taps(), 12);
    // 6.02 dB are half the turns.
    assert!((range.ratio(6) - 0.501_187).abs() < 1e-6);
    let wrong = |line: &str, at: &str, words: &[&str]| wrong("[stock]", &with(line), at, words);
    wrong("dcr = \"1 ohm\"", "{ dcr", &["inductance", "40 mH"]);
    wrong(
        "inductance = \"40 mH\", coupling = 1.0",
        "1.0 }",
        &["coupling", "0.999"],
    );
    wrong(
        "inductance = \"40 mH\", to = \"80 dB\"",
        "\"80 dB\"",
        &["80", "20 dB"],
    );
    wrong(
        "inductance = \"40 mH\", step = \"30 dB\"",
        "{ inductance",
        &["30", "20 dB"],
    );
}

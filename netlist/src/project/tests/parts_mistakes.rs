//! Mistakes in what a project is made of: drivers, crossovers, parts, stock.

use super::super::*;
use super::mistakes::{problems, wrong};
use super::{PROJECT, read};

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

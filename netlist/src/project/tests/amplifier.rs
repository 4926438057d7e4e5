//! An output impedance over frequency.

use super::super::*;
use super::mistakes::wrong;
use super::{PROJECT, as_json, read};
use crate::quantity::{Henries, Ohms};

const RESISTANCE: &str = "output_impedance = \"1.8 ohm\"";

fn with(text: &str) -> Amplifier {
    let text = PROJECT.replacen(RESISTANCE, text, 1);
    let toml = read("p.toml", &text).unwrap().project.amplifier;
    let json = read("p.json", &as_json(&text)).unwrap().project.amplifier;
    assert_eq!(toml, json);
    toml
}

#[test]
fn a_transformer_or_a_table() {
    let found =
        with("output_impedance = { r = \"1.8 ohm\", l = \"0.2 mH\", parallel = \"15 mH\" }");
    assert_eq!(
        found.output_impedance,
        OutputImpedance::Transformer {
            r: Ohms(1.8),
            l: Henries(0.2e-3),
            parallel: Some(Henries(15e-3)),
        }
    );
    assert!(found.output_impedance.to_string().contains("1.8 Ω"));
    // What does not change with frequency is a resistance.
    let plain = with("output_impedance = { r = \"0 ohm\", parallel = \"15 mH\" }");
    assert!(plain.output_impedance.is_none());
    let measured = with("output_impedance = { impedance = \"mid-z.txt\" }");
    let OutputImpedance::Measured(table) = &measured.output_impedance else {
        panic!("{measured:?}");
    };
    assert!(table.file.ends_with("mid-z.txt") && !measured.output_impedance.is_none());
}

#[test]
fn mistakes_have_their_place() {
    for (to, at, words) in [
        (
            "output_impedance = { l = \"0.2 mH\" }",
            "{ l =",
            "output_impedance lacks 'r'",
        ),
        (
            "output_impedance = { r = \"1 ohm\", l = \"-0.2 mH\" }",
            "\"-0.2 mH\"",
            "l must not be negative",
        ),
        (
            "output_impedance = { r = \"1 ohm\", paralel = \"1 mH\" }",
            "paralel",
            "did you mean 'parallel'?",
        ),
        (
            "output_impedance = { impedance = \"mid-z.txt\", r = \"1 ohm\" }",
            "{ impedance",
            "both measured and stated by 'r'",
        ),
        (
            "output_impedance = { impedance = \"nowhere.txt\" }",
            "\"nowhere.txt\"",
            "cannot read",
        ),
    ] {
        wrong(RESISTANCE, to, at, &[words]);
    }
}

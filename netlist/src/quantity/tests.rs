//! Reading and printing of quantities.

use proptest::prelude::*;

use super::*;

fn si<Q: Quantity>(text: &str) -> f64 {
    match Q::parse(text) {
        Ok(value) => value.si(),
        Err(error) => panic!("'{text}': {error}"),
    }
}

fn error<Q: Quantity>(text: &str) -> String {
    match Q::parse(text) {
        Ok(value) => panic!("'{text}' was read as {}", value.si()),
        Err(error) => error.to_string(),
    }
}

/// Gives the message for a text.
type Reader = fn(&str) -> String;

/// Same number bit for bit.
fn same(value: f64, expected: f64, text: &str) {
    assert_eq!(
        value.to_bits(),
        expected.to_bits(),
        "'{text}' is {value}, not {expected}"
    );
}

#[test]
fn values_with_units() {
    for (text, expected) in [
        ("8", 8.0),
        ("8ohm", 8.0),
        ("8 ohms", 8.0),
        ("8 Ohm", 8.0),
        ("8 \u{3a9}", 8.0),
        ("8 \u{2126}", 8.0),
        ("0.33 R", 0.33),
        ("20 mohm", 0.02),
        ("20 m\u{3a9}", 0.02),
        ("1.5 kohm", 1500.0),
        ("1.5 k \u{3a9}", 1500.0),
        ("1 Mohm", 1e6),
        ("+8.2 ohm", 8.2),
        ("  8\u{a0}ohm ", 8.0),
        (".5 ohm", 0.5),
        ("5. ohm", 5.0),
        ("1e3 ohm", 1000.0),
        ("2.5E-1", 0.25),
        ("4.7k", 4700.0),
        ("\u{2212}3 ohm", -3.0),
    ] {
        same(si::<Ohms>(text), expected, text);
    }
    for (text, expected) in [
        ("4.7 uF", 4.7e-6),
        ("4.7 mfd", 4.7e-6),
        ("4.7MFD", 4.7e-6),
        ("0.33 ufd", 0.33e-6),
        ("470 mmfd", 470e-12),
        ("4.7 \u{b5}F", 4.7e-6),
        ("4.7 \u{3bc}F", 4.7e-6),
        ("4.7uf", 4.7e-6),
        ("220 nF", 220e-9),
        ("100n", 100e-9),
        ("33 pF", 33e-12),
        ("2.2 mF", 2.2e-3),
        ("4.7e-6", 4.7e-6),
        ("4.7e-6 F", 4.7e-6),
    ] {
        same(si::<Farads>(text), expected, text);
    }
    same(si::<Henries>("0.33 mH"), 0.33e-3, "0.33 mH");
    same(si::<Henries>("50 uH"), 50e-6, "50 uH");
    same(si::<Hertz>("6.5 kHz"), 6500.0, "6.5 kHz");
    same(si::<Hertz>("6.5k"), 6500.0, "6.5k");
    same(si::<Hertz>("450 hz"), 450.0, "450 hz");
    same(si::<Volts>("2.83 V"), 2.83, "2.83 V");
    same(si::<Amperes>("250 mA"), 0.25, "250 mA");
    same(si::<Watts>("20 W"), 20.0, "20 W");
    same(si::<Decibels>("-0.5 dB"), -0.5, "-0.5 dB");
    same(si::<Kelvins>("100 K"), 100.0, "100 K");
    same(si::<Fraction>("5 %"), 0.05, "5 %");
    same(si::<Kilograms>("1.2 g"), 1.2e-3, "1.2 g");
    same(si::<Kilograms>("850 mg"), 850e-6, "850 mg");
    same(si::<TeslaMetres>("9.5 T m"), 9.5, "9.5 T m");
    same(si::<TeslaMetres>("9.5 N/A"), 9.5, "9.5 N/A");
    same(si::<Degrees>("15 deg"), 15.0, "15 deg");
    same(si::<Degrees>("-7.5°"), -7.5, "-7.5°");
    same(si::<Fraction>("0.05"), 0.05, "0.05");
}

/// "m" is the metre for a length and milli elsewhere; squares and cubes carry their own powers.
#[test]
fn lengths_areas_volumes() {
    for (text, expected) in [
        ("1 m", 1.0),
        ("1m", 1.0),
        ("1.25 mm", 1.25e-3),
        ("9 cm", 0.09),
        ("-0.02 m", -0.02),
        ("0", 0.0),
    ] {
        same(si::<Metres>(text), expected, text);
    }
    for (text, expected) in [
        ("855 cm2", 0.0855),
        ("855 cm\u{b2}", 0.0855),
        ("855cm2", 0.0855),
        ("0.0855 m2", 0.0855),
        ("0.0855", 0.0855),
        ("85500 mm2", 0.0855),
    ] {
        same(si::<SquareMetres>(text), expected, text);
    }
    for (text, expected) in [
        ("140 L", 0.14),
        ("140 l", 0.14),
        ("140L", 0.14),
        ("140 litres", 0.14),
        ("140 dm3", 0.14),
        ("140dm\u{b3}", 0.14),
        ("0.14 m3", 0.14),
        ("140000 cm3", 0.14),
    ] {
        same(si::<CubicMetres>(text), expected, text);
    }
}

/// Letter-digit codes after IEC 60062: the letter is decimal sign and power of ten at once.
#[test]
fn letter_digit_codes() {
    for (text, expected) in [
        ("R47", 0.47),
        ("0R47", 0.47),
        ("4R7", 4.7),
        ("47R", 47.0),
        ("470R", 470.0),
        ("4K7", 4700.0),
        ("4k7", 4700.0),
        ("1k5", 1500.0),
        ("1M", 1e6),
        ("1M0", 1e6),
        ("4R7 ohm", 4.7),
        ("33m", 0.033),
        ("5m6", 0.0056),
    ] {
        same(si::<Ohms>(text), expected, text);
    }
    for (text, expected) in [
        ("4u7", 4.7e-6),
        ("4\u{b5}7", 4.7e-6),
        ("4u7F", 4.7e-6),
        ("n47", 0.47e-9),
        ("6n8", 6.8e-9),
        ("1m5", 1.5e-3),
        ("p68", 0.68e-12),
    ] {
        same(si::<Farads>(text), expected, text);
    }
    same(si::<Henries>("2m2"), 2.2e-3, "2m2");
    same(si::<Hertz>("6k5"), 6500.0, "6k5");
}

#[test]
fn wrong_units_name_both() {
    let cases: [(&str, Reader, &str); 22] = [
        (
            "4.7 mH",
            error::<Farads>,
            "'4.7 mH' is an inductance; a capacitance is written like '4.7 uF'",
        ),
        (
            "4.7 uF",
            error::<Henries>,
            "'4.7 uF' is a capacitance; an inductance is written like '0.33 mH'",
        ),
        ("650 Hz", error::<Ohms>, "'650 Hz' is a frequency"),
        (
            "8 ohm",
            error::<Hertz>,
            "'8 ohm' is a resistance; a frequency is written like '650 Hz'",
        ),
        ("4R7", error::<Farads>, "'4R7' is a resistance"),
        ("1k5 Hz", error::<Ohms>, "'1k5 Hz' is a frequency"),
        ("5 xF", error::<Farads>, "'5 xF' has an unknown unit 'xF'"),
        ("10 MF", error::<Farads>, "'m' is milli and 'u' is micro"),
        ("4.7 MH", error::<Henries>, "'m' is milli and 'u' is micro"),
        ("1k", error::<Farads>, "'m' is milli and 'u' is micro"),
        ("4k7", error::<Farads>, "'m' is milli and 'u' is micro"),
        ("4,7 uF", error::<Farads>, "write a decimal point"),
        ("about 5", error::<Ohms>, "does not begin with a number"),
        ("nan", error::<Ohms>, "does not begin with a number"),
        ("inf", error::<Ohms>, "does not begin with a number"),
        ("-", error::<Ohms>, "does not begin with a number"),
        ("", error::<Ohms>, "the text is empty"),
        ("1e999", error::<Ohms>, "too large or too small"),
        ("1e-999", error::<Ohms>, "too large or too small"),
        ("1e99999999999 ohm", error::<Ohms>, "too large or too small"),
        (
            "5 L",
            error::<SquareMetres>,
            "'5 L' is a volume; an area is written like '855 cm2'",
        ),
        ("1m5", error::<Metres>, "'1m5' has an unknown unit 'm5'"),
    ];
    for (text, error, expected) in cases {
        let message = error(text);
        assert!(message.contains(expected), "'{text}': {message}");
    }
    assert!(error::<Kelvins>("5 k").contains("unknown unit 'k'"));
    assert!(error::<Metres>("5 M").contains("unknown unit 'M'"));
    assert!(error::<Fraction>("5 dB").contains("is a level"));
    assert!(error::<Ohms>("1.2.3").contains("unknown unit '.3'"));
}

#[test]
fn printing_for_people() {
    for (text, expected) in [
        (Ohms(8.0).to_string(), "8 Ω"),
        (Ohms(0.31).to_string(), "0.31 Ω"),
        (Ohms(0.91).to_string(), "0.91 Ω"),
        (Ohms(0.1).to_string(), "0.1 Ω"),
        (Ohms(0.099_996).to_string(), "0.1 Ω"),
        (Ohms(0.02).to_string(), "20 mΩ"),
        (Ohms(1500.0).to_string(), "1.5 kΩ"),
        (Ohms(999.96).to_string(), "1 kΩ"),
        (Ohms(0.0).to_string(), "0 Ω"),
        (Ohms(-0.0).to_string(), "0 Ω"),
        (Ohms(1e-6).to_string(), "0.001 mΩ"),
        (Farads(4.7e-6).to_string(), "4.7 µF"),
        (Farads(23.456_78e-6).to_string(), "23.46 µF"),
        (Farads(1.0).to_string(), "1 F"),
        (Henries(0.33e-3).to_string(), "330 µH"),
        (Hertz(650.0).to_string(), "650 Hz"),
        (Hertz(17e3).to_string(), "17 kHz"),
        (Hertz(0.5).to_string(), "0.5 Hz"),
        (Metres(1.25e-3).to_string(), "1.25 mm"),
        (Metres(-0.09).to_string(), "-90 mm"),
        (Metres(1.1).to_string(), "1.1 m"),
        (SquareMetres(0.0855).to_string(), "855 cm²"),
        (CubicMetres(0.14).to_string(), "140 L"),
        (Fraction(0.05).to_string(), "5 %"),
        (Decibels(-12.345_6).to_string(), "-12.35 dB"),
        (format!("{:.2}", Ohms(8.246)), "8.2 Ω"),
        (format!("{:.0}", Ohms(8.2)), "8 Ω"),
        (
            format!("{:>8}|{:<8}|", Ohms(8.0), Watts(20.0)),
            "     8 Ω|20 W    |",
        ),
        (Watts(f64::INFINITY).to_string(), "inf W"),
    ] {
        assert_eq!(text, expected);
    }
}

#[test]
fn printing_for_files() {
    for (text, expected) in [
        (Farads(24e-6).to_file_string(), "24 uF"),
        (Ohms(0.31).to_file_string(), "0.31 ohm"),
        (Ohms(0.05).to_file_string(), "50 mohm"),
        (Henries(1.5e-3).to_file_string(), "1.5 mH"),
        (Ohms(0.0).to_file_string(), "0 ohm"),
        (Farads(1e-15).to_file_string(), "0.001 pF"),
        (Farads(4.7e3).to_file_string(), "4700 F"),
        (Fraction(0.05).to_file_string(), "5 %"),
        (SquareMetres(0.0855).to_file_string(), "855 cm2"),
        (Ohms(1e300).to_file_string(), "1e291 Gohm"),
    ] {
        assert_eq!(text, expected);
    }
}

/// Any finite number, whatever its bits.
fn finite() -> impl Strategy<Value = f64> {
    let any = any::<u64>().prop_map(f64::from_bits);
    prop_oneof![
        any.prop_filter("finite", |value| value.is_finite()),
        -1e6..1e6,
        1e-12..1e-2
    ]
}

fn exact<Q: Quantity>(value: f64) -> Result<(), TestCaseError> {
    let text = Q::from_si(value).to_file_string();
    let back = Q::parse(&text).map_err(|error| TestCaseError::fail(error.to_string()))?;
    prop_assert_eq!(back.si().to_bits(), value.to_bits(), "{}", text);
    Ok(())
}

fn roughly<Q: Quantity + fmt::Display>(value: f64) -> Result<(), TestCaseError> {
    let text = Q::from_si(value).to_string();
    let back = Q::parse(&text).map_err(|error| TestCaseError::fail(error.to_string()))?;
    prop_assert!(
        (back.si() - value).abs() <= 5.1e-4 * value.abs(),
        "{}",
        text
    );
    Ok(())
}

proptest! {
    /// What is written to a file reads back bit for bit, in every unit.
    #[test]
    fn files_are_exact(value in finite()) {
        exact::<Ohms>(value)?;
        exact::<Henries>(value)?;
        exact::<Farads>(value)?;
        exact::<Hertz>(value)?;
        exact::<Volts>(value)?;
        exact::<Amperes>(value)?;
        exact::<Watts>(value)?;
        exact::<Metres>(value)?;
        exact::<SquareMetres>(value)?;
        exact::<CubicMetres>(value)?;
        exact::<Decibels>(value)?;
        exact::<Kelvins>(value)?;
        exact::<Fraction>(value)?;
        exact::<Kilograms>(value)?;
        exact::<TeslaMetres>(value)?;
        exact::<Degrees>(value)?;
    }

    /// What is printed for people reads back to four figures.
    #[test]
    fn people_see_four_figures(value in prop_oneof![1e-9..1e9, -1e9..-1e-9]) {
        roughly::<Ohms>(value)?;
        roughly::<Henries>(value)?;
        roughly::<Farads>(value)?;
        roughly::<Hertz>(value)?;
        roughly::<Metres>(value)?;
        roughly::<SquareMetres>(value)?;
        roughly::<CubicMetres>(value)?;
        roughly::<Fraction>(value)?;
    }

    /// No text makes it panic, and what is read is finite.
    #[test]
    fn any_text_is_safe(text in prop_oneof![
        any::<String>(),
        "[-+]?[0-9]{0,3}[.,eE]?[0-9]{0,3} ?[RpnuµmkKMGL]?[0-9]{0,2}[a-zA-ZΩ%²³]{0,3}",
    ]) {
        for value in [
            Ohms::parse(&text).map(Quantity::si),
            Henries::parse(&text).map(Quantity::si),
            Farads::parse(&text).map(Quantity::si),
            Hertz::parse(&text).map(Quantity::si),
            Metres::parse(&text).map(Quantity::si),
            SquareMetres::parse(&text).map(Quantity::si),
            CubicMetres::parse(&text).map(Quantity::si),
            Fraction::parse(&text).map(Quantity::si),
        ] {
            match value {
                Ok(value) => prop_assert!(value.is_finite()),
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }
}

#[test]
fn every_dimension_finds_its_own_units() {
    for (i, dimension) in Dimension::ALL.into_iter().enumerate() {
        assert_eq!(dimension as usize, i, "{dimension:?}");
        let example = dimension.example();
        assert!(parse::parse(example, dimension).is_ok(), "{dimension:?}");
        let (people, file, _) = dimension.spec().printed;
        for printed in [people, file, dimension.symbol()] {
            let again = parse::parse(&format!("2 {printed}"), dimension);
            assert!(again.is_ok(), "{dimension:?}: {printed}");
        }
    }
    assert_eq!(Dimension::Inductance.what(), "inductance");
    assert_eq!(Dimension::TemperatureRise.what(), "temperature rise");
}

//! Horns of stated shape, and where drivers send their sound.

use super::super::*;
use super::mistakes::wrong_in;
use super::{PROJECT, as_json, good, read};
use crate::quantity::{CubicMetres, Degrees, Kilograms, SquareMetres, TeslaMetres};

const SHEET: &str = "horn = { cutoff = \"2 kHz\", order = 3 }";
const HIGH: &str = "modelled = { re = 6.2, mms = \"0.9 g\", fs = \"600 Hz\", qms = 4, bl = \"8 T m\", sd = \"16 cm2\", \
    l1 = \"0.05 mH\", rear_chamber = \"20 cm3\", front_chamber = \"0.6 cm3\", horn = { throat = \"25 mm\", \
    mouth = { width = \"300 mm\", height = \"150 mm\" }, length = \"180 mm\", flare = \"hyperbolic\", t = 0.6 } }\n\
    coverage = { horizontal = \"90 deg\", vertical = \"40°\" }";
const MID: &str =
    "measured = { impedance = \"mid-z.txt\", response = \"mid-r.txt\", drive = \"2 V\" }";
const MID_AROUND: &str = "measured = { impedance = \"mid-z.txt\", response = \"mid-r.txt\", drive = \"2 V\", off_axis = [\
    { angle = \"15 deg\", plane = \"horizontal\", response = \"mid-r.txt\" }, \
    { angle = -15, plane = \"vertical\", response = \"mid-r.txt\" }] }\nsize = \"200 mm\"";

/// The project with a horn of stated shape and a mid measured off its axis.
fn project() -> String {
    let start = PROJECT.find("modelled = { re = 6.2").unwrap();
    let end = start + PROJECT[start..].find('\n').unwrap();
    assert!(PROJECT[start..end].contains(SHEET));
    let text = format!("{}{HIGH}{}", &PROJECT[..start], &PROJECT[end..]);
    text.replacen(MID, MID_AROUND, 1)
}

fn high(project: &Project) -> &HornDriver {
    match &project.drivers["high"].source {
        Source::Horn(driver) => driver,
        other => panic!("{other:?}"),
    }
}

#[test]
fn all_fields_are_read_in_both_forms() {
    let json = read("p.json", &as_json(&project())).unwrap_or_else(|problems| panic!("{problems}"));
    for project in [good(&project()), json.project] {
        let driver = high(&project);
        assert_eq!(driver.mms, Kilograms(0.9e-3));
        assert_eq!(driver.bl, TeslaMetres(8.0));
        assert_eq!(driver.sd, SquareMetres(16e-4));
        assert_eq!(driver.rear_chamber, Some(CubicMetres(20e-6)));
        assert_eq!(driver.front_chamber, Some(CubicMetres(0.6e-6)));
        assert_eq!(driver.horn.flare, Flare::Hyperbolic { t: 0.6 });
        assert_eq!(driver.horn.length, Metres(0.18));
        let mouth = Opening::Rectangle {
            width: Metres(0.3),
            height: Metres(0.15),
        };
        assert_eq!(driver.horn.mouth, mouth);
        let coverage = Coverage {
            horizontal: Degrees(90.0),
            vertical: Degrees(40.0),
        };
        assert_eq!(project.drivers["high"].coverage, Some(coverage));
        assert_eq!(project.drivers["high"].radiates_from(), Some(mouth));
        let mid = &project.drivers["mid"];
        let Source::Measured(measured) = &mid.source else {
            panic!("measured");
        };
        let around: Vec<(f64, Plane)> = (measured.off_axis.iter())
            .map(|one| (one.angle.0, one.plane))
            .collect();
        assert_eq!(
            around,
            [(15.0, Plane::Horizontal), (-15.0, Plane::Vertical)]
        );
        let round = Opening::Round {
            diameter: Metres(0.2),
        };
        assert_eq!(mid.radiates_from(), Some(round));
        // A cone radiates from its diaphragm.
        let low = project.drivers["low"].radiates_from().unwrap();
        assert!((low.area_m2() - 0.0855).abs() < 1e-12);
    }
}

/// Bl = √(2π·fs·Mms·Re/Qes): 2π·600·0.9e-3·6.2/0.4 = 52.6, √ = 7.25.
#[test]
fn the_motor_by_its_q() {
    let text = project().replacen("bl = \"8 T m\"", "qes = 0.4", 1);
    assert!((high(&good(&text)).bl.0 - 7.252).abs() < 1e-3);
}

/// Areas and diameters, and a tractrix that has its length from throat and mouth: a·ln((a + √(a² − r²))/r) −
/// √(a² − r²) with a = 150 mm and r = 12.5 mm is 326.9 mm.
#[test]
fn shapes_of_horn() {
    let with = |horn: &str| {
        let text = project();
        let start = text.find("horn = { throat").unwrap();
        let end = start + text[start..].find(", t = 0.6 }").unwrap() + ", t = 0.6 }".len();
        high(&good(&format!("{}{horn}{}", &text[..start], &text[end..]))).horn
    };
    let horn =
        with("horn = { throat = \"4.908739 cm2\", mouth = \"300 mm\", flare = \"Tractrix\" }");
    assert!((horn.throat.radius_m() - 0.0125).abs() < 1e-8);
    assert!((horn.length.0 - 0.3269).abs() < 1e-4, "{}", horn.length);
    assert!((horn.tractrix_rim_m() - 0.15).abs() < 1e-9);
    let longer = with(
        "horn = { throat = \"25 mm\", mouth = \"300 mm\", length = \"400 mm\", flare = \"tractrix\" }",
    );
    let rim_m = longer.tractrix_rim_m();
    assert!(rim_m > 0.15 && (tractrix_length_m(0.0125, 0.15, rim_m) - 0.4).abs() < 1e-9);
    // ln(12)/0.28 = 8.875 a metre.
    let exponential = with(
        "horn = { throat = \"25 mm\", mouth = \"300 mm\", length = \"280 mm\", flare = \"exponential\" }",
    );
    assert!((exponential.flare_constant_per_m() - 8.8747).abs() < 1e-3);
    let hyperbolic = FiniteHorn {
        flare: Flare::Hyperbolic { t: 0.6 },
        ..exponential
    };
    let m = hyperbolic.flare_constant_per_m() * 0.28;
    assert!((m.cosh() + 0.6 * m.sinh() - 12.0).abs() < 1e-9);
}

#[test]
fn mistakes() {
    let text = project();
    let text = text.as_str();
    let wrong =
        |from: &str, to: &str, at: &str, expected: &[&str]| wrong_in(text, from, to, at, expected);
    wrong(
        "mms = \"0.9 g\", ",
        "",
        "{ re = 6.2",
        &["modelled with its horn lacks 'mms'"],
    );
    wrong(
        "mms = \"0.9 g\"",
        "mms = 0.9",
        "0.9,",
        &["without a unit would be 0.9 kg", "\"1.2 g\""],
    );
    wrong("bl = \"8 T m\", ", "", "{ re = 6.2", &["lacks 'bl'"]);
    wrong(
        "bl = \"8 T m\"",
        "bl = \"8 T m\", qes = 0.4",
        "{ re = 6.2",
        &["given twice", "keep one"],
    );
    wrong(
        "l1 = \"0.05 mH\"",
        "le = \"0.05 mH\"",
        "\"0.05 mH\"",
        &["is called l1", "write l1"],
    );
    wrong(
        "\"hyperbolic\"",
        "\"hyperbolik\"",
        "\"hyperbolik\"",
        &["did you mean \"hyperbolic\"?"],
    );
    wrong(
        "\"hyperbolic\"",
        "\"conical\"",
        "0.6 }",
        &["t shapes a hyperbolic horn"],
    );
    wrong(
        "length = \"180 mm\", ",
        "",
        "{ throat",
        &["horn lacks 'length'"],
    );
    wrong(
        "throat = \"25 mm\"",
        "throat = \"500 mm\"",
        "{ width = \"300",
        &["no larger than its throat"],
    );
    wrong(
        "throat = \"25 mm\"",
        "throat = \"25 ohm\"",
        "\"25 ohm\"",
        &["is a resistance", "a diameter like"],
    );
    wrong(
        "flare = \"hyperbolic\", t = 0.6",
        "flare = \"tractrix\"",
        "\"180 mm\"",
        &["a tractrix", "leave length out"],
    );
    wrong(
        "vertical = \"40°\"",
        "vertical = \"240°\"",
        "\"240°\"",
        &["5 to 180°", "6 dB down"],
    );
    wrong(
        ", vertical = \"40°\"",
        "",
        "{ horizontal = \"90",
        &["coverage lacks 'vertical'"],
    );
    wrong(
        "angle = \"15 deg\"",
        "angle = 0",
        "0, plane",
        &["an angle off the axis cannot be 0"],
    );
    wrong(
        "angle = -15, plane = \"vertical\"",
        "angle = 15, plane = \"horizontal\"",
        "{ angle = 15,",
        &["two tables for 15 °"],
    );
    wrong(
        "plane = \"vertical\"",
        "plane = \"upright\"",
        "\"upright\"",
        &["no plane is called 'upright'", "\"vertical\""],
    );
    wrong(
        "coverage = {",
        "size = \"200 mm\"\ncoverage = {",
        "\"200 mm\"\ncov",
        &["radiates from its mouth"],
    );
    assert!(read("p.toml", text).is_ok());
}

#[test]
fn where_the_sum_is_judged() {
    let judged = |field: &str| {
        good(&PROJECT.replacen("level = \"auto\"", field, 1))
            .aim
            .judged
    };
    assert_eq!(judged("level = \"auto\""), Judged::Axis);
    assert_eq!(judged("judged = \"axis\""), Judged::Axis);
    assert_eq!(judged("judged = \"Window\""), Judged::Window);
    super::mistakes::wrong(
        "level = \"auto\"",
        "judged = \"sofa\"",
        "\"sofa\"",
        &["cannot be judged on 'sofa'", "listening window"],
    );
}

//! Tables of the near field, and what can be wrong with them.

use super::super::*;
use super::mistakes::wrong;
use super::{PROJECT, as_json, good, read};
use crate::quantity::{Metres, SquareMetres, Volts};

const MID: &str =
    "measured = { impedance = \"mid-z.txt\", response = \"mid-r.txt\", drive = \"2 V\" }";

fn with(tables: &str) -> String {
    format!("measured = {{ impedance = \"mid-z.txt\", drive = \"2 V\", {tables} }}")
}

fn measured(text: &str) -> (Project, MeasuredDriver) {
    let text = PROJECT.replacen(MID, text, 1);
    let json = read("p.json", &as_json(&text)).unwrap_or_else(|problems| panic!("{problems}"));
    let toml = good(&text);
    let debug = |project: &Project| format!("{:?}", project.drivers["mid"]);
    assert_eq!(debug(&json.project), debug(&toml));
    let Source::Measured(measured) = toml.drivers["mid"].source.clone() else {
        panic!("measured")
    };
    (toml, *measured)
}

#[test]
fn near_and_far_field_are_read() {
    let (project, found) = measured(&with(
        "near = \"mid-r.txt\", far = \"mid-r.txt\", join = \"250 Hz\", near_drive = \"0.5 V\", sd = \"220 cm2\", \
         distance = \"2 m\", near_port = { response = \"mid-r.txt\", size = \"100 mm\", count = 2 }",
    ));
    assert!(!found.is_near_only() && found.responses().count() == 2);
    assert_eq!(found.distance, Metres(2.0));
    assert_eq!(found.sd, Some(SquareMetres(0.022)));
    let radius_m = project.drivers["mid"].radiates_from().unwrap().radius_m();
    assert!((radius_m - (0.022 / std::f64::consts::PI).sqrt()).abs() < 1e-12);
    let near = found.near.unwrap();
    let port = near.port.unwrap();
    assert!(port.count == 2 && (port.size.radius_m() - 0.05).abs() < 1e-12);
    let joined = near.joined.unwrap();
    assert_eq!((joined.at, joined.drive), (Hertz(250.0), Volts(0.5)));

    // The same drive where none is said, and the size in the place of sd.
    let (_, found) = measured(&format!(
        "{}\nsize = \"200 mm\"",
        with("near = \"mid-r.txt\", far = \"mid-r.txt\", join = 300")
    ));
    let near = found.near.unwrap();
    assert!((near.sd.0 - std::f64::consts::PI * 0.01).abs() < 1e-12 && near.port.is_none());
    assert_eq!(near.joined.unwrap().drive, Volts(2.0));

    let (_, found) = measured(&with(
        "response = \"mid-r.txt\", space = \"near field\", sd = \"220 cm2\"",
    ));
    assert!(found.is_near_only() && found.responses().count() == 1);
    let (_, found) = measured(&with("response = \"mid-r.txt\", space = \"Far field\""));
    assert!(found.near.is_none());
}

#[test]
fn the_cabinet_is_around_a_near_field_only() {
    let built = |tables: &str| {
        let cabinet = "title = \"Test box\"\ncabinet = { width = \"0.5 m\", height = \"1.3 m\", depth = \"40 cm\" }\n";
        let text = PROJECT
            .replacen("title = \"Test box\"\n", cabinet, 1)
            .replacen(
                "[drivers.low]\n",
                "[drivers.low]\non_baffle = { up = \"0.4 m\" }\n",
                1,
            )
            .replacen(MID, &with(tables), 1);
        good(&text).drivers["mid"].baffle
    };
    assert!(built("response = \"mid-r.txt\"").is_none());
    let near = built("response = \"mid-r.txt\", space = \"near field\", sd = \"220 cm2\"").unwrap();
    assert_eq!(near.up, Metres(1.1));
    let joined = "near = \"mid-r.txt\", far = \"mid-r.txt\", join = 300, sd = \"220 cm2\"";
    assert!(built(joined).is_some());
}

#[test]
fn mistakes_have_their_place_and_the_way_out() {
    const BOTH: &str = "near = \"mid-r.txt\", far = \"mid-r.txt\"";
    for (tables, at, words) in [
        (
            format!("{BOTH}, join = \"8 kHz\", sd = \"220 cm2\""),
            "\"8 kHz\"",
            &[
                "from 20 Hz to 5 kHz and the far field from 20 Hz to 5 kHz",
                "join them between",
            ][..],
        ),
        (
            format!("{BOTH}, join = \"250 Hz\""),
            "{ impedance = \"mid-z.txt\", drive",
            &["area of the diaphragm", "add sd = "],
        ),
        (
            format!("{BOTH}, sd = \"220 cm2\""),
            "{ impedance = \"mid-z.txt\", drive",
            &["measured lacks 'join'"],
        ),
        (
            "near = \"mid-r.txt\", join = \"250 Hz\", sd = \"220 cm2\"".to_owned(),
            "{ impedance = \"mid-z.txt\", drive",
            &["measured lacks 'far'", "space = \"near field\""],
        ),
        (
            format!("{BOTH}, response = \"mid-r.txt\", join = \"250 Hz\", sd = \"220 cm2\""),
            "\"mid-r.txt\", join",
            &["twice"],
        ),
        (
            format!("{BOTH}, join = \"250 Hz\", sd = \"220 cm2\", space = \"far field\""),
            "\"far field\"",
            &["leave space out"],
        ),
        (
            "response = \"mid-r.txt\", space = \"near feild\", sd = \"220 cm2\"".to_owned(),
            "\"near feild\"",
            &["did you mean \"near field\"?"],
        ),
        (
            "response = \"mid-r.txt\", join = \"250 Hz\"".to_owned(),
            "\"250 Hz\"",
            &["joined to a far field", "leave join out"],
        ),
        (
            "response = \"mid-r.txt\", near_port = { response = \"mid-r.txt\", size = \"100 mm\" }"
                .to_owned(),
            "{ response = \"mid-r.txt\", size",
            &["adds to one of the diaphragm"],
        ),
        (
            "response = \"mid-r.txt\", space = \"near field\", sd = \"220 cm2\", distance = \"1 m\""
                .to_owned(),
            "\"1 m\" }",
            &["no distance", "leave distance out"],
        ),
        (
            "response = \"mid-r.txt\", space = \"near field\", sd = \"220 cm2\", off_axis = [{ angle = \"15 deg\", \
             plane = \"vertical\", response = \"mid-r.txt\" }]"
                .to_owned(),
            "[{ angle",
            &["only a near field"],
        ),
        // The impedance table of the tests has no phase.
        (
            "near = \"mid-z.txt\", far = \"mid-r.txt\", join = \"250 Hz\", sd = \"220 cm2\", near_port = { response = \
             \"mid-r.txt\", size = \"100 mm\" }"
                .to_owned(),
            "\"mid-r.txt\", size",
            &["mid-z.txt has no phase"],
        ),
    ] {
        wrong(MID, &with(&tables), at, words);
    }
}

#[test]
fn tables_that_do_not_meet_are_told_with_both_ranges() {
    let table = |from_hz: f64| -> Vec<u8> {
        let rows = (0..10).map(|i| from_hz * 1.2f64.powi(i));
        let rows: String = rows.map(|f| format!("{f} 90 0\n")).collect();
        rows.into_bytes()
    };
    let text = "[drivers.a]\nmeasured = { impedance = \"z\", near = \"n\", far = \"f\", join = 250, sd = \"1 dm2\" }\n";
    let files = |path: &std::path::Path| match path.to_str() {
        Some("n") => Ok(table(20.0)),
        Some("f") => Ok(table(300.0)),
        Some("z") => Ok(table(10.0)),
        _ => Ok(text.as_bytes().to_vec()),
    };
    let found = load_from(&files, std::path::Path::new("p.toml"));
    let told = found.unwrap_err().to_string();
    for words in [
        "from 20 Hz to 103 Hz",
        "from 300 Hz to 1.55 kHz",
        "nothing is in both",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
}

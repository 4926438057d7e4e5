//! Cable and leads: read in both forms, kept when parts are written, mistakes with their line.

use super::{PROJECT, good, read};
use crate::project::{Form, write_parts};

const WIRING: &str = r#"[wiring]
# along the wall
cable = { length = "4 m", gauge = "2.5 mm2" }
internal = { low = { length = "60 cm", gauge = "1.5 mm²" }, mid = { length = 0.5, gauge = "1 mm2" } }

[parts]"#;

fn with(wiring: &str) -> String {
    PROJECT.replacen("[parts]", wiring, 1)
}

fn first_mistake(wiring: &str) -> (usize, String) {
    let problems = read("p.toml", &with(wiring)).unwrap_err();
    let problem = &problems.list()[0];
    let text = format!(
        "{} / {}",
        problem.message,
        problem.help.clone().unwrap_or_default()
    );
    (problem.place.as_ref().unwrap().line, text)
}

#[test]
fn wire_is_read() {
    assert!(good(PROJECT).wiring.is_empty());
    let wiring = good(&with(WIRING)).wiring;
    let cable = wiring.cable.unwrap();
    assert_eq!((cable.length.0, cable.gauge.0), (4.0, 2.5e-6));
    let names: Vec<&str> = wiring.internal.keys().map(String::as_str).collect();
    assert_eq!(names, ["low", "mid"]);
    assert_eq!(wiring.internal["low"].length.0, 0.6);
    assert_eq!(wiring.internal["low"].gauge.0, 1.5e-6);
    assert_eq!(wiring.internal["mid"].length.0, 0.5);
}

/// As typed, a gauge of American wire is kept in the file; inside it is its section.
#[test]
fn wire_by_its_american_gauge() {
    let text = with(WIRING).replace("2.5 mm2", "14 AWG");
    let project = good(&text);
    // 2.081 mm2: ASTM B258, from memory.
    let section_mm2 = project.wiring.cable.unwrap().gauge.0 * 1e6;
    assert!((section_mm2 - 2.081).abs() < 0.001, "{section_mm2}");
    let written = write_parts(&text, Form::Toml, project.network.as_ref().unwrap()).unwrap();
    assert!(written.contains("gauge = \"14 AWG\""), "{written}");
    assert_eq!(good(&written).wiring, project.wiring);
    let coils = with(WIRING).replace("wire = \"1.25 mm\"", "wire = \"AWG 16\"");
    let wire = good(&coils).stock.inductors.unwrap().wire.unwrap();
    assert!((wire.0 - 1.291e-3).abs() < 1e-6, "{wire}");
}

#[test]
fn wire_is_read_in_the_other_form() {
    let text = r#"{ "drivers": { "low": { "modelled": { "re": "6 ohm", "fs": "33 Hz", "qms": 5,
        "qes": 0.4, "vas": "100 L", "sd": "500 cm2" } } },
        "wiring": { "cable": { "length": "4 m", "gauge": "2.5 mm2" } } }"#;
    let project = read("p.json", text).unwrap().project;
    assert_eq!(project.wiring.cable.unwrap().gauge.0, 2.5e-6);
    assert!(project.wiring.internal.is_empty());
}

#[test]
fn writing_parts_keeps_the_wire() {
    let text = with(WIRING);
    let project = good(&text);
    let written = write_parts(&text, Form::Toml, project.network.as_ref().unwrap()).unwrap();
    assert!(written.contains("# along the wall"), "{written}");
    assert_eq!(good(&written).wiring, project.wiring);
}

#[test]
fn mistakes_in_wire_have_their_line_and_the_way_out() {
    let line = with("[wiring]\n")
        .lines()
        .position(|l| l == "[wiring]")
        .unwrap()
        + 2;
    for (wiring, says) in [
        (
            "cable = \"4 m\"",
            "the speaker cable is text, but a table is needed / write { length",
        ),
        (
            "cable = { length = \"4 m\" }",
            "the speaker cable lacks 'gauge' / add gauge = \"2.5 mm2\"",
        ),
        (
            "cable = { length = \"-4 m\", gauge = \"2.5 mm2\" }",
            "length must not be negative",
        ),
        (
            "cable = { length = \"4 m\", gauge = \"2.5 ohm\" }",
            "is a resistance / gauge is the section of one conductor, 0.05 mm2 to 100 mm2, such as",
        ),
        (
            "cable = { length = \"4 m\", gauge = 2.5 }",
            "/ gauge is the section of one conductor",
        ),
        (
            "cable = { length = \"4 m\", gauge = 1.5 }",
            "a gauge of 1500000 mm2 is not a wire",
        ),
        (
            "cable = { length = \"4 m\", gauge = \"thick\" }",
            "30 AWG to 3/0 AWG, such as \"14 AWG\"",
        ),
        (
            "cable = { length = \"2000 m\", gauge = \"1 mm2\" }",
            "a wire of 2000 m is not a wire of a loudspeaker / write its length",
        ),
        (
            "cable = { length = \"4 m\", gauge = \"77 AWG\" }",
            "gauge is none of the American wire gauge / gauge is the section",
        ),
        (
            "cable = { length = \"4 m\", gauge = \"40 AWG\" }",
            "a gauge of 0.005 mm2 is not a wire",
        ),
        (
            "cable = { length = \"4 m\", gauge = \"1 mm2\", colour = \"red\" }",
            "has no field 'colour'",
        ),
        (
            "internal = { lwo = { length = \"1 m\", gauge = \"1 mm2\" } }",
            "there is no driver 'lwo' to be wired / did you mean 'low'?",
        ),
        (
            "internal = { length = \"1 m\" }",
            "there is no driver 'length' to be wired",
        ),
        (
            "internal = \"1 m\"",
            "internal is text, but a table is needed",
        ),
        (
            "cables = { length = \"1 m\", gauge = \"1 mm2\" }",
            "[wiring] has no field 'cables' / did you mean 'cable'?",
        ),
    ] {
        let (found, text) = first_mistake(&format!("[wiring]\n{wiring}\n[parts]"));
        assert_eq!(found, line, "{wiring}: {text}");
        assert!(text.contains(says), "{wiring}: {text}");
    }
}

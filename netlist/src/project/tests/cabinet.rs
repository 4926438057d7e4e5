//! The cabinet, places on its front, and what can be wrong with them.

use super::super::*;
use super::mistakes::wrong;
use super::{PROJECT, as_json, read};

const TITLE: &str = "title = \"Test box\"\n";
const LOW: &str = "[drivers.low]\n";
const CABINET: &str = "cabinet = { width = \"0.5 m\", height = \"1 m\", depth = \"40 cm\"";

/// The project with these fields before its tables, and these of the driver low.
fn project(above: &str, low: &str) -> Project {
    let text = PROJECT
        .replacen(TITLE, &format!("{TITLE}{above}\n"), 1)
        .replacen(LOW, &format!("{LOW}{low}\n"), 1);
    let json = read("p.json", &as_json(&text)).unwrap().project;
    let toml = read("p.toml", &text).unwrap().project;
    assert_eq!(json.cabinet, toml.cabinet);
    assert_eq!(json.drivers["low"].baffle, toml.drivers["low"].baffle);
    toml
}

#[test]
fn a_place_is_stated_or_the_position() {
    let edge = format!("{CABINET}, edge = \"20 mm\", room = \"Wall\" }}");
    let found = project(&edge, "on_baffle = { right = \"-5 cm\", up = \"0.7 m\" }");
    let baffle = found.drivers["low"].baffle.unwrap();
    assert_eq!(Some(baffle.cabinet), found.cabinet);
    assert_eq!(baffle.cabinet.room, RoomLoading::Wall);
    assert!((baffle.cabinet.edge.0 - 0.02).abs() < 1e-12);
    assert!((baffle.right.0 + 0.05).abs() < 1e-12 && (baffle.up.0 - 0.7).abs() < 1e-12);
    // Measured drivers and horns have none.
    assert!(found.drivers["mid"].baffle.is_none() && found.drivers["high"].baffle.is_none());
    let plain = project(&format!("{CABINET} }}"), "position = { up = \"0.4 m\" }");
    let baffle = plain.drivers["low"].baffle.unwrap();
    assert!((baffle.up.0 - 0.4).abs() < 1e-12 && baffle.cabinet.room == RoomLoading::Free);
    assert!(project("", "").drivers["low"].baffle.is_none());
}

#[test]
fn mistakes_have_their_place() {
    let above = |text: &str| format!("{TITLE}{text}\n");
    for (text, at, words) in [
        (
            "cabinet = { width = \"0.5 m\", height = \"1 m\" }",
            "{ width",
            "[cabinet] lacks 'depth'",
        ),
        (
            "cabinet = { width = \"0.5 m\", height = \"1 m\", depth = \"0 m\" }",
            "\"0 m\"",
            "depth must be above 0",
        ),
    ] {
        // No cabinet, so that nothing is said of places.
        wrong(TITLE, &above(text), at, &[words]);
    }
    wrong(
        LOW,
        &format!("{LOW}on_baffle = {{ up = \"0.5 m\" }}\n"),
        "{ up = \"0.5 m\" }",
        &["a cabinet that is not there"],
    );
}

#[test]
fn what_is_not_on_the_front_is_told() {
    let with = |above: &str, low: &str| {
        let text = PROJECT
            .replacen(TITLE, &format!("{TITLE}{above}\n"), 1)
            .replacen(LOW, &format!("{LOW}{low}\n"), 1);
        read("p.toml", &text).unwrap_err().to_string()
    };
    let whole = format!("{CABINET} }}");
    let found = with(&whole, "");
    assert!(
        found.contains("driver 'low' is not on the front"),
        "{found}"
    );
    let found = with(&whole, "on_baffle = { right = \"30 cm\", up = \"0.5 m\" }");
    assert!(found.contains("300 mm right"), "{found}");
    let place = "on_baffle = { up = \"0.5 m\" }";
    let found = with(&format!("{CABINET}, edge = \"30 cm\" }}"), place);
    assert!(found.contains("leaves nothing of a front"), "{found}");
    let found = with(&format!("{CABINET}, room = \"flor\" }}"), place);
    assert!(found.contains("did you mean \"floor\"?"), "{found}");
}

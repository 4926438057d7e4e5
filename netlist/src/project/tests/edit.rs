//! Edits: the same as if the builder had written them.

use std::path::Path;

use crate::problem::Problems;
use crate::project::{Edit, Loaded, OpenFrequency, OutputImpedance, load_edited};

const DRIVER: &str = "modelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, vas = \"100 L\", sd = \"500 cm2\" }";

fn brief(spare: &str) -> String {
    format!(
        "[amplifier]\noutput_impedance = \"1 ohm\"\n[drivers.low]\n{DRIVER}\n[drivers.mid]\n{DRIVER}\n\
         [drivers.high]\n{DRIVER}\nresonance = \"2 kHz\"\n{spare}\
         [[crossovers]]\nbetween = [\"low\", \"mid\"]\nfrequency = \"650 Hz\"\nalignment = \"LR4\"\n\
         [[crossovers]]\nbetween = [\"mid\", \"high\"]\nfrequency = \"6.5 kHz\"\nalignment = \"LR4\"\n\
         [wiring]\ninternal = {{ high = {{ length = \"1 m\", gauge = \"1 mm2\" }} }}\n"
    )
}

fn spare() -> String {
    format!("[drivers.high-b]\ninstead_of = \"high\"\n{DRIVER}\nresonance = \"1.2 kHz\"\n")
}

fn edited(text: &str, edits: &[Edit]) -> Result<Loaded, Problems> {
    let read = |_: &Path| -> std::io::Result<Vec<u8>> { Ok(text.as_bytes().to_vec()) };
    load_edited(&read, Path::new("brief.toml"), edits)
}

fn shown(text: &str, edits: &[Edit]) -> String {
    let loaded = edited(text, edits).unwrap_or_else(|problems| panic!("{problems}"));
    format!("{:?}", loaded.project)
}

fn refused(text: &str, edits: &[Edit]) -> String {
    edited(text, edits).unwrap_err().to_string()
}

fn swap(way: &str, driver: &str) -> Edit {
    Edit::Swap {
        way: way.to_owned(),
        driver: driver.to_owned(),
    }
}

fn set(field: &str, value: &str) -> Edit {
    Edit::Set {
        field: field.to_owned(),
        value: value.to_owned(),
    }
}

#[test]
fn a_swap_is_what_the_builder_would_write() {
    let text = brief(&spare());
    let by_hand = brief("").replace(
        &format!("[drivers.high]\n{DRIVER}\nresonance = \"2 kHz\"\n"),
        &format!("[drivers.high-b]\n{DRIVER}\nresonance = \"1.2 kHz\"\n"),
    );
    let by_hand = by_hand
        .replace("\"mid\", \"high\"", "\"mid\", \"high-b\"")
        .replace("internal = { high", "internal = { high-b");
    assert_eq!(
        shown(&text, &[swap("high", "high-b")]),
        shown(&by_hand, &[])
    );
    // A design's network was made for the other driver.
    let design =
        format!("{text}[parts]\nLOW = {{ driver = \"low\", between = [\"in\", \"gnd\"] }}\n");
    assert!(edited(&design, &[]).unwrap().project.network.is_some());
    assert_eq!(
        shown(&design, &[swap("high", "high-b")]),
        shown(&by_hand, &[])
    );
}

#[test]
fn a_spare_driver_plays_nowhere() {
    let project = edited(&brief(&spare()), &[]).unwrap().project;
    assert_eq!(project.spares, [("high-b".to_owned(), "high".to_owned())]);
    let names: Vec<&String> = project.drivers.keys().collect();
    assert_eq!(names, ["low", "mid", "high"]);
    let forgotten = spare().replace("instead_of = \"high\"\n", "");
    assert!(refused(&brief(&forgotten), &[]).contains("instead_of"));
    let typo = spare().replace("instead_of = \"high\"", "instead_of = \"hihg\"");
    assert!(refused(&brief(&typo), &[]).contains("did you mean 'high'?"));
}

#[test]
fn a_way_less_joins_its_crossovers_where_both_can() {
    let project = edited(&brief(&spare()), &[Edit::Without("mid".to_owned())])
        .unwrap()
        .project;
    let [joined] = &project.crossovers[..] else {
        panic!("{:?}", project.crossovers);
    };
    assert_eq!(joined.between, ["low", "high"]);
    assert_eq!(joined.open, Some(OpenFrequency::Auto));
    assert!(
        joined
            .alignment
            .is_some_and(|pair| pair.lower.to_string() == "LR4")
    );
    let text = brief(&spare());
    let kept = Edit::Ways(vec!["high".to_owned(), "low".to_owned()]);
    assert_eq!(
        shown(&text, &[kept]),
        shown(&text, &[Edit::Without("mid".to_owned())])
    );
    // At an end nothing is joined, and what was there for the way goes with it.
    let project = edited(&text, &[Edit::Without("high".to_owned())])
        .unwrap()
        .project;
    assert_eq!(project.crossovers.len(), 1);
    assert!(project.crossovers[0].open.is_none() && project.spares.is_empty());
    assert!(project.wiring.internal.is_empty() && project.drivers.len() == 2);
}

#[test]
fn any_field_has_another_value() {
    let text = brief("");
    let project = edited(
        &text,
        &[
            set("amplifier.output_impedance", "3 ohm"),
            set("aim.minimum_load", "4 ohm"),
            set(
                "crossovers.2.frequency",
                "{ from = \"5 kHz\", to = \"8 kHz\" }",
            ),
            set("drivers.low.count", "2"),
            set("stock.capacitors.series", "E24"),
        ],
    );
    let project = project
        .unwrap_or_else(|problems| panic!("{problems}"))
        .project;
    assert!(
        matches!(project.amplifier.output_impedance, OutputImpedance::Resistance(r) if (r.0 - 3.0).abs() < 1e-12)
    );
    assert!(
        project
            .aim
            .minimum_load
            .is_some_and(|load| (load.0 - 4.0).abs() < 1e-12)
    );
    assert!(matches!(
        project.crossovers[1].open,
        Some(OpenFrequency::Range(_))
    ));
    assert_eq!(project.drivers["low"].count, 2);
    assert!(project.stock.capacitors.is_some());
    assert_eq!(
        shown(&text, &[set("amplifier.output_impedance", "1 ohm")]),
        shown(&text, &[])
    );
}

#[test]
fn what_cannot_be_is_told_with_the_way_out() {
    let text = brief(&spare());
    for (edit, says) in [
        (swap("hihg", "high-b"), "did you mean 'high'?"),
        (swap("high", "high-c"), "there is no driver 'high-c'"),
        (swap("high", "low"), "has a way of its own"),
        (
            Edit::Without("top".to_owned()),
            "the ways are low, mid, high",
        ),
        (
            Edit::Ways(vec!["low".to_owned()]),
            "only the way 'low' would be left",
        ),
        (
            set("amplifier.output_impedence", "2 ohm"),
            "did you mean 'output_impedance'?",
        ),
        (set("amplifier.output_impedance", "2 lx"), "unknown unit"),
        (set("amplifier..x", "2 ohm"), "names no field"),
        (
            set("crossovers.3.frequency", "2 kHz"),
            "counted from 1 to 2",
        ),
        (set("crossovers.first.frequency", "2 kHz"), "no item"),
        (set("amplifier.output_impedance.x", "2 ohm"), "no table"),
        (set("aim.from", "{ from"), "no value"),
        (set("aim.from", ""), "it is empty"),
    ] {
        let told = refused(&text, std::slice::from_ref(&edit));
        assert!(told.contains(says), "{edit:?}: {told}");
    }
    let two = [
        Edit::Without("mid".to_owned()),
        Edit::Without("low".to_owned()),
    ];
    assert!(refused(&text, &two).contains("only the way 'high' would be left"));
    // A name that was misspelt in the file makes a way more than the crossovers join.
    let torn = text.replace("[\"mid\", \"high\"]", "[\"hgh\", \"high\"]");
    let told = refused(&torn, &[Edit::Without("mid".to_owned())]);
    assert!(told.contains("make no chain"), "{told}");
    let bare = format!("[drivers.low]\n{DRIVER}\n");
    assert!(refused(&bare, &[Edit::Without("low".to_owned())]).contains("no way"));
}

//! The level of a driver that has no pad of its own, moved by parts of its filter.

use netlist::network::{Network, Part, PartKind};
use netlist::project::Project;
use netlist::quantity::{Farads, Henries, Ohms};
use solver::pad::{Inside, PadTrials, PlaceOfChange, inside};
use solver::search::Job;
use tests::command::handover;
use tests::flat::flat_project;
use tests::pad::{DemoFiles, all_finite, document, number, refused, running_text};

/// The demo's mid with its level set by two resistors within the filter.
fn level_within(files: &DemoFiles) -> String {
    files.changed(
        "network.toml",
        &[
            (
                r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }"#,
                "",
            ),
            (
                r#"R3 = { resistor = "6.2 ohm", between = ["m4", "gnd"] }"#,
                r#"R3 = { resistor = "6.2 ohm", between = ["m0", "m1"] }"#,
            ),
            (
                r#"MID = { driver = "mid", between = ["m4", "gnd"] }"#,
                r#"MID = { driver = "mid", between = ["m3", "gnd"] }"#,
            ),
            (
                r#"C2 = { capacitor = "10 uF", between = ["in", "m1"], esr = "20 mohm" }"#,
                r#"R2 = { resistor = "2.2 ohm", between = ["in", "m0"] }
                C2 = { capacitor = "10 uF", between = ["m0", "m1"], esr = "20 mohm" }"#,
            ),
        ],
    )
}

fn put(network: &mut Network, name: &str, value_si: f64) {
    match &mut network.parts_mut().get_mut(name).unwrap().kind {
        PartKind::Resistor { resistance, .. } => *resistance = Ohms(value_si),
        PartKind::Inductor { inductance, .. } => *inductance = Henries(value_si),
        PartKind::Capacitor { capacitance, .. } => *capacitance = Farads(value_si),
        _ => panic!("{name}"),
    }
}

/// A resistor more in the lead before the driver, or across it.
fn add(network: &mut Network, place: PlaceOfChange, ohm: f64) {
    let [hot, back] = network.parts()["MID"].kind.between().unwrap();
    let between = match place {
        PlaceOfChange::AcrossDriver => [hot, back],
        _ => {
            let behind = network.node("behind-it");
            for node in network.parts_mut()["MID"].kind.nodes_mut() {
                if *node == hot {
                    *node = behind;
                }
            }
            [hot, behind]
        }
    };
    let name = format!("NEW{}", network.parts().len());
    let resistance = Ohms(ohm);
    network.insert(
        name,
        Part::new(PartKind::Resistor {
            resistance,
            between,
        }),
    );
}

/// Every step does to the loudspeaker what it says, by the loudspeaker solved anew with the parts exchanged by hand.
#[test]
fn steps_are_those_of_the_network_solved_with_them() {
    let files = DemoFiles::new();
    level_within(&files);
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let network = project.network.as_ref().unwrap();
    let job = Job::new(project).unwrap();
    let found: Inside = inside(project, &job, network, "mid", 3).unwrap();
    assert_eq!(found.steps.len(), 7);
    let loudspeaker = PadTrials::new(project, &job);
    let level = |network: &Network| loudspeaker.figures(network).unwrap().way_level_db[1];
    let before_db = level(network);
    let mut met = 0;
    for step in found.steps.iter().filter(|step| !step.changes.is_empty()) {
        let outcome = step.met.as_ref().unwrap();
        let mut network = network.clone();
        let mut changes = step.changes.clone();
        // What lies across the driver lies behind what is before it.
        changes.sort_by_key(|change| change.place == PlaceOfChange::AcrossDriver);
        for change in &changes {
            match change.place {
                PlaceOfChange::InPlace => put(&mut network, &change.part, change.to_si),
                place => add(&mut network, place, change.to_si),
            }
        }
        // Steps are found on every third frequency; coils are exchanged here with the resistance they had.
        let moved_db = level(&network) - before_db;
        assert!(
            (moved_db - outcome.change_db).abs() < 0.1,
            "{step:?}: {moved_db}"
        );
        assert!((outcome.change_db - step.level_db).abs() < 0.5, "{step:?}");
        assert!(outcome.uneven_db < 0.5, "{step:?}");
        met += 1;
    }
    assert!(met >= 4, "{met} steps");
}

/// Two ways of 8 ohm, the upper one behind 2 ohm, with a stock and what more is said of those 2 ohm.
fn behind_2_ohm(stock: &str, of_resistor: &str) -> Project {
    flat_project(&format!(
        r#"
[aim]
from = "100 Hz"
to = "18 kHz"
[[crossovers]]
between = ["low", "high"]
frequency = "2 kHz"
{stock}
[parts]
R1 = {{ resistor = "2 ohm", between = ["in", "h1"]{of_resistor} }}
LOW = {{ driver = "low", between = ["in", "gnd"] }}
HIGH = {{ driver = "high", between = ["h1", "gnd"] }}
"#
    ))
}

/// A tenth more of a resistor in series with a driver of 8 ohm at all frequencies: `20 log((R + 8) / (1.1 R + 8))`,
/// the same everywhere.
#[test]
fn a_resistor_in_series_with_a_resistance_moves_the_level_evenly() {
    let project = &behind_2_ohm("", "");
    let network = project.network.as_ref().unwrap();
    let job = Job::new(project).unwrap();
    let found = inside(project, &job, network, "high", 3).unwrap();
    let lever = &found.levers[0];
    let wanted = 20.0 * (10.0f64 / 10.2).log10();
    assert!((lever.tenth_db - wanted).abs() < 1e-6, "{lever:?}");
    assert!(lever.uneven_db < 1e-6, "{lever:?}");
    let taken = 20.0 * (10.0f64 / 8.0).log10();
    assert!((found.taken_db - taken).abs() < 1e-6, "{}", found.taken_db);
}

#[test]
fn screen_and_document_say_the_steps() {
    let files = DemoFiles::new();
    let name = level_within(&files);
    let args = [&*name, "--driver", "mid"];
    let document = document(&args);
    all_finite(&document);
    assert!(document["kind"].is_null());
    let steps = document["steps"].as_array().unwrap();
    let design = steps.iter().filter(|step| step["design"] == true);
    assert_eq!(design.count(), 1);
    let levels: Vec<f64> = steps.iter().map(|step| number(step, "/level_db")).collect();
    assert_eq!(levels, [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0]);
    let levers = document["levers"].as_array().unwrap();
    assert!(levers.iter().any(|lever| lever["part"] == "R2"));
    let screen = running_text(&args);
    for words in [
        "set inside its filter",
        "R2",
        "*design",
        "switch the amplifier off",
        "--attenuation",
    ] {
        assert!(screen.contains(words), "{words}: {screen}");
    }
    // A picture is of a pad.
    refused(
        &[&args[..], &["--picture", "x.svg"]].concat(),
        &["no pad was found", "R2, R3"],
    );
    let page = std::env::temp_dir().join(format!("level-within-{}.html", std::process::id()));
    let written = handover(&["report", &name, "-o", &page.display().to_string()]);
    assert!(written.status < 2, "{}", written.err);
    let html = std::fs::read_to_string(&page).unwrap();
    std::fs::remove_file(&page).unwrap();
    assert!(html.contains("</strong>: set inside its filter"));
}

/// A drawer that holds one resistor of a value gives one of it to a step.
#[test]
fn a_step_takes_no_more_than_the_drawer_holds() {
    let files = DemoFiles::new();
    level_within(&files);
    let line = |ohm: &str| format!("{{ kind = \"resistor\", value = \"{ohm} ohm\", count = 1 }}");
    let lines = ["2.2", "3.3", "3.9", "6.2"].map(line).join(", ");
    let stock = "resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }";
    let drawer = format!("catalogue = [{lines}]");
    let name = files.changed("changed.toml", &[(stock, &drawer)]);
    let document = document(&[&name, "--driver", "mid"]);
    let mut exchanged = 0;
    for step in document["steps"].as_array().unwrap() {
        let changes = step["changes"].as_array().unwrap();
        let resistors = (changes.iter()).filter(|change| change["kind"] == "resistor");
        let mut values: Vec<f64> = resistors.map(|change| number(change, "/to_si")).collect();
        values.sort_by(f64::total_cmp);
        assert!(values.windows(2).all(|two| two[0] < two[1]), "{step}");
        exchanged += values.len();
    }
    assert!(exchanged > 0);
}

/// A resistor alone before 8 ohm behind 2 ohm takes `20 log((10 + R) / 10)`: of E96 there is one within half a decibel
/// of every step.
#[test]
fn a_resistor_to_put_in_may_have_any_value_of_the_stock() {
    let e96 = "[stock]\nresistors = { series = \"E96\", from = \"0.1 ohm\", to = \"1 kohm\" }";
    let project = &behind_2_ohm(e96, ", fixed = true");
    let network = project.network.as_ref().unwrap();
    let job = Job::new(project).unwrap();
    let found = inside(project, &job, network, "high", 10).unwrap();
    for step in found.steps.iter().filter(|step| step.level_db < 0.0) {
        assert!(step.met.is_some(), "{step:?}");
    }
}

/// The power that is given counts for what is bought, what is said of the driver's data is said, and an option that
/// only a pad answers is named with the way out.
#[test]
fn what_is_asked_beside_the_level_is_answered_or_named() {
    let files = DemoFiles::new();
    let name = level_within(&files);
    let rating = |power: &str| {
        let document = document(&[&name, "--driver", "mid", "--power", power]);
        let steps = document["steps"].as_array().unwrap().clone();
        let changes = steps
            .iter()
            .flat_map(|step| step["changes"].as_array().unwrap());
        let resistors = changes.filter(|change| change["kind"] == "resistor");
        let rating = resistors.map(|change| number(change, "/rating/power_w"));
        rating.fold(0.0, f64::max)
    };
    assert!(rating("100 W") > 2.0 * rating("5 W"));
    let plain = handover(&["pad", &name, "--driver", "mid"]);
    assert!(
        plain.err.contains("the response is measured from"),
        "{}",
        plain.err
    );
    assert!(!plain.err.contains("--at"), "{}", plain.err);
    let asked = ["--at", "1000", "--hot", "150 K", "--core", "5 V"];
    let line = [&["pad", &name, "--driver", "mid"], &asked[..]].concat();
    let asked = handover(&line);
    for words in ["--at", "--hot", "--core", "--attenuation \"2 dB\""] {
        assert!(asked.err.contains(words), "{words}: {}", asked.err);
    }
    assert_eq!(asked.out, plain.out);
}

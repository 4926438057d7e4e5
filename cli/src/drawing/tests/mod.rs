//! Checks of the picture as geometry: of the demo, of odd networks, and of networks drawn at random.

mod at_random;
mod geometry;

use netlist::network::Network;
use netlist::project::load_from;
use std::path::Path;

use super::sheet::SchematicSheet;
use super::{leads, page, schematic};

/// A network from the lines of a project file.
fn parse(parts: &str) -> Network {
    let mut text = String::new();
    for piece in parts.split("driver = \"").skip(1) {
        let driver = piece.split('"').next().unwrap();
        text += &format!(
            "[drivers.\"{driver}\"]\nmodelled = {{ re = \"6 ohm\", level = \"100 dB\", horn = {{ cutoff = \"350 Hz\" }} }}\n"
        );
    }
    text += "[parts]\n";
    text += parts;
    let read = |_: &Path| -> std::io::Result<Vec<u8>> { Ok(text.clone().into_bytes()) };
    let loaded = load_from(&read, Path::new("x.toml")).unwrap_or_else(|e| panic!("{e}"));
    loaded.project.network.unwrap()
}

#[test]
fn the_demo_is_drawn_right() {
    let demo = crate::demo::load("network.toml").unwrap();
    geometry::check(&demo.project.network.unwrap());
}

#[test]
fn parts_stand_in_the_middle_of_their_wires() {
    for name in ["network.toml"] {
        let network = crate::demo::load(name).unwrap().project.network.unwrap();
        for sheet in [
            SchematicSheet::new(&network),
            SchematicSheet::new(&network).with_losses(),
        ] {
            let (parts, unequal) = leads::unequal(&page::draw(&sheet));
            assert_eq!((parts, unequal), (19, Vec::new()), "{name}");
        }
    }
    // A shunt leg of three parts between a coil and a driver, and a series trap.
    let legs = parse(
        "L1 = { inductor = \"1 mH\", between = [\"in\", \"a\"] }\n\
         R1 = { resistor = \"10 ohm\", between = [\"a\", \"x\"] }\n\
         C1 = { capacitor = \"4.7 uF\", between = [\"x\", \"y\"] }\n\
         L2 = { inductor = \"0.1 mH\", between = [\"y\", \"gnd\"] }\n\
         R2 = { resistor = \"8.2 ohm\", between = [\"a\", \"b\"] }\n\
         C2 = { capacitor = \"1 uF\", between = [\"a\", \"b\"] }\n\
         R3 = { resistor = \"6.8 ohm\", between = [\"b\", \"gnd\"] }\n\
         D = { driver = \"d\", between = [\"b\", \"gnd\"] }",
    );
    let (parts, unequal) = leads::unequal(&page::draw(&SchematicSheet::new(&legs)));
    assert_eq!((parts, unequal), (8, Vec::new()));
}

#[test]
fn odd_networks_are_drawn_right() {
    for parts in [
        // A driver straight on the amplifier.
        "D = { driver = \"d\", between = [\"in\", \"gnd\"] }",
        // A trap in series, a resistor bypassed by a capacitor and a coil, a correction.
        "L1 = { inductor = \"1 mH\", between = [\"in\", \"a\"] }\n\
         C1 = { capacitor = \"4.7 uF\", between = [\"in\", \"a\"] }\n\
         R1 = { resistor = \"10 ohm\", between = [\"in\", \"a\"] }\n\
         R2 = { resistor = \"8.2 ohm\", between = [\"a\", \"b\"] }\n\
         C2 = { capacitor = \"1 uF\", between = [\"a\", \"x\"] }\n\
         L2 = { inductor = \"0.1 mH\", between = [\"x\", \"b\"] }\n\
         R3 = { resistor = \"6.8 ohm\", between = [\"b\", \"z\"] }\n\
         C3 = { capacitor = \"10 uF\", between = [\"z\", \"gnd\"] }\n\
         D = { driver = \"d\", between = [\"b\", \"gnd\"], inverted = true }",
        // A bridge: no series and parallel parts at all.
        "R1 = { resistor = \"1 ohm\", between = [\"in\", \"a\"] }\n\
         R2 = { resistor = \"2 ohm\", between = [\"in\", \"b\"] }\n\
         D = { driver = \"d\", between = [\"a\", \"b\"] }\n\
         R3 = { resistor = \"3 ohm\", between = [\"a\", \"gnd\"] }\n\
         R4 = { resistor = \"4 ohm\", between = [\"b\", \"gnd\"] }",
        // An autoformer with taps, of which one feeds nothing.
        "C1 = { capacitor = \"22 uF\", between = [\"in\", \"a\"] }\n\
         T1 = { autoformer = \"40 mH\", between = [\"a\", \"gnd\"], taps = { b = 0.5, c = 0.35 }, coupling = 0.999, dcr = \"0.4 ohm\" }\n\
         R1 = { resistor = \"10 ohm\", between = [\"a\", \"gnd\"] }\n\
         D = { driver = \"d\", between = [\"b\", \"gnd\"] }",
        // Long names, and coils that are coupled.
        "\"a coil with a name that goes on and on\" = { inductor = \"1.2345 mH\", between = [\"in\", \"a node of some length\"] }\n\
         L2 = { inductor = \"1 mH\", between = [\"a node of some length\", \"gnd\"] }\n\
         K1 = { coupling = [\"a coil with a name that goes on and on\", \"L2\"], factor = 0.02 }\n\
         D = { driver = \"d\", between = [\"a node of some length\", \"gnd\"] }",
    ] {
        geometry::check(&parse(parts));
    }
}

#[test]
fn names_cannot_break_the_markup() {
    let svg = schematic(
        &parse(
            "\"R<1>&\" = { resistor = \"1 ohm\", between = [\"in\", \"\\\"q\\\"\"] }\nD = { driver = \"d\", between = [\"\\\"q\\\"\", \"gnd\"] }",
        ),
        "a < b & c",
    )
    .svg;
    assert!(svg.contains("R&lt;1&gt;&amp;") && svg.contains("a &lt; b &amp; c"));
    assert!(!svg.contains("<1>"));
}

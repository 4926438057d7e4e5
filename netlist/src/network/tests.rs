//! Structural checks on networks made in code, and setting values.

use super::*;
use crate::quantity::{Farads, Fraction, Henries, Ohms, Watts};

fn resistor(network: &mut Network, name: &str, from: &str, to: &str) {
    let between = [network.node(from), network.node(to)];
    let resistance = Ohms(10.0);
    network.insert(
        name,
        Part::new(PartKind::Resistor {
            resistance,
            between,
        }),
    );
}

fn inductor(network: &mut Network, name: &str, from: &str, to: &str) {
    let between = [network.node(from), network.node(to)];
    let inductance = Henries(1e-3);
    let dcr = Ohms(0.1);
    network.insert(
        name,
        Part::new(PartKind::Inductor {
            inductance,
            dcr,
            between,
        }),
    );
}

fn driver(network: &mut Network, name: &str, driver: &str, from: &str, to: &str) {
    let between = [network.node(from), network.node(to)];
    let driver = driver.to_owned();
    network.insert(
        name,
        Part::new(PartKind::Driver {
            driver,
            between,
            inverted: false,
        }),
    );
}

fn coupling(network: &mut Network, name: &str, one: &str, two: &str, factor: f64) {
    let inductors = [one.to_owned(), two.to_owned()];
    network.insert(name, Part::new(PartKind::Coupling { inductors, factor }));
}

fn autoformer(network: &mut Network, name: &str, taps: &[(&str, f64)]) {
    let between = [network.node("m1"), NodeId::GND];
    let taps = taps
        .iter()
        .map(|(node, ratio)| Tap {
            node: network.node(node),
            ratio: *ratio,
        })
        .collect();
    network.insert(
        name,
        Part::new(PartKind::Autoformer {
            inductance: Henries(0.04),
            dcr: Ohms(0.4),
            coupling: 0.999,
            between,
            taps,
        }),
    );
}

/// `in` - R1 - m1 - MID - gnd.
fn simple() -> Network {
    let mut network = Network::new();
    resistor(&mut network, "R1", "in", "m1");
    driver(&mut network, "MID", "mid", "m1", "gnd");
    network
}

/// The messages of a network whose project has the drivers `low` and `mid`.
fn messages(network: &Network) -> Vec<String> {
    let mistakes = check(network, &["low", "mid"]);
    for mistake in &mistakes {
        if let Some(part) = mistake.part() {
            assert!(network.parts().contains_key(part), "{mistake:?}");
        }
    }
    mistakes.iter().map(ToString::to_string).collect()
}

/// A network made by `change` from [`simple`] has this one mistake.
fn one(change: impl FnOnce(&mut Network), expected: &str) {
    let mut network = simple();
    change(&mut network);
    assert_eq!(messages(&network), [expected]);
}

#[test]
fn good_networks_pass() {
    assert_eq!(messages(&simple()), [""; 0]);
    // A driver between two nodes above the return, two drivers in a row, a spare tap.
    let mut network = Network::new();
    resistor(&mut network, "R1", "in", "m1");
    driver(&mut network, "MID", "mid", "m1", "m2");
    driver(&mut network, "LOW", "low", "m2", "gnd");
    autoformer(&mut network, "T1", &[("t1", 0.5), ("spare", 0.7)]);
    resistor(&mut network, "R2", "t1", "gnd");
    inductor(&mut network, "L1", "in", "gnd");
    inductor(&mut network, "L2", "m1", "gnd");
    coupling(&mut network, "K1", "L1", "L2", 0.02);
    assert_eq!(messages(&network), [""; 0]);
}

#[test]
fn empty_and_unjoined_terminals() {
    assert_eq!(messages(&Network::new()), ["the network has no parts"]);
    let mut network = Network::new();
    resistor(&mut network, "R1", "m1", "gnd");
    resistor(&mut network, "R2", "m1", "gnd");
    assert_eq!(
        messages(&network),
        ["no part is joined to 'in', the amplifier's terminal"]
    );
    let mut network = Network::new();
    resistor(&mut network, "R1", "in", "m1");
    resistor(&mut network, "R2", "m1", "in");
    assert_eq!(
        messages(&network),
        ["no part is joined to 'gnd', the return"]
    );
    resistor(&mut network, "R3", "m2", "gnd");
    resistor(&mut network, "R4", "m2", "gnd");
    assert_eq!(
        messages(&network),
        [
            "no chain of parts leads from 'in' to 'gnd'",
            "'R3' is not joined to the rest: no path leads from 'in' to node 'm2'"
        ]
    );
}

#[test]
fn loose_ends_and_islands() {
    one(
        |network| resistor(network, "R2", "m1", "m2"),
        "node 'm2' is reached by one part only, 'R2'",
    );
    one(
        |network| resistor(network, "R2", "m1", "m1"),
        "both ends of 'R2' are at node 'm1'",
    );
    one(
        |network| resistor(network, "R2", "gnd", "gnd"),
        "both ends of 'R2' are at node 'gnd'",
    );
    one(
        |network| {
            resistor(network, "R2", "a", "b");
            resistor(network, "R3", "a", "b");
        },
        "'R2' is not joined to the rest: no path leads from 'in' to node 'a'",
    );
    one(
        |network| {
            resistor(network, "R2", "a", "gnd");
            driver(network, "LOW", "low", "a", "gnd");
        },
        "no path leads from 'in' to driver 'low' ('LOW')",
    );
    one(
        |network| {
            network.node("m9");
        },
        "no part is joined to node 'm9'",
    );
    let mut network = simple();
    resistor(&mut network, "R2", "M1", "gnd");
    let mistakes = check(&network, &["mid"]);
    assert_eq!(mistakes.len(), 1);
    assert!(
        mistakes[0]
            .help()
            .is_some_and(|help| help.contains("did you mean node 'm1'?"))
    );
}

#[test]
fn drivers() {
    one(
        |network| driver(network, "HIGH", "high", "m1", "gnd"),
        "'HIGH' is driver 'high', which the project does not have",
    );
    one(
        |network| driver(network, "MID2", "mid", "m1", "gnd"),
        "driver 'mid' is used twice, by 'MID' and by 'MID2'",
    );
}

/// [`simple`] with three coils across the driver.
fn coils(network: &mut Network) {
    for name in ["L1", "L2", "L3"] {
        inductor(network, name, "m1", "gnd");
    }
}

#[test]
fn couplings() {
    let couple = |one: &'static str, two: &'static str, factor: f64| {
        move |network: &mut Network| {
            coils(network);
            coupling(network, "K1", one, two, factor);
        }
    };
    one(
        couple("L1", "R1", 0.1),
        "'K1' couples 'R1', which is a resistor",
    );
    one(
        couple("L1", "L9", 0.1),
        "'K1' couples 'L9', which is no part of the network",
    );
    one(couple("L1", "L1", 0.1), "'K1' couples 'L1' with itself");
    let range = "but must be 0 or more and at most 0.999999999";
    one(
        couple("L1", "L2", 1.0),
        &format!("the coupling factor of 'K1' is 1, {range}"),
    );
    one(
        couple("L1", "L2", -0.1),
        &format!("the coupling factor of 'K1' is -0.1, {range}"),
    );
    one(
        couple("L1", "L2", f64::NAN),
        &format!("the coupling factor of 'K1' is NaN, {range}"),
    );
    one(
        |network| {
            coils(network);
            coupling(network, "K1", "L1", "L2", 0.1);
            coupling(network, "K2", "L2", "L1", 0.1);
        },
        "'K2' couples the same two inductors as 'K1'",
    );
}

/// Of three coils with factors a = 0.9, b = 0.9 and c, the determinant 1 - a² - b² - c² + 2abc is
/// positive only for c above 2·0.81 - 1 = 0.62. The order in which they are written plays no part.
#[test]
fn couplings_that_cannot_hold_together() {
    for (last, fine) in [
        (None, false),
        (Some(0.61), false),
        (Some(0.63), true),
        (Some(0.99), true),
    ] {
        let mut network = simple();
        coils(&mut network);
        coupling(&mut network, "K1", "L1", "L2", 0.9);
        coupling(&mut network, "K2", "L2", "L3", 0.9);
        let mut names = "K1, K2".to_owned();
        if let Some(factor) = last {
            coupling(&mut network, "K3", "L1", "L3", factor);
            names.push_str(", K3");
        }
        let messages = messages(&network);
        if fine {
            assert_eq!(messages, [""; 0]);
        } else {
            assert_eq!(messages.len(), 1);
            assert!(
                messages[0].starts_with(&format!("the factors of {names} cannot hold together"))
            );
        }
    }
}

#[test]
fn autoformers() {
    let with = |taps: &'static [(&'static str, f64)]| {
        move |network: &mut Network| autoformer(network, "T1", taps)
    };
    one(with(&[]), "autoformer 'T1' has no taps");
    let range = "but it must lie between 0 and 1";
    one(
        with(&[("t", 0.0)]),
        &format!("tap 't' of 'T1' has the ratio 0, {range}"),
    );
    one(
        with(&[("t", 1.0)]),
        &format!("tap 't' of 'T1' has the ratio 1, {range}"),
    );
    one(
        with(&[("t", f64::NAN)]),
        &format!("tap 't' of 'T1' has the ratio NaN, {range}"),
    );
    one(
        with(&[("t", 0.5), ("u", 0.5)]),
        "taps 't' and 'u' of 'T1' have the same ratio, 0.5",
    );
    let shorts = "is at a node that the winding already has: it would short turns";
    one(with(&[("m1", 0.5)]), &format!("tap 'm1' of 'T1' {shorts}"));
    one(
        with(&[("t", 0.5), ("t", 0.6)]),
        &format!("tap 't' of 'T1' {shorts}"),
    );
}

#[test]
fn values() {
    one(
        |network| {
            network.parts_mut()["R1"].kind = PartKind::Resistor {
                resistance: Ohms(f64::NAN),
                between: [NodeId::IN, NodeId(2)],
            }
        },
        "the resistor of 'R1' is NaN, but must be above 0",
    );
    one(
        |network| {
            inductor(network, "L1", "m1", "gnd");
            if let PartKind::Inductor { dcr, .. } = &mut network.parts_mut()["L1"].kind {
                *dcr = Ohms(-1.0);
            }
        },
        "the dcr of 'L1' is -1, but must be 0 or more",
    );
    one(
        |network| network.parts_mut()["R1"].power = Some(Watts(0.0)),
        "the power of 'R1' is 0, but must be above 0",
    );
    one(
        |network| network.parts_mut()["R1"].tolerance = Some(Fraction(-0.1)),
        "the tolerance of 'R1' is -0.1, but must be 0 or more",
    );
    one(
        |network| {
            network.parts_mut()["R1"].made_of = Some(MadeOf {
                joined: Joined::Parallel,
                values: vec![22.0, 22.0],
            });
        },
        "'R1' is made of parts that together are 11 Ω, but its value is 10 Ω",
    );
}

#[test]
fn parts_add_up_by_their_kind() {
    let made_of = |kind: PartKind, joined| {
        let values = vec![2.0, 3.0, 6.0];
        let part = Part {
            made_of: Some(MadeOf { joined, values }),
            ..Part::new(kind)
        };
        part.made_of_value().map(|value| (value * 1e9).round())
    };
    let between = [NodeId::IN, NodeId::GND];
    let resistor = PartKind::Resistor {
        resistance: Ohms(1.0),
        between,
    };
    let capacitor = PartKind::Capacitor {
        capacitance: Farads(1.0),
        esr: Ohms(0.0),
        between,
    };
    assert_eq!(made_of(resistor.clone(), Joined::Series), Some(11e9));
    assert_eq!(made_of(resistor, Joined::Parallel), Some(1e9));
    assert_eq!(made_of(capacitor.clone(), Joined::Parallel), Some(11e9));
    assert_eq!(made_of(capacitor, Joined::Series), Some(1e9));
}

#[test]
fn one_driver_keeps_its_wires() {
    let driver = |name: &str, fixed: bool| Part {
        fixed,
        ..Part::new(PartKind::Driver {
            driver: name.to_owned(),
            between: [NodeId::IN, NodeId::GND],
            inverted: false,
        })
    };
    let swappable = |fixed: [bool; 3]| {
        let mut network = Network::new();
        for (name, fixed) in ["low", "mid", "high"].into_iter().zip(fixed) {
            network.insert(name.to_uppercase(), driver(name, fixed));
        }
        network.swappable_drivers().join(" ")
    };
    assert_eq!(swappable([false, false, false]), "mid high");
    assert_eq!(swappable([true, false, false]), "mid high");
    assert_eq!(swappable([false, true, false]), "low high");
    assert_eq!(swappable([false, true, true]), "low");
    assert_eq!(swappable([true, true, true]), "");
}

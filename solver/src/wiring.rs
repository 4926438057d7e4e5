//! Cable and internal wiring: the resistance of wire, and the network with its wire in it.
//!
//! Two ways to the same result. [`wired`] puts every wire into the network as a resistor, for all that
//! looks at parts and nodes. Where a network is still searched, the leads are taken into the drivers
//! ([`driver_load`](crate::load::DriverLoad::behind_lead)) and the cable into the amplifier.
//! The inductance of a few metres of cable, below 1 µH/m, is left out: at 20 kHz it is 0.1 Ω/m.

use netlist::network::{Network, NodeId, Part, PartKind, primed_name};
use netlist::project::{Project, Wire, Wiring};
use netlist::quantity::{Fraction, Ohms};

use crate::coil::copper::RESISTIVITY_20C_OHM_M;

/// Greatest resistance at 20 °C of one flexible copper conductor (class 5), by its nominal section:
/// mm² and Ω/km, IEC 60228.
const CLASS_5: [(f64, f64); 9] = [
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
];

/// Resistances below this are no resistor, ohm.
const LEAST_OHM: f64 = 1e-9;

/// Resistance of one flexible copper conductor at 20 °C, Ω/m: the greatest that IEC 60228 allows for its
/// nominal section. Between the standard's sections, what it allows above pure copper of that section
/// is interpolated over the logarithm of the section; beyond them it is held.
#[must_use]
pub fn conductor_ohm_per_m(section_m2: f64) -> f64 {
    let pure = RESISTIVITY_20C_OHM_M / section_m2;
    let mm2 = section_m2 * 1e6;
    let excess =
        |(mm2, ohm_per_km): (f64, f64)| ohm_per_km * 1e-3 * mm2 * 1e-6 / RESISTIVITY_20C_OHM_M;
    let (first, last) = (CLASS_5[0], CLASS_5[CLASS_5.len() - 1]);
    if mm2 <= first.0 {
        return pure * excess(first);
    }
    let above = CLASS_5.windows(2).find(|pair| mm2 <= pair[1].0);
    let Some(pair) = above else {
        return pure * excess(last);
    };
    let share = (mm2 / pair[0].0).ln() / (pair[1].0 / pair[0].0).ln();
    pure * (excess(pair[0]) * (1.0 - share) + excess(pair[1]) * share)
}

/// Resistance of a wire at 20 °C, there and back, ohm.
#[must_use]
pub fn wire_ohm(wire: &Wire) -> f64 {
    2.0 * wire.length.0 * conductor_ohm_per_m(wire.gauge.0)
}

/// Resistance of the speaker cable, ohm; 0 where nothing is said of it.
#[must_use]
pub fn cable_ohm(project: &Project) -> f64 {
    project.wiring.cable.as_ref().map_or(0.0, wire_ohm)
}

/// Resistance of the wire to a driver, ohm; 0 where nothing is said of it.
#[must_use]
pub fn lead_ohm(project: &Project, driver: &str) -> f64 {
    project.wiring.internal.get(driver).map_or(0.0, wire_ohm)
}

/// Whether a part of a [`wired`] network is wire, and not one that the builder wrote.
#[must_use]
pub fn is_wire(network: &Network, part: &str) -> bool {
    !network.parts().contains_key(part)
}

/// The network with its wire as resistors: the cable between `in` and a new node to which goes all that
/// was at `in`, and before each driver its lead. Parts and nodes keep their order and names.
#[must_use]
pub fn wired(network: &Network, wiring: &Wiring) -> Network {
    let cable_ohm = wiring.cable.as_ref().map_or(0.0, wire_ohm);
    let mut whole = Network::new();
    let mut terminal = NodeId::IN;
    if cable_ohm > LEAST_OHM {
        terminal = whole.node(&primed_name("cable end", |name| {
            network.find_node(name).is_some()
        }));
        let name = primed_name("cable", |name| network.parts().contains_key(name));
        whole.insert(name, resistor(cable_ohm, [NodeId::IN, terminal]));
    }
    let nodes: Vec<NodeId> = (network.node_names().enumerate())
        .map(|(number, name)| match NodeId(number) {
            NodeId::GND => NodeId::GND,
            NodeId::IN => terminal,
            _ => whole.node(name),
        })
        .collect();
    for (name, part) in network.parts() {
        let mut part = part.clone();
        for node in part.kind.nodes_mut() {
            *node = nodes[node.0];
        }
        if let PartKind::Driver {
            driver, between, ..
        } = &mut part.kind
        {
            let lead_ohm = wiring.internal.get(driver.as_str()).map_or(0.0, wire_ohm);
            if lead_ohm > LEAST_OHM {
                let wire = format!("lead to {driver}");
                let end = primed_name(&wire, |name| whole.find_node(name).is_some());
                let end = whole.node(&end);
                let wire = primed_name(&wire, |name| network.parts().contains_key(name));
                whole.insert(wire, resistor(lead_ohm, [between[0], end]));
                between[0] = end;
            }
        }
        whole.insert(name.clone(), part);
    }
    whole
}

fn resistor(ohm: f64, between: [NodeId; 2]) -> Part {
    let mut part = Part::new(PartKind::Resistor {
        resistance: Ohms(ohm),
        between,
    });
    part.fixed = true;
    // What wire varies by is nothing beside its own smallness.
    part.tolerance = Some(Fraction(0.0));
    part
}

#[cfg(test)]
mod tests {
    use netlist::quantity::{Metres, SquareMetres};

    use super::*;

    /// IEC 60228, class 5, 20 °C, as printed in the tables of three makers of cable: mm² and Ω/km, written here apart
    /// from the table that is used.
    #[test]
    fn the_standard_s_sections_have_its_resistances() {
        let printed = [
            (0.5, 39.0),
            (0.75, 26.0),
            (1.0, 19.5),
            (1.5, 13.3),
            (2.5, 7.98),
            (4.0, 4.95),
            (6.0, 3.30),
            (10.0, 1.91),
            (16.0, 1.21),
        ];
        for (mm2, ohm_per_km) in printed {
            let found = conductor_ohm_per_m(mm2 * 1e-6) * 1e3;
            assert!((found - ohm_per_km).abs() < 1e-9 * ohm_per_km, "{mm2}");
        }
    }

    /// Pure annealed copper has 58 m/(Ω·mm²) (IEC 60028); strands and tolerances add up to a sixth.
    #[test]
    fn wire_is_never_better_than_copper_and_thicker_is_always_better() {
        let mut before = f64::INFINITY;
        for step in 0..400 {
            let mm2 = 0.05 * 1.02f64.powi(step);
            let ohm_per_m = conductor_ohm_per_m(mm2 * 1e-6);
            let pure = 1.0 / (58.0 * mm2);
            assert!(ohm_per_m > pure && ohm_per_m < pure * 1.17, "{mm2}");
            assert!(ohm_per_m < before, "{mm2}");
            before = ohm_per_m;
        }
    }

    #[test]
    fn a_wire_goes_there_and_back() {
        let wire = Wire {
            length: Metres(4.0),
            gauge: SquareMetres(2.5e-6),
        };
        assert!((wire_ohm(&wire) - 8.0 * 7.98e-3).abs() < 1e-12);
    }

    #[test]
    fn wire_takes_no_name_that_is_taken() {
        let mut network = Network::new();
        let node = network.node("cable end");
        network.insert("cable", resistor(1.0, [NodeId::IN, node]));
        network.insert(
            "M",
            Part::new(PartKind::Driver {
                driver: "mid".into(),
                between: [node, NodeId::GND],
                inverted: false,
            }),
        );
        let wire = Wire {
            length: Metres(1.0),
            gauge: SquareMetres(1e-6),
        };
        let wiring = Wiring {
            cable: Some(wire),
            internal: [("mid".to_owned(), wire)].into_iter().collect(),
        };
        let whole = wired(&network, &wiring);
        let names: Vec<&str> = whole.parts().keys().map(String::as_str).collect();
        assert_eq!(names, ["cable'", "cable", "lead to mid", "M"]);
        assert!(is_wire(&network, "cable'") && !is_wire(&network, "cable"));
        let between = |name: &str| {
            let nodes = whole.parts()[name].kind.between().unwrap();
            nodes.map(|node| whole.node_name(node).to_owned())
        };
        assert_eq!(between("cable'"), ["in", "cable end'"]);
        assert_eq!(between("cable"), ["cable end'", "cable end"]);
        assert_eq!(between("M"), ["lead to mid", "gnd"]);
    }
}

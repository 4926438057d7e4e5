//! A general-purpose numeric library as second opinion: random networks of all part kinds solved by
//! numpy (`fixtures/numpy_networks.py`, which names its version in the fixture), to 1e-9.

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::quantity::{Farads, Henries, Ohms};
use num_complex::Complex64;
use serde::Deserialize;
use solver::grid::Grid;
use solver::nodal::{Drive, Plan, Solution, Values, Workspace};
use solver::spectrum::Spectrum;
use std::collections::BTreeMap;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fixture {
    origin: String,
    open_circuit_v: f64,
    frequency_hz: Vec<f64>,
    networks: Vec<Solved>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Solved {
    output_impedance: f64,
    parts: Vec<FixturePart>,
    voltages: BTreeMap<String, Vec<[f64; 2]>>,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
enum FixturePart {
    Resistor {
        between: [String; 2],
        resistance: f64,
    },
    Inductor {
        between: [String; 2],
        inductance: f64,
        dcr: f64,
    },
    Capacitor {
        between: [String; 2],
        capacitance: f64,
        esr: f64,
    },
    Autoformer {
        between: [String; 2],
        taps: Vec<(String, f64)>,
        inductance: f64,
        dcr: f64,
        coupling: f64,
    },
    Driver {
        between: [String; 2],
        inverted: bool,
        re: f64,
        le: f64,
    },
    Coupling {
        inductors: [usize; 2],
        factor: f64,
    },
}

impl Solved {
    fn build(&self, grid: &Grid) -> (Network, Vec<Spectrum>) {
        let mut network = Network::new();
        let mut loads = Vec::new();
        for (i, part) in self.parts.iter().enumerate() {
            let mut nodes = |between: &[String; 2]| -> [NodeId; 2] {
                [0, 1].map(|k| network.node(&between[k]))
            };
            let kind = match part {
                FixturePart::Resistor {
                    between,
                    resistance,
                } => PartKind::Resistor {
                    resistance: Ohms(*resistance),
                    between: nodes(between),
                },
                FixturePart::Inductor {
                    between,
                    inductance,
                    dcr,
                } => PartKind::Inductor {
                    inductance: Henries(*inductance),
                    dcr: Ohms(*dcr),
                    between: nodes(between),
                },
                FixturePart::Capacitor {
                    between,
                    capacitance,
                    esr,
                } => PartKind::Capacitor {
                    capacitance: Farads(*capacitance),
                    esr: Ohms(*esr),
                    between: nodes(between),
                },
                FixturePart::Autoformer {
                    between,
                    taps,
                    inductance,
                    dcr,
                    coupling,
                } => {
                    let between = nodes(between);
                    let taps = taps.iter().map(|(name, ratio)| Tap {
                        node: network.node(name),
                        ratio: *ratio,
                    });
                    PartKind::Autoformer {
                        inductance: Henries(*inductance),
                        dcr: Ohms(*dcr),
                        coupling: *coupling,
                        between,
                        taps: taps.collect(),
                    }
                }
                FixturePart::Driver {
                    between,
                    inverted,
                    re,
                    le,
                } => {
                    loads.push(Spectrum::from_fn(grid.len(), |i| {
                        Complex64::new(*re, grid.omega()[i] * le)
                    }));
                    PartKind::Driver {
                        driver: format!("driver {i}"),
                        between: nodes(between),
                        inverted: *inverted,
                    }
                }
                FixturePart::Coupling { inductors, factor } => PartKind::Coupling {
                    inductors: inductors.map(|k| format!("P{k}")),
                    factor: *factor,
                },
            };
            network.insert(format!("P{i}"), Part::new(kind));
        }
        (network, loads)
    }
}

#[test]
fn random_networks_have_the_voltages_that_numpy_finds() {
    let text = include_str!("../../fixtures/numpy_networks.json");
    let fixture: Fixture = serde_json::from_str(text).unwrap();
    assert!(fixture.origin.contains("numpy"), "{}", fixture.origin);
    assert!(fixture.networks.len() >= 12);
    let grid = Grid::new(fixture.frequency_hz.clone()).unwrap();
    for (number, solved) in fixture.networks.iter().enumerate() {
        let (network, loads) = solved.build(&grid);
        let plan = Plan::compile(&network).unwrap();
        let loads: Vec<&Spectrum> = loads.iter().collect();
        let mut workspace = Workspace::new(&plan, &grid, &loads).unwrap();
        let mut solution = Solution::new(&plan, &workspace);
        let drive = Drive {
            open_circuit_v: fixture.open_circuit_v,
            output_impedance_ohm: solved.output_impedance.into(),
        };
        plan.run(&Values::of(&network), &drive, &mut workspace, &mut solution);
        assert_eq!(solved.voltages.len(), network.node_count() - 1);
        for i in 0..grid.len() {
            let of = |values: &Vec<[f64; 2]>| Complex64::new(values[i][0], values[i][1]);
            let scale = (solved.voltages.values())
                .map(|values| of(values).norm())
                .fold(0.0, f64::max);
            for (name, values) in &solved.voltages {
                let node = network.find_node(name).unwrap();
                let difference = (solution.node_at(node, i) - of(values)).norm();
                assert!(
                    difference <= 1e-9 * scale,
                    "network {number}, node {name}, {} Hz: {difference:e} of {scale}",
                    grid.f_hz()[i]
                );
            }
        }
    }
}

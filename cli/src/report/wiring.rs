//! What is soldered together, node by node.

use super::pieces::{Pieces, pieces_named};
use crate::words::tap_words;
use netlist::network::{GND_NAME, IN_NAME, Network, NodeId, PartKind};

/// A node and the ends of parts that meet there.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Joint {
    pub(crate) node: String,
    pub(crate) remark: Option<String>,
    pub(crate) ends: Vec<String>,
}

/// All nodes, `in` first, `gnd` last.
pub(crate) fn joints(network: &Network) -> Vec<Joint> {
    let mut joints: Vec<Joint> = (network.node_names())
        .map(|name| Joint {
            node: name.to_owned(),
            remark: match name {
                IN_NAME => Some("amplifier, +".to_owned()),
                GND_NAME => Some("amplifier, return".to_owned()),
                _ => None,
            },
            ends: Vec::new(),
        })
        .collect();
    let mut within: Vec<Joint> = Vec::new();
    for (name, part) in network.parts() {
        let mut end = |node: NodeId, words: String| joints[node.0].ends.push(words);
        match &part.kind {
            PartKind::Driver {
                between, inverted, ..
            } => {
                let (first, second) = if *inverted {
                    ("−", "+")
                } else {
                    ("+", "−")
                };
                end(between[0], format!("{name} {first}"));
                end(between[1], format!("{name} {second}"));
            }
            PartKind::Autoformer { between, taps, .. } => {
                end(between[0], format!("{name} top"));
                for tap in taps {
                    end(tap.node, format!("{name} tap {}", tap_words(tap.ratio)));
                }
                end(between[1], format!("{name} bottom"));
            }
            PartKind::Resistor { between, .. }
            | PartKind::Inductor { between, .. }
            | PartKind::Capacitor { between, .. } => match pieces_named(name, part) {
                Pieces::One => between.iter().for_each(|node| end(*node, name.clone())),
                Pieces::SideBySide(pieces) => {
                    for node in between {
                        pieces.iter().for_each(|piece| end(*node, piece.clone()));
                    }
                }
                Pieces::InARow(pieces) => {
                    let ends = [pieces.first(), pieces.last()];
                    for (node, piece) in between.iter().zip(ends.into_iter().flatten()) {
                        end(*node, piece.clone());
                    }
                    within.extend(pieces.windows(2).map(|pair| Joint {
                        node: format!("{} to {}", pair[0], pair[1]),
                        remark: Some(format!("within {name}")),
                        ends: pair.to_vec(),
                    }));
                }
            },
            PartKind::Coupling { .. } => {}
        }
    }
    let rest = joints.split_off(2.min(joints.len()));
    let mut order = Vec::with_capacity(joints.len() + rest.len());
    let gnd = joints.remove(0);
    order.extend(joints);
    order.extend(rest);
    order.extend(within);
    order.push(gnd);
    order.retain(|joint| !joint.ends.is_empty() || joint.remark.is_some());
    order
}

#[cfg(test)]
mod tests {
    use netlist::network::{Part, Tap};
    use netlist::quantity::{Farads, Henries, Ohms};

    use super::*;

    #[test]
    fn pieces_are_soldered_as_they_are_wired() {
        use netlist::network::{Joined, MadeOf};
        for (joined, expected) in [
            (Joined::Parallel, "in: C1a, C1b | gnd: C1a, C1b"),
            (Joined::Series, "in: C1a | C1a to C1b: C1a, C1b | gnd: C1b"),
        ] {
            let mut network = Network::new();
            let mut part = Part::new(PartKind::Capacitor {
                capacitance: Farads(2e-6),
                esr: Ohms(0.0),
                between: [NodeId::IN, NodeId::GND],
            });
            part.made_of = Some(MadeOf {
                joined,
                values: vec![1e-6, 1e-6],
            });
            network.insert("C1", part);
            let shown: Vec<String> = (joints(&network).iter())
                .map(|joint| format!("{}: {}", joint.node, joint.ends.join(", ")))
                .collect();
            assert_eq!(shown.join(" | "), expected);
        }
    }

    #[test]
    fn every_end_of_every_part_is_soldered_once() {
        let mut network = Network::new();
        let a = network.node("a");
        let b = network.node("b");
        let capacitor = PartKind::Capacitor {
            capacitance: Farads(1e-6),
            esr: Ohms(0.0),
            between: [NodeId::IN, a],
        };
        network.insert("C1", Part::new(capacitor));
        let autoformer = PartKind::Autoformer {
            inductance: Henries(0.04),
            dcr: Ohms(0.1),
            coupling: 0.999,
            between: [a, NodeId::GND],
            taps: vec![Tap {
                node: b,
                ratio: 0.5,
            }],
        };
        network.insert("T1", Part::new(autoformer));
        let driver = PartKind::Driver {
            driver: "mid".to_owned(),
            between: [b, NodeId::GND],
            inverted: true,
        };
        network.insert("MID", Part::new(driver));
        let found = joints(&network);
        let shown: Vec<String> = (found.iter())
            .map(|joint| format!("{}: {}", joint.node, joint.ends.join(", ")))
            .collect();
        let expected = [
            "in: C1",
            "a: C1, T1 top",
            "b: T1 tap −6.0 dB, MID −",
            "gnd: T1 bottom, MID +",
        ];
        assert_eq!(shown, expected);
    }
}

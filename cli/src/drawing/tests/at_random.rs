//! Networks drawn at random, of all part kinds.

use netlist::network::{Network, NodeId, Part, PartKind, Tap, check};
use netlist::quantity::{Farads, Henries, Ohms};

use super::geometry;

/// A small generator of numbers (xorshift, Marsaglia, J. Stat. Software 8, 2003): the same on every machine.
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % bound
    }
}

fn part(random: &mut Random, between: [NodeId; 2]) -> PartKind {
    match random.below(3) {
        0 => PartKind::Resistor {
            resistance: Ohms(0.5 + random.below(300) as f64 / 7.0),
            between,
        },
        1 => PartKind::Inductor {
            inductance: Henries(1e-5 * (1.0 + random.below(500) as f64)),
            dcr: Ohms(0.2),
            between,
        },
        _ => PartKind::Capacitor {
            capacitance: Farads(1e-7 * (1.0 + random.below(900) as f64)),
            esr: Ohms(0.02),
            between,
        },
    }
}

/// A chain of parts with branches, some parts across, an autoformer, and drivers at the end.
fn network(seed: u64) -> Network {
    let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut network = Network::new();
    let mut nodes = vec![NodeId::IN];
    let mut count = 0;
    let mut add = |network: &mut Network, kind: PartKind| {
        count += 1;
        network.insert(format!("P{count}"), Part::new(kind));
    };
    for i in 0..1 + random.below(11) {
        let node = network.node(&format!("n{i}"));
        let from = match random.below(3) {
            0 => nodes[random.below(nodes.len())],
            _ => nodes[nodes.len() - 1],
        };
        let kind = part(&mut random, [from, node]);
        add(&mut network, kind);
        if random.below(2) == 0 {
            let kind = part(&mut random, [node, NodeId::GND]);
            add(&mut network, kind);
        }
        nodes.push(node);
    }
    for _ in 0..random.below(3) {
        let (a, b) = (
            nodes[random.below(nodes.len())],
            nodes[random.below(nodes.len())],
        );
        if a != b {
            let kind = part(&mut random, [a, b]);
            add(&mut network, kind);
        }
    }
    if random.below(3) == 0 {
        let tap = network.node("tap");
        let top = nodes[random.below(nodes.len())];
        let kind = PartKind::Autoformer {
            inductance: Henries(0.04),
            dcr: Ohms(0.3),
            coupling: 0.999,
            between: [top, NodeId::GND],
            taps: vec![Tap {
                node: tap,
                ratio: 0.5,
            }],
        };
        add(&mut network, kind);
        nodes.push(tap);
    }
    for i in 0..1 + random.below(3) {
        let plus = nodes[nodes.len() - 1 - i % nodes.len()];
        // Some drivers float between two nodes.
        let minus = match random.below(5) {
            0 => nodes[random.below(nodes.len())],
            _ => NodeId::GND,
        };
        let kind = PartKind::Driver {
            driver: format!("driver {i}"),
            between: [plus, minus],
            inverted: random.below(2) == 0,
        };
        add(&mut network, kind);
    }
    network
}

#[test]
fn random_networks_never_break_the_drawing() {
    let mut drawn = 0;
    for seed in 1..=3000 {
        let network = network(seed);
        if check(&network, &["driver 0", "driver 1", "driver 2"]).is_empty() {
            geometry::check(&network);
            drawn += 1;
        }
    }
    assert!(drawn > 1000, "only {drawn} of the networks were valid");
}

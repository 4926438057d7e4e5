//! Networks drawn at random, of all part kinds.

use netlist::network::{Joined, MadeOf, Network, NodeId, Part, PartKind, Tap, check};
use netlist::quantity::{Farads, Henries, Ohms};

use super::super::sheet::SchematicSheet;
use super::super::{leads, page};
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

/// A chain of parts with branches, some parts across, autoformers, and drivers at the end.
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
    for i in 0..random.below(3).saturating_sub(random.below(2)) {
        let kind = autoformer(&mut random, &mut network, &mut nodes, i);
        add(&mut network, kind);
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
    adorn(&mut random, &mut network);
    network
}

/// A winding with up to three taps, wherever it may be joined; a tap may lead nowhere.
fn autoformer(
    random: &mut Random,
    network: &mut Network,
    nodes: &mut Vec<NodeId>,
    count: usize,
) -> PartKind {
    let top = nodes[random.below(nodes.len())];
    let bottom = match random.below(4) {
        0 => nodes[random.below(nodes.len())],
        _ => NodeId::GND,
    };
    let mut taps = Vec::new();
    for i in 0..1 + random.below(3) {
        let node = match random.below(4) {
            0 => nodes[random.below(nodes.len())],
            _ => network.node(&format!("tap {count}-{i}")),
        };
        let ratio = 0.9 - 0.25 * i as f64;
        taps.push(Tap { node, ratio });
    }
    nodes.extend(taps.iter().map(|tap| tap.node));
    // Now and then upside down.
    let between = if random.below(4) == 0 {
        [bottom, top]
    } else {
        [top, bottom]
    };
    PartKind::Autoformer {
        inductance: Henries(0.04),
        dcr: Ohms(0.3),
        coupling: 0.999,
        between,
        taps,
    }
}

/// What makes texts longer: parts made of several, coupled coils, a long name.
fn adorn(random: &mut Random, network: &mut Network) {
    for part in network.parts_mut().values_mut() {
        if let Some(value) = part.value_si().filter(|_| random.below(4) == 0) {
            let count = 2 + random.below(3);
            let (joined, each) = match part.kind {
                PartKind::Capacitor { .. } => (Joined::Parallel, value / count as f64),
                PartKind::Autoformer { .. } => continue,
                _ => (Joined::Series, value / count as f64),
            };
            let values = vec![each; count];
            part.made_of = Some(MadeOf { joined, values });
        }
    }
    let coils: Vec<String> = (network.parts().iter())
        .filter(|(_, part)| matches!(part.kind, PartKind::Inductor { .. }))
        .map(|(name, _)| name.clone())
        .collect();
    for (i, pair) in coils.windows(2).enumerate() {
        if random.below(4) == 0 {
            let inductors = [pair[0].clone(), pair[1].clone()];
            let factor = 0.01 * (1 + random.below(30)) as f64;
            let kind = PartKind::Coupling { inductors, factor };
            network.insert(format!("K{i}"), Part::new(kind));
        }
    }
    if random.below(4) == 0 {
        let node = network.node("a node whose name is longer than one line is wide");
        let between = [NodeId::IN, node];
        let kind = part(random, between);
        network.insert("the part that leads to it, in words", Part::new(kind));
        let between = [node, NodeId::GND];
        let kind = part(random, between);
        network.insert("Q", Part::new(kind));
    }
}

#[test]
fn random_networks_never_break_the_drawing() {
    let mut drawn = 0;
    let (mut wound, mut coupled) = (0, 0);
    let (mut parts, mut unequal) = (0, 0);
    for seed in 1..=3000 {
        let network = network(seed);
        if check(&network, &["driver 0", "driver 1", "driver 2"]).is_empty() {
            geometry::check(&network);
            drawn += 1;
            let (all, found) = leads::unequal(&page::draw(&SchematicSheet::new(&network)));
            parts += all;
            unequal += found.len();
            let kinds: Vec<&str> = (network.parts().values())
                .map(|part| part.kind.word())
                .collect();
            wound += usize::from(kinds.contains(&"autoformer"));
            coupled += usize::from(kinds.contains(&"coupling"));
        }
    }
    assert!(drawn > 1000, "only {drawn} of the networks were valid");
    assert!(
        wound > 300 && coupled > 300,
        "{wound} wound, {coupled} coupled"
    );
    // Long texts that have no room keep some parts where they are.
    assert!(
        100 * unequal < 18 * parts,
        "{unequal} of {parts} parts have unequal leads"
    );
}

//! Parts and nodes named and put in order as a builder reads a drawing: way by way, from the amplifier to
//! the driver.

use netlist::network::{Network, NodeId, Part, PartKind, numbered_name};

use super::place::block_of;

/// The same network with parts numbered in reading order, nodes named after their way, and every part
/// counted from the amplifier's side. Networks with couplings, whose parts are named by others, stay as
/// they are.
#[must_use]
pub fn in_reading_order(network: &Network) -> Network {
    let coupled = |part: &Part| matches!(part.kind, PartKind::Coupling { .. });
    if network.parts().values().any(coupled) {
        return network.clone();
    }
    let mut named = Network::new();
    let mut done = vec![false; network.parts().len()];
    let drivers: Vec<String> = network.driver_names().map(String::from).collect();
    for driver in &drivers {
        let inside = block_of(network, driver);
        let mut order = Walk::new(network, &inside);
        order.run();
        for index in order.parts {
            if std::mem::replace(&mut done[index], true) {
                continue;
            }
            let (name, part) = network.parts().get_index(index).expect("a part of it");
            let mut part = part.clone();
            let place = |node: NodeId| order.nodes.iter().position(|&known| known == node);
            let two_ended = matches!(part.kind.letter(), Some("R" | "L" | "C"));
            let mut ends = part.kind.nodes_mut();
            if let ([a, b], true) = (&mut ends[..], two_ended) {
                let rank = |node: NodeId| match node {
                    NodeId::GND => usize::MAX,
                    _ => place(node).unwrap_or(usize::MAX),
                };
                if rank(**b) < rank(**a) {
                    std::mem::swap(*a, *b);
                }
            }
            for node in ends {
                if node.is_inner() {
                    *node = named.node(&format!("{driver}{}", place(*node).unwrap_or(0)));
                }
            }
            let name = match part.kind.letter() {
                // A driver may be called like a part.
                Some(letter) => numbered_name(letter, |name| {
                    let is_it = |driver: &String| driver.to_uppercase() == name;
                    named.parts().contains_key(name) || drivers.iter().any(is_it)
                }),
                None => name.clone(),
            };
            named.insert(name, part);
        }
    }
    named
}

/// A walk from `in` along a block.
struct Walk<'a> {
    network: &'a Network,
    inside: &'a [bool],
    /// Nodes in the order in which they are met, `in` first.
    nodes: Vec<NodeId>,
    /// Parts likewise.
    parts: Vec<usize>,
}

impl<'a> Walk<'a> {
    fn new(network: &'a Network, inside: &'a [bool]) -> Self {
        Self {
            network,
            inside,
            nodes: vec![NodeId::IN],
            parts: Vec::new(),
        }
    }

    fn run(&mut self) {
        let mut next = 0;
        while next < self.nodes.len() {
            let node = self.nodes[next];
            next += 1;
            // What ends at the return comes before what leads on; the driver last.
            let mut here: Vec<(u8, usize)> = (self.network.parts().values().enumerate())
                .filter(|(index, part)| {
                    self.inside[*index] && part.kind.nodes().any(|own| own == node)
                })
                .filter(|(index, _)| !self.parts.contains(index))
                .map(|(index, part)| {
                    let driver = matches!(part.kind, PartKind::Driver { .. });
                    let grounded = part.kind.nodes().any(|own| own == NodeId::GND);
                    let turn = match (driver, grounded) {
                        (true, _) => 2,
                        (false, true) => 0,
                        (false, false) => 1,
                    };
                    (turn, index)
                })
                .collect();
            here.sort_unstable();
            for (_, index) in here {
                self.parts.push(index);
                for other in self.network.parts()[index].kind.nodes() {
                    if other != NodeId::GND && !self.nodes.contains(&other) {
                        self.nodes.push(other);
                    }
                }
            }
        }
    }
}

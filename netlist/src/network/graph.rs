//! A network as a graph: which nodes a part joins, and what hangs together.

use super::{Network, NodeId, PartKind};

impl PartKind {
    /// All nodes that the part joins: its two, a driver's terminals too, then an autoformer's taps as listed;
    /// none for a coupling.
    pub fn nodes(&self) -> impl Iterator<Item = NodeId> {
        let taps = match self {
            PartKind::Autoformer { taps, .. } => taps.as_slice(),
            _ => &[],
        };
        let ends = self.between().into_iter().flatten();
        ends.chain(taps.iter().map(|tap| tap.node))
    }

    /// The same, to be changed.
    pub fn nodes_mut(&mut self) -> Vec<&mut NodeId> {
        match self {
            PartKind::Resistor { between, .. }
            | PartKind::Inductor { between, .. }
            | PartKind::Capacitor { between, .. }
            | PartKind::Driver { between, .. } => between.iter_mut().collect(),
            PartKind::Autoformer { between, taps, .. } => {
                let taps = taps.iter_mut().map(|tap| &mut tap.node);
                between.iter_mut().chain(taps).collect()
            }
            PartKind::Coupling { .. } => Vec::new(),
        }
    }

    /// The letter that parts of this kind are numbered with, as is usual in drawings; `None` for what is named by itself.
    #[must_use]
    pub fn letter(&self) -> Option<&'static str> {
        match self {
            PartKind::Resistor { .. } => Some("R"),
            PartKind::Inductor { .. } => Some("L"),
            PartKind::Capacitor { .. } => Some("C"),
            PartKind::Autoformer { .. } => Some("T"),
            PartKind::Driver { .. } | PartKind::Coupling { .. } => None,
        }
    }
}

impl Network {
    /// For each node the numbers of the parts at it, in their order, each part once.
    #[must_use]
    pub fn parts_at_nodes(&self) -> Vec<Vec<usize>> {
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); self.node_count()];
        for (number, part) in self.parts().values().enumerate() {
            for node in part.kind.nodes() {
                if at[node.0].last() != Some(&number) {
                    at[node.0].push(number);
                }
            }
        }
        at
    }

    /// For each node the number of ends of parts there, taps counted.
    #[must_use]
    pub fn degrees(&self) -> Vec<usize> {
        let mut degrees = vec![0; self.node_count()];
        for node in self.parts().values().flat_map(|part| part.kind.nodes()) {
            degrees[node.0] += 1;
        }
        degrees
    }

    /// Nodes that parts join, `in` and `gnd` left out: what hangs together between them.
    #[must_use]
    pub fn inner_groups(&self) -> Groups {
        let mut groups = Groups::new(self.node_count());
        for part in self.parts().values() {
            let inner = part.kind.nodes().filter(|node| node.is_inner());
            groups.unite(inner.map(|node| node.0));
        }
        groups
    }

    /// The same without the nodes that no part is at, which a solver takes for cut off; the others in the order in which
    /// parts come to them.
    #[must_use]
    pub fn without_bare_nodes(&self) -> Network {
        let mut used = Network::new();
        for (name, part) in self.parts() {
            let mut part = part.clone();
            for node in part.kind.nodes_mut() {
                *node = used.node(self.node_name(*node));
            }
            used.insert(name.clone(), part);
        }
        used
    }

    /// Whether a coil of that name is coupled to another.
    #[must_use]
    pub fn is_coupled(&self, name: &str) -> bool {
        self.parts().values().any(|part| part.kind.couples(name))
    }

    /// For each node whether parts lead there from `start` without passing through one of `ends`, which are
    /// reached but not left.
    #[must_use]
    pub fn reached(&self, start: NodeId, ends: &[NodeId]) -> Vec<bool> {
        let at = self.parts_at_nodes();
        let mut reached = vec![false; at.len()];
        reached[start.0] = true;
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            if ends.contains(&node) {
                continue;
            }
            for &part in &at[node.0] {
                for next in self.parts()[part].kind.nodes() {
                    if !reached[next.0] {
                        reached[next.0] = true;
                        open.push(next);
                    }
                }
            }
        }
        reached
    }
}

/// Things that hang together, as groups that are united step by step; each is known by its lowest number.
#[derive(Debug, Clone)]
pub struct Groups {
    root: Vec<usize>,
}

impl Groups {
    /// So many things, each on its own.
    #[must_use]
    pub fn new(count: usize) -> Self {
        Self {
            root: (0..count).collect(),
        }
    }

    /// The group of a thing: the lowest number in it.
    pub fn of(&mut self, mut thing: usize) -> usize {
        while self.root[thing] != thing {
            self.root[thing] = self.root[self.root[thing]];
            thing = self.root[thing];
        }
        thing
    }

    /// Makes all these things one group.
    pub fn unite(&mut self, things: impl IntoIterator<Item = usize>) {
        let mut things = things.into_iter();
        let Some(mut first) = things.next().map(|thing| self.of(thing)) else {
            return;
        };
        for thing in things {
            let other = self.of(thing);
            let (low, high) = (first.min(other), first.max(other));
            self.root[high] = low;
            first = low;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Part, Tap};
    use super::*;
    use crate::quantity::{Henries, Ohms};

    fn network() -> Network {
        let mut network = Network::new();
        let mut resistor = |name: &str, from: &str, to: &str| {
            let between = [network.node(from), network.node(to)];
            let resistance = Ohms(1.0);
            network.insert(
                name,
                Part::new(PartKind::Resistor {
                    resistance,
                    between,
                }),
            );
        };
        resistor("R1", "in", "a");
        resistor("R2", "a", "gnd");
        resistor("R3", "b", "gnd");
        resistor("R4", "c", "c");
        let between = [network.node("b"), NodeId::GND];
        let node = network.node("tap");
        network.insert(
            "T1",
            Part::new(PartKind::Autoformer {
                inductance: Henries(1.0),
                dcr: Ohms(0.0),
                coupling: 0.9,
                between,
                taps: vec![Tap { node, ratio: 0.5 }],
            }),
        );
        network
    }

    #[test]
    fn nodes_of_a_part_are_its_ends_and_taps() {
        let mut network = network();
        let names = |network: &Network, part: &str| -> Vec<String> {
            let nodes = network.parts()[part].kind.nodes();
            nodes.map(|n| network.node_name(n).to_owned()).collect()
        };
        assert_eq!(names(&network, "R1"), ["in", "a"]);
        assert_eq!(names(&network, "T1"), ["b", "gnd", "tap"]);
        let a = network.find_node("a").unwrap();
        let part = network.parts_mut().get_mut("T1").unwrap();
        for node in part.kind.nodes_mut() {
            *node = a;
        }
        assert_eq!(names(&network, "T1"), ["a", "a", "a"]);
    }

    #[test]
    fn a_walk_ends_where_it_is_told_to() {
        let network = network();
        let reached = |ends: &[NodeId]| -> Vec<&str> {
            let reached = network.reached(NodeId::IN, ends);
            let names = network.node_names().zip(reached);
            names
                .filter_map(|(name, yes)| yes.then_some(name))
                .collect()
        };
        assert_eq!(reached(&[NodeId::GND]), ["gnd", "in", "a"]);
        assert_eq!(reached(&[]), ["gnd", "in", "a", "b", "tap"]);
        // A part with both ends at a node is there once.
        let c = network.find_node("c").unwrap();
        assert_eq!(network.parts_at_nodes()[c.0], [3]);
    }

    #[test]
    fn a_node_that_no_part_is_at_goes() {
        let mut network = network();
        network.parts_mut().shift_remove("R4");
        let names: Vec<String> = (network.without_bare_nodes().node_names())
            .map(str::to_owned)
            .collect();
        assert_eq!(names, ["gnd", "in", "a", "b", "tap"]);
        let used = network.without_bare_nodes();
        let [a, b] = used.parts()["R1"].kind.between().unwrap();
        assert_eq!([used.node_name(a), used.node_name(b)], ["in", "a"]);
    }

    #[test]
    fn inner_groups_end_at_the_terminals() {
        let network = network();
        let mut groups = network.inner_groups();
        let mut of = |name: &str| groups.of(network.find_node(name).unwrap().0);
        assert_eq!(of("b"), of("tap"));
        assert!(of("a") != of("b") && of("c") != of("b"));
        // Parts to `in` and `gnd` join nothing.
        assert_eq!([of("gnd"), of("in")], [0, 1]);
        assert_eq!(network.part_count(), 5);
    }

    #[test]
    fn groups_are_known_by_their_lowest_number() {
        let mut groups = Groups::new(6);
        groups.unite([5, 3]);
        groups.unite([4, 1]);
        groups.unite([]);
        assert_eq!([3, 5, 4, 1, 0].map(|i| groups.of(i)), [3, 3, 1, 1, 0]);
        groups.unite([5, 4, 2]);
        assert_eq!([1, 2, 3, 4, 5].map(|i| groups.of(i)), [1; 5]);
    }
}

//! Putting parts together as far as they lie in series and side by side.
//!
//! The usual reductions of a two-terminal series-parallel graph: two branches between the same nodes
//! become one, and so do two that meet at a node of their own. A crossover shrinks to one branch from
//! `in` to `gnd`; what does not shrink is a mesh.

use std::collections::BTreeMap;

use netlist::network::{Network, NodeId, PartKind};

use super::branch::{SeriesParallel, TappedWinding, Terminal, Use};

/// A branch between two nodes; `gnd` is always the second, `in` the first unless the other is `gnd`.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    pub(super) ends: [NodeId; 2],
    pub(super) branch: SeriesParallel,
}

/// One way: what hangs together when `in` and `gnd` are taken away.
#[derive(Debug, Clone, Default)]
pub(super) struct DrawnWay {
    pub(super) edges: Vec<Edge>,
    /// Autoformers that could not be made part of a branch: their indices.
    pub(super) windings: Vec<usize>,
}

/// More parts than this in a way are not put together: the time grows with their square.
const MOST_PARTS: usize = 400;

/// The nodes of a part: its pair, then taps as listed.
pub(super) fn nodes_of(network: &Network, index: usize) -> Vec<NodeId> {
    network.parts()[index].kind.nodes().collect()
}

/// The ways of a network in the order of their first parts.
pub(super) fn ways(network: &Network) -> Vec<DrawnWay> {
    // Nodes of one part are of one group.
    let mut joined = network.inner_groups();
    // What lies straight between the terminals has no node of its own, and goes together.
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut first_of: BTreeMap<usize, usize> = BTreeMap::new();
    for index in 0..network.parts().len() {
        let nodes = nodes_of(network, index);
        if nodes.is_empty() {
            continue;
        }
        let key = match nodes.iter().find(|node| node.is_inner()) {
            Some(node) => joined.of(node.0),
            None => NodeId::IN.0,
        };
        let first = *first_of.entry(key).or_insert(index);
        groups.entry(first).or_default().push(index);
    }
    let ways = groups.into_values();
    ways.map(|parts| reduced(network, &parts)).collect()
}

fn reduced(network: &Network, parts: &[usize]) -> DrawnWay {
    let mut way = DrawnWay::default();
    for index in parts {
        let part = &network.parts()[*index];
        match (&part.kind, part.kind.between()) {
            (PartKind::Autoformer { .. }, _) => way.windings.push(*index),
            (_, Some(ends)) => way.edges.push(
                Edge {
                    ends,
                    branch: SeriesParallel::Part {
                        index: *index,
                        flipped: false,
                    },
                }
                .in_order(),
            ),
            _ => {}
        }
    }
    if parts.len() <= MOST_PARTS {
        while side_by_side(&mut way) || in_series(network, &mut way) || tapped(network, &mut way) {}
    } else {
        while side_by_side(&mut way) {}
    }
    way
}

impl Edge {
    /// Turned so that `gnd` is last and `in` first.
    fn in_order(self) -> Self {
        let [from, to] = self.ends;
        let gnd_first = from == NodeId::GND && to != NodeId::GND;
        let in_last = to == NodeId::IN && from != NodeId::IN && from != NodeId::GND;
        if gnd_first || in_last {
            return self.turned();
        }
        self
    }

    fn turned(self) -> Self {
        Self {
            ends: [self.ends[1], self.ends[0]],
            branch: self.branch.reversed(),
        }
    }

    fn meets(&self, node: NodeId) -> bool {
        self.ends.contains(&node)
    }

    fn joins_one_node(&self) -> bool {
        self.ends[0] == self.ends[1]
    }
}

/// Merges all branches between the same two nodes; whether there were any.
fn side_by_side(way: &mut DrawnWay) -> bool {
    let before = way.edges.len();
    let mut merged: Vec<Edge> = Vec::with_capacity(before);
    let mut place: BTreeMap<[NodeId; 2], usize> = BTreeMap::new();
    for edge in std::mem::take(&mut way.edges) {
        let [from, to] = edge.ends;
        let key = [from.min(to), from.max(to)];
        match place.get(&key).filter(|_| !edge.joins_one_node()) {
            Some(at) => {
                let first = &mut merged[*at];
                let edge = if edge.ends == first.ends {
                    edge
                } else {
                    edge.turned()
                };
                first.branch = first.branch.clone().beside(edge.branch);
            }
            None => {
                place.insert(key, merged.len());
                merged.push(edge);
            }
        }
    }
    way.edges = merged;
    way.edges.len() < before
}

/// Whether an autoformer that still stands alone is at the node.
fn wound(network: &Network, way: &DrawnWay, node: NodeId) -> bool {
    (way.windings.iter()).any(|index| nodes_of(network, *index).contains(&node))
}

/// Merges two branches that meet at a node where nothing else is; whether there were any.
fn in_series(network: &Network, way: &mut DrawnWay) -> bool {
    let mut meeting: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    for (index, edge) in way.edges.iter().enumerate() {
        for end in edge.ends {
            meeting.entry(end).or_default().push(index);
        }
    }
    for (node, edges) in meeting {
        let [one, two] = edges[..] else {
            continue;
        };
        if node == NodeId::GND || node == NodeId::IN || one == two || wound(network, way, node) {
            continue;
        }
        let other = |edge: &Edge| edge.ends[usize::from(edge.ends[0] == node)];
        // A loop that hangs from one node has no two ends.
        if other(&way.edges[one]) == other(&way.edges[two]) {
            continue;
        }
        let second = way.edges.remove(two.max(one));
        let first = way.edges.remove(two.min(one));
        let to_node = |edge: Edge| {
            if edge.ends[1] == node {
                edge
            } else {
                edge.turned()
            }
        };
        // `gnd` stays last and `in` first, so that windings are never turned.
        let ends_here = |edge: &Edge| edge.ends[1] == node && other(edge) != NodeId::GND;
        let (before, after) = if other(&second) == NodeId::IN
            || other(&first) == NodeId::GND
            || (!ends_here(&first) && ends_here(&second))
        {
            (second, first)
        } else {
            (first, second)
        };
        let before = to_node(before);
        let after = if after.ends[0] == node {
            after
        } else {
            after.turned()
        };
        way.edges.push(Edge {
            ends: [before.ends[0], after.ends[1]],
            branch: before.branch.then(node, after.branch),
        });
        return true;
    }
    false
}

/// Makes an autoformer that ends at `gnd` and whose other nodes, but one, only feed loads to `gnd`
/// into a branch; whether there was one.
fn tapped(network: &Network, way: &mut DrawnWay) -> bool {
    for (place, index) in way.windings.iter().enumerate() {
        let Some(mut winding) = terminals(network, *index) else {
            continue;
        };
        let others: Vec<usize> = way
            .windings
            .iter()
            .copied()
            .filter(|i| i != index)
            .collect();
        let taken = |node: NodeId| {
            let other = |i: &usize| nodes_of(network, *i).contains(&node);
            node == NodeId::IN || others.iter().any(other)
        };
        let mut feed = None;
        let mut several = false;
        let mut loads: Vec<usize> = Vec::new();
        let last = winding.terminals.len() - 1;
        for (position, terminal) in winding.terminals[..last].iter_mut().enumerate() {
            let at = |edge: &&Edge| edge.meets(terminal.node);
            let edges: Vec<&Edge> = way.edges.iter().filter(at).collect();
            let node = terminal.node;
            match edges[..] {
                [] if !taken(node) => terminal.used = Use::Spare,
                [edge] if !taken(node) && edge.ends == [node, NodeId::GND] => {
                    terminal.used = Use::Load(edge.branch.clone());
                    loads.extend(way.edges.iter().position(|other| other.meets(node)));
                }
                _ => {
                    several |= feed.replace(position).is_some();
                }
            }
        }
        let (Some(feed), false) = (feed, several) else {
            continue;
        };
        let feed = winding.terminals[feed].node;
        way.windings.remove(place);
        loads.sort_unstable();
        for load in loads.into_iter().rev() {
            way.edges.remove(load);
        }
        way.edges.push(Edge {
            ends: [feed, NodeId::GND],
            branch: SeriesParallel::Winding(winding),
        });
        return true;
    }
    false
}

/// The ends and taps of an autoformer along its winding, the end at `gnd` last, if it has one.
fn terminals(network: &Network, index: usize) -> Option<TappedWinding> {
    let mut winding = along(network, index);
    if winding.terminals.first()?.node == NodeId::GND {
        winding.terminals.reverse();
    }
    let last = winding.terminals.last_mut()?;
    if last.node != NodeId::GND {
        return None;
    }
    last.used = Use::Return;
    Some(winding)
}

/// The ends and taps of an autoformer from its top to its bottom.
pub(super) fn along(network: &Network, index: usize) -> TappedWinding {
    let mut terminals: Vec<(f64, Terminal)> = Vec::new();
    if let PartKind::Autoformer { between, taps, .. } = &network.parts()[index].kind {
        let ends = [(1.0, between[0], None), (0.0, between[1], None)];
        let taps = taps
            .iter()
            .map(|tap| (tap.ratio, tap.node, Some(tap.ratio)));
        for (position, (share, node, ratio)) in ends.into_iter().chain(taps).enumerate() {
            let used = Use::Feed;
            let terminal = Terminal {
                node,
                position,
                ratio,
                used,
            };
            terminals.push((share, terminal));
        }
    }
    terminals.sort_by(|one, other| other.0.total_cmp(&one.0));
    let terminals = terminals
        .into_iter()
        .map(|(_, terminal)| terminal)
        .collect();
    TappedWinding { index, terminals }
}

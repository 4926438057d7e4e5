//! The network of parts: nodes, parts in the builder's order, and what each part is.

mod check;
mod couplings;
mod free_name;
mod graph;
mod mistake;
mod part;
#[cfg(test)]
mod tests;
mod value;

pub use check::{VALUE_RANGE_SI, check};
pub use free_name::{numbered_name, primed_name};
pub use graph::Groups;
pub use mistake::NetworkMistake;
pub use part::{Joined, MadeOf, Part, PartKind, Tap};

use indexmap::{IndexMap, IndexSet};

/// A node of a [`Network`], as an index into [`Network::node_names`].
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub usize);

impl NodeId {
    /// The return, `gnd`: the node that all voltages are measured against.
    pub const GND: NodeId = NodeId(0);
    /// The amplifier's terminal, `in`.
    pub const IN: NodeId = NodeId(1);

    /// Whether it is neither of these.
    #[must_use]
    pub fn is_inner(self) -> bool {
        self != NodeId::GND && self != NodeId::IN
    }
}

/// Name of the amplifier's terminal.
pub const IN_NAME: &str = "in";
/// Name of the return.
pub const GND_NAME: &str = "gnd";

/// A network: named nodes and named parts, both in the order in which they were first written.
///
/// `gnd` is node 0 and `in` is node 1 whether or not a part uses them.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    nodes: IndexSet<String>,
    parts: IndexMap<String, Part>,
}

impl Default for Network {
    fn default() -> Self {
        Self::new()
    }
}

impl Network {
    /// A network with the two terminals and no parts.
    #[must_use]
    pub fn new() -> Self {
        let nodes = [GND_NAME, IN_NAME].into_iter().map(String::from).collect();
        Self {
            nodes,
            parts: IndexMap::new(),
        }
    }

    /// The node of that name, made if it is new.
    pub fn node(&mut self, name: &str) -> NodeId {
        if let Some(index) = self.nodes.get_index_of(name) {
            return NodeId(index);
        }
        NodeId(self.nodes.insert_full(name.to_owned()).0)
    }

    /// The node of that name, if it exists.
    #[must_use]
    pub fn find_node(&self, name: &str) -> Option<NodeId> {
        self.nodes.get_index_of(name).map(NodeId)
    }

    /// Name of a node.
    ///
    /// # Panics
    /// If the node is of another network and out of range.
    #[must_use]
    pub fn node_name(&self, node: NodeId) -> &str {
        &self.nodes[node.0]
    }

    /// All node names; the position is the [`NodeId`].
    pub fn node_names(&self) -> impl ExactSizeIterator<Item = &str> {
        self.nodes.iter().map(String::as_str)
    }

    /// Number of nodes, `gnd` and `in` included.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.nodes.len()
    }

    /// Adds a part, or puts it in the place of the part of the same name, which is returned.
    pub fn insert(&mut self, name: impl Into<String>, part: Part) -> Option<Part> {
        self.parts.insert(name.into(), part)
    }

    /// All parts by name, in the builder's order.
    #[must_use]
    pub fn parts(&self) -> &IndexMap<String, Part> {
        &self.parts
    }

    /// All parts by name, to change values in place.
    pub fn parts_mut(&mut self) -> &mut IndexMap<String, Part> {
        &mut self.parts
    }

    /// Swaps the two wires of a driver; a network that does not feed it stays as it is.
    pub fn swap_wires(&mut self, of: &str) {
        for part in self.parts.values_mut() {
            if let PartKind::Driver {
                driver, inverted, ..
            } = &mut part.kind
                && driver == of
            {
                *inverted = !*inverted;
            }
        }
    }

    /// Drivers whose wires may be swapped, in the order of the parts. All swapped sound as none, so that one stays:
    /// those that are fixed, or else the first.
    #[must_use]
    pub fn swappable_drivers(&self) -> Vec<&str> {
        let drivers = self.parts.values().filter_map(|part| match &part.kind {
            PartKind::Driver { driver, .. } => Some((driver.as_str(), part.fixed)),
            _ => None,
        });
        let any_fixed = drivers.clone().any(|(_, fixed)| fixed);
        drivers
            .skip(usize::from(!any_fixed))
            .filter(|(_, fixed)| !fixed)
            .map(|(driver, _)| driver)
            .collect()
    }

    /// Names of the drivers that the network feeds, in the order of the parts.
    pub fn driver_names(&self) -> impl Iterator<Item = &str> {
        self.parts.values().filter_map(|part| match &part.kind {
            PartKind::Driver { driver, .. } => Some(driver.as_str()),
            _ => None,
        })
    }

    /// Number of parts, drivers not counted.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.parts.len() - self.driver_names().count()
    }
}

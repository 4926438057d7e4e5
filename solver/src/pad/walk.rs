//! Walks through a network: which parts hang together, and which resistors act as one.

use netlist::network::{Network, NodeId, Part, PartKind};

/// Parts that hang together.
#[derive(Debug, Clone, Default)]
pub(super) struct Reached {
    /// Their names, in the order in which they were met.
    pub(super) parts: Vec<String>,
    /// Nodes between them, those where the walk ended included.
    pub(super) nodes: Vec<NodeId>,
    /// Where the walk ended.
    pub(super) ends: Vec<NodeId>,
}

impl Reached {
    /// Whether they lie between two ends and nowhere else.
    pub(super) fn only(&self, between: [NodeId; 2]) -> bool {
        self.ends.iter().all(|end| between.contains(end))
    }

    /// Whether all are parts with two ends and a field of their own.
    pub(super) fn plain(&self, network: &Network) -> bool {
        self.parts.iter().all(|name| is_plain(network, name))
    }

    /// The same, or drivers.
    pub(super) fn plain_or_drivers(&self, network: &Network) -> bool {
        let mut parts = self.parts.iter();
        parts.all(|name| is_plain(network, name) || is_driver(network, name))
    }
}

/// Resistors of a network that act as one between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct JoinedResistors {
    pub(super) ohm: f64,
    pub(super) ends: [NodeId; 2],
    /// Their names, each with its share of the power.
    pub(super) shares: Vec<(String, f64)>,
}

impl JoinedResistors {
    pub(super) fn names(&self) -> impl Iterator<Item = &String> {
        self.shares.iter().map(|(name, _)| name)
    }

    /// The end that is not `node`; `None` when it does not lie there.
    pub(super) fn beyond(&self, node: NodeId) -> Option<NodeId> {
        let [a, b] = self.ends;
        match (a == node, b == node) {
            (true, _) => Some(b),
            (_, true) => Some(a),
            _ => None,
        }
    }

    fn together(&self, other: &Self, ohm: f64, ends: [NodeId; 2], series: bool) -> Self {
        let shares = [self, other].into_iter().flat_map(|one| {
            let share = if series { one.ohm / ohm } else { ohm / one.ohm };
            one.shares
                .iter()
                .map(move |(name, of)| (name.clone(), of * share))
        });
        Self {
            ohm,
            ends,
            shares: shares.collect(),
        }
    }
}

/// The drivers of a network: name of the part, of the driver, and the terminals.
pub(super) fn drivers(network: &Network) -> impl Iterator<Item = (&String, &String, [NodeId; 2])> {
    (network.parts().iter()).filter_map(|(name, part)| match &part.kind {
        PartKind::Driver {
            driver, between, ..
        } => Some((name, driver, *between)),
        _ => None,
    })
}

/// The first part that is this driver, and its terminals: the return is the second where it is one of them.
pub(super) fn driver_ends<'a>(
    network: &'a Network,
    driver: &str,
) -> Option<(&'a String, [NodeId; 2])> {
    let (part, _, [a, b]) = drivers(network).find(|(_, name, _)| *name == driver)?;
    Some((part, if a == NodeId::GND { [b, a] } else { [a, b] }))
}

/// Takes nodes of parts, by their names, to others.
pub(super) fn move_nodes(network: &mut Network, mut to: impl FnMut(&String, NodeId) -> NodeId) {
    for (name, part) in network.parts_mut() {
        for node in part.kind.nodes_mut() {
            *node = to(name, *node);
        }
    }
}

/// Takes parts out, and with coils their couplings.
pub(super) fn take_out(network: &mut Network, goes: impl Fn(&String, &Part) -> bool) {
    let parts = network.parts().iter();
    let mut gone: Vec<String> = (parts.filter(|(name, part)| goes(name, part)))
        .map(|(name, _)| name.clone())
        .collect();
    let couplings = network.parts().iter();
    let couplings = couplings.filter(|(_, part)| couples_one_of(&part.kind, &gone));
    let couplings: Vec<String> = couplings.map(|(name, _)| name.clone()).collect();
    gone.extend(couplings);
    network.parts_mut().retain(|name, _| !gone.contains(name));
}

/// A network without the parts that go, with nodes of the others taken to others.
pub(super) fn part_of(
    network: &Network,
    goes: impl Fn(&String, &Part) -> bool,
    to: impl FnMut(&String, NodeId) -> NodeId,
) -> Network {
    let mut out = network.clone();
    take_out(&mut out, goes);
    move_nodes(&mut out, to);
    out.without_bare_nodes()
}

pub(super) fn couples_one_of(kind: &PartKind, coils: &[String]) -> bool {
    match kind {
        PartKind::Coupling { inductors, .. } => inductors.iter().any(|coil| coils.contains(coil)),
        _ => false,
    }
}

pub(super) fn touches(kind: &PartKind, node: NodeId) -> bool {
    kind.nodes().any(|joined| joined == node)
}

/// Parts at a node.
pub(super) fn at(network: &Network, node: NodeId) -> impl Iterator<Item = &String> {
    let parts = network.parts().iter();
    parts
        .filter(move |(_, part)| touches(&part.kind, node))
        .map(|(name, _)| name)
}

/// All parts that hang together with the parts `from`, without passing one of `ends` or a part of
/// `without`. Coils that are coupled hang together.
pub(super) fn reach(
    network: &Network,
    from: Vec<String>,
    ends: &[NodeId],
    without: &[String],
) -> Reached {
    let mut reached = Reached {
        parts: from,
        ..Reached::default()
    };
    let mut at_part = 0;
    while at_part < reached.parts.len() {
        let name = reached.parts[at_part].clone();
        at_part += 1;
        let kind = &network.parts()[&name].kind;
        let mut more: Vec<String> = (network.parts().values())
            .filter(|part| couples_one_of(&part.kind, std::slice::from_ref(&name)))
            .flat_map(|part| match &part.kind {
                PartKind::Coupling { inductors, .. } => inductors.to_vec(),
                _ => Vec::new(),
            })
            .collect();
        for node in kind.nodes() {
            if reached.nodes.contains(&node) {
                continue;
            }
            reached.nodes.push(node);
            match ends.contains(&node) {
                true => reached.ends.push(node),
                false => more.extend(at(network, node).cloned()),
            }
        }
        for name in more {
            let known = network.parts().contains_key(&name);
            if known && !without.contains(&name) && !reached.parts.contains(&name) {
                reached.parts.push(name);
            }
        }
    }
    reached
}

/// The groups of parts that hang at a node, as [`reach`] finds them; `ends` must hold the node.
pub(super) fn groups_at(
    network: &Network,
    node: NodeId,
    ends: &[NodeId],
    without: &[String],
) -> Vec<Reached> {
    let mut groups: Vec<Reached> = Vec::new();
    for name in at(network, node) {
        let seen = groups.iter().any(|group| group.parts.contains(name));
        if !seen && !without.contains(name) {
            groups.push(reach(network, vec![name.clone()], ends, without));
        }
    }
    groups
}

/// Whether a part has two ends and no magnetic field in common with another.
fn is_plain(network: &Network, name: &String) -> bool {
    let two_ended = matches!(
        network.parts()[name].kind,
        PartKind::Resistor { .. } | PartKind::Capacitor { .. } | PartKind::Inductor { .. }
    );
    let mut parts = network.parts().values();
    two_ended && !parts.any(|part| couples_one_of(&part.kind, std::slice::from_ref(name)))
}

pub(super) fn is_driver(network: &Network, name: &String) -> bool {
    matches!(network.parts()[name].kind, PartKind::Driver { .. })
}

/// Whether a direct current flows through these parts from one node to another.
pub(super) fn conducts(network: &Network, parts: &[String], from: NodeId, to: NodeId) -> bool {
    let mut direct = network.clone();
    direct.parts_mut().retain(|name, part| {
        !matches!(part.kind, PartKind::Capacitor { .. }) && parts.contains(name)
    });
    direct.reached(from, &[])[to.0]
}

/// The resistors of a network, those joined that lie side by side or one after the other with nothing
/// between; at the nodes `keep` none are joined in series.
pub(super) fn joined_resistors(network: &Network, keep: &[NodeId]) -> Vec<JoinedResistors> {
    let mut all: Vec<JoinedResistors> = (network.parts().iter())
        .filter_map(|(name, part)| match part.kind {
            PartKind::Resistor {
                resistance,
                between,
            } => Some(JoinedResistors {
                ohm: resistance.0,
                ends: between,
                shares: vec![(name.clone(), 1.0)],
            }),
            _ => None,
        })
        .collect();
    // Nodes where something else than resistors lies.
    let busy = |node: NodeId| {
        let mut parts = network.parts().values();
        parts.any(|part| {
            !matches!(part.kind, PartKind::Resistor { .. }) && touches(&part.kind, node)
        })
    };
    while let Some((i, j, joined)) = next_joined(&all, keep, &busy) {
        all[i] = joined;
        all.remove(j);
    }
    all
}

/// Two that can be joined, the first before the second, and what they make.
fn next_joined(
    all: &[JoinedResistors],
    keep: &[NodeId],
    busy: &dyn Fn(NodeId) -> bool,
) -> Option<(usize, usize, JoinedResistors)> {
    for (i, a) in all.iter().enumerate() {
        for (j, b) in all.iter().enumerate().skip(i + 1) {
            if a.ends == b.ends || a.ends == [b.ends[1], b.ends[0]] {
                let ohm = 1.0 / (1.0 / a.ohm + 1.0 / b.ohm);
                return Some((i, j, a.together(b, ohm, a.ends, false)));
            }
            let common = a.ends.into_iter().find(|node| b.ends.contains(node));
            let Some(node) = common.filter(|node| !keep.contains(node) && !busy(*node)) else {
                continue;
            };
            if all.iter().filter(|r| r.ends.contains(&node)).count() == 2 {
                let far = |r: &JoinedResistors| r.beyond(node);
                let ends = [far(a)?, far(b)?];
                return Some((i, j, a.together(b, a.ohm + b.ohm, ends, true)));
            }
        }
    }
    None
}

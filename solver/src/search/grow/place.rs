//! Where a network can change, and the change itself made in the network.

use netlist::network::{Network, NodeId, Part, PartKind, numbered_name};

use super::section::{Joining, Losses, Section};

/// A place for a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// Across two nodes.
    Across([NodeId; 2]),
    /// In the common lead of some parts (positions in the network) at a node.
    InLead {
        /// The node.
        node: NodeId,
        /// The parts whose ends at that node move behind the section.
        parts: Vec<usize>,
    },
}

impl Place {
    /// How the parts of a section are joined here.
    #[must_use]
    pub fn joining(&self) -> Joining {
        match self {
            Place::Across(_) => Joining::InSeries,
            Place::InLead { .. } => Joining::SideBySide,
        }
    }
}

/// What may be done to a network besides moving its values.
#[derive(Debug, Clone, PartialEq)]
pub enum Move {
    /// A section more.
    Add(Place, Section),
    /// A part replaced by one part of another kind.
    Exchange(usize, Section),
    /// A part taken out.
    Open(usize),
    /// A part replaced by a wire.
    Short(usize),
}

impl Move {
    /// Parts more, or less.
    #[must_use]
    pub fn parts_more(&self) -> isize {
        match self {
            Move::Add(_, section) => section.part_count() as isize,
            Move::Exchange(..) => 0,
            Move::Open(_) | Move::Short(_) => -1,
        }
    }
}

/// The nodes of every part of one way: for each part of the network whether it belongs to the way's
/// block, everything that hangs together with the driver without passing `in` or `gnd`.
#[must_use]
pub fn block_of(network: &Network, driver: &str) -> Vec<bool> {
    let mut groups = network.inner_groups();
    let feeds =
        |part: &Part| matches!(&part.kind, PartKind::Driver { driver: d, .. } if d == driver);
    let own = network.parts().values().filter(|part| feeds(part));
    let own: Vec<usize> = (own.flat_map(|part| part.kind.nodes()))
        .filter(|node| node.is_inner())
        .map(|node| groups.of(node.0))
        .collect();
    let mut joined = |node: NodeId| node.is_inner() && own.contains(&groups.of(node.0));
    (network.parts().values())
        .map(|part| feeds(part) || part.kind.nodes().any(&mut joined))
        .collect()
}

/// Most parts at a node whose groups are told apart.
const MOST_AT_A_NODE: usize = 5;

/// All places of one way's block.
#[must_use]
pub fn places(network: &Network, inside: &[bool]) -> Vec<Place> {
    let parts: Vec<&Part> = network.parts().values().collect();
    let mut nodes: Vec<NodeId> = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        if inside[index] {
            nodes.extend(part.kind.nodes());
        }
    }
    nodes.sort_unstable();
    nodes.dedup();
    let mut places = Vec::new();
    for (i, &a) in nodes.iter().enumerate() {
        for &b in &nodes[..i] {
            // Across the amplifier a part does nothing for the sound.
            if (a, b) != (NodeId::IN, NodeId::GND) {
                places.push(Place::Across([a, b]));
            }
        }
    }
    let mut alone = vec![false; parts.len()];
    for &node in nodes.iter().filter(|&&node| node != NodeId::GND) {
        let at: Vec<usize> = (0..parts.len())
            .filter(|&index| inside[index] && parts[index].kind.nodes().any(|own| own == node))
            .collect();
        // The ends of windings stay where they are.
        let (movable, held): (Vec<usize>, Vec<usize>) = at.iter().partition(|&&index| {
            let (name, part) = network.parts().get_index(index).expect("a part of it");
            !matches!(part.kind, PartKind::Autoformer { .. }) && !network.is_coupled(name)
        });
        let movable = &movable[..movable.len().min(MOST_AT_A_NODE)];
        // A section between two groups at a node is the same seen from either.
        let from_either = node != NodeId::IN && held.is_empty() && at.len() == movable.len();
        for mask in 1usize..1 << movable.len() {
            if from_either && mask & 1 != 0 {
                continue;
            }
            let group: Vec<usize> = (0..movable.len())
                .filter(|i| mask >> i & 1 == 1)
                .map(|i| movable[i])
                .collect();
            if let [single] = group[..] {
                if alone[single] {
                    continue;
                }
                alone[single] = true;
            }
            places.push(Place::InLead { node, parts: group });
        }
    }
    places
}

/// A name for a new part that the network does not use yet.
fn free_name(network: &Network, kind: &PartKind) -> String {
    let letter = kind.letter().expect("a part of a section");
    numbered_name(letter, |name| network.parts().contains_key(name))
}

fn free_node(network: &mut Network) -> NodeId {
    let name = numbered_name("n", |name| network.find_node(name).is_some());
    network.node(&name)
}

/// Moves the ends of a part that are at `from` to `to`.
fn reconnect(kind: &mut PartKind, from: NodeId, to: NodeId) {
    for node in kind.nodes_mut() {
        if *node == from {
            *node = to;
        }
    }
}

fn set_between(kind: &mut PartKind, ends: [NodeId; 2]) {
    match kind {
        PartKind::Resistor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Capacitor { between, .. } => *between = ends,
        _ => {}
    }
}

/// The network after a move; `None` where nothing sensible is left.
pub fn moved(network: &Network, step: &Move, losses: &Losses) -> Option<Network> {
    let mut next = network.clone();
    match step {
        Move::Add(place, section) => add(&mut next, place, *section, losses),
        Move::Exchange(part, section) => {
            let own = &mut next.parts_mut()[*part];
            let ends = own.kind.between()?;
            let mut kind = section.kinds(losses).into_iter().next()?;
            set_between(&mut kind, ends);
            let name = free_name(&next, &kind);
            next.parts_mut().shift_remove_index(*part);
            next.parts_mut().shift_insert(*part, name, Part::new(kind));
        }
        Move::Open(part) => {
            next.parts_mut().shift_remove_index(*part);
        }
        Move::Short(part) => {
            let (_, own) = next.parts_mut().shift_remove_index(*part)?;
            let [a, b] = own.kind.between()?;
            // A terminal stays a terminal.
            let (from, to) = if a.0 > b.0 { (a, b) } else { (b, a) };
            if from.0 <= NodeId::IN.0 {
                return None;
            }
            for part in next.parts_mut().values_mut() {
                reconnect(&mut part.kind, from, to);
            }
        }
    }
    tidy(&mut next).then_some(next)
}

fn add(network: &mut Network, place: &Place, section: Section, losses: &Losses) {
    let kinds = section.kinds(losses);
    match place {
        Place::Across([a, b]) => {
            let last = kinds.len() - 1;
            let mut from = *a;
            for (i, mut kind) in kinds.into_iter().enumerate() {
                let to = if i == last { *b } else { free_node(network) };
                set_between(&mut kind, [from, to]);
                let name = free_name(network, &kind);
                network.insert(name, Part::new(kind));
                from = to;
            }
        }
        Place::InLead { node, parts } => {
            let behind = free_node(network);
            for &part in parts {
                reconnect(&mut network.parts_mut()[part].kind, *node, behind);
            }
            for mut kind in kinds {
                set_between(&mut kind, [*node, behind]);
                let name = free_name(network, &kind);
                network.insert(name, Part::new(kind));
            }
        }
    }
}

/// Takes out what carries no current and joins parts of one kind that act as one; says whether every
/// driver is still fed.
pub(super) fn tidy(network: &mut Network) -> bool {
    while drop_idle(network) || join_alike(network) {}
    *network = network.without_bare_nodes();
    network.parts().values().all(|part| match part.kind {
        PartKind::Driver {
            between: [a, b], ..
        } => a != b,
        _ => true,
    })
}

/// A part that is shorted, or hangs on one end; one at a time.
fn drop_idle(network: &mut Network) -> bool {
    let degrees = network.degrees();
    let idle = network.parts().iter().position(|(name, part)| {
        let two_ended = matches!(
            part.kind,
            PartKind::Resistor { .. } | PartKind::Inductor { .. } | PartKind::Capacitor { .. }
        );
        let Some([a, b]) = part.kind.between().filter(|_| two_ended) else {
            return false;
        };
        let loose = |node: NodeId| node.is_inner() && degrees[node.0] < 2;
        let across_amplifier = a.0 <= NodeId::IN.0 && b.0 <= NodeId::IN.0;
        (a == b || loose(a) || loose(b) || across_amplifier)
            && !part.fixed
            && !network.is_coupled(name)
    });
    if let Some(index) = idle {
        network.parts_mut().shift_remove_index(index);
    }
    idle.is_some()
}

/// Two parts of one kind side by side, or one after the other with nothing between.
fn join_alike(network: &mut Network) -> bool {
    let degrees = network.degrees();
    let count = network.parts().len();
    for i in 0..count {
        for j in 0..i {
            let (Some((name, a)), Some((other, b))) =
                (network.parts().get_index(i), network.parts().get_index(j))
            else {
                continue;
            };
            if a.fixed || b.fixed || network.is_coupled(name) || network.is_coupled(other) {
                continue;
            }
            let (Some([p, q]), Some([r, s])) = (a.kind.between(), b.kind.between()) else {
                continue;
            };
            let side_by_side = (p, q) == (r, s) || (p, q) == (s, r);
            let shared = [p, q]
                .into_iter()
                .find(|node| node.is_inner() && degrees[node.0] == 2 && (*node == r || *node == s));
            let Some(mut joined) = joined(&a.kind, &b.kind, side_by_side) else {
                continue;
            };
            let ends = match (side_by_side, shared) {
                (true, _) => [r, s],
                (false, Some(node)) => {
                    [if r == node { s } else { r }, if p == node { q } else { p }]
                }
                (false, None) => continue,
            };
            set_between(&mut joined, ends);
            network.parts_mut()[j].kind = joined;
            network.parts_mut().shift_remove_index(i);
            return true;
        }
    }
    false
}

/// One part that acts as two of its kind; its loss is worked out anew by the next fit.
fn joined(a: &PartKind, b: &PartKind, side_by_side: bool) -> Option<PartKind> {
    let adds = |a: f64, b: f64, plainly: bool| if plainly { a + b } else { a * b / (a + b) };
    let mut kind = a.clone();
    match (&mut kind, b) {
        (PartKind::Resistor { resistance: x, .. }, PartKind::Resistor { resistance: y, .. }) => {
            x.0 = adds(x.0, y.0, !side_by_side);
        }
        (
            PartKind::Inductor {
                inductance: x, dcr, ..
            },
            PartKind::Inductor {
                inductance: y,
                dcr: other,
                ..
            },
        ) => {
            x.0 = adds(x.0, y.0, !side_by_side);
            dcr.0 = dcr.0.min(other.0);
        }
        (
            PartKind::Capacitor { capacitance: x, .. },
            PartKind::Capacitor { capacitance: y, .. },
        ) => {
            x.0 = adds(x.0, y.0, side_by_side);
        }
        _ => return None,
    }
    Some(kind)
}

/// What tells one shape of network from another, whatever the names and values: the same for networks
/// whose parts of the same kinds are joined in the same way.
#[must_use]
pub fn signature(network: &Network) -> u64 {
    let kind = |part: &Part| -> u64 {
        match &part.kind {
            PartKind::Resistor { .. } => 1,
            PartKind::Inductor { .. } => 2,
            PartKind::Capacitor { .. } => 3,
            PartKind::Autoformer { .. } => 4,
            PartKind::Coupling { .. } => 5,
            PartKind::Driver {
                driver, inverted, ..
            } => {
                let bytes = driver
                    .bytes()
                    .fold(6, |hash, byte| mix(hash, u64::from(byte)));
                mix(bytes, u64::from(*inverted))
            }
        }
    };
    let mut label: Vec<u64> = (0..network.node_count())
        .map(|i| if i < 2 { i as u64 } else { 9 })
        .collect();
    let ended: Vec<(u64, [usize; 2])> = network
        .parts()
        .values()
        .filter_map(|part| {
            let [a, b] = part.kind.between()?;
            Some((kind(part), [a.0, b.0]))
        })
        .collect();
    for _ in 0..ROUNDS {
        let mut sums = label.clone();
        for &(kind, [a, b]) in &ended {
            // Sums do not depend on the order of the parts.
            sums[a] = sums[a].wrapping_add(mix(mix(7, kind), label[b]));
            sums[b] = sums[b].wrapping_add(mix(mix(7, kind), label[a]));
        }
        label = sums.into_iter().map(|sum| mix(11, sum)).collect();
    }
    ended.iter().fold(0, |sum, &(kind, [a, b])| {
        let ends = label[a].wrapping_add(label[b]);
        sum.wrapping_add(mix(mix(13, kind), ends))
    })
}

/// Rounds in which nodes learn of their neighbours: as far as a way reaches.
const ROUNDS: usize = 6;

/// A 64-bit mix (the finaliser of D. Stafford's variant 13 of MurmurHash3's).
fn mix(hash: u64, value: u64) -> u64 {
    let mut x = hash.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(value);
    x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

#[cfg(test)]
mod tests {
    use netlist::quantity::{Farads, Henries, Ohms};

    use super::*;

    /// Two parts of each kind, one after the other or side by side before a driver, are one of their joint value.
    #[test]
    fn parts_of_one_kind_are_joined_by_value() {
        let of = |kind: char, value: f64, between: [NodeId; 2]| match kind {
            'R' => PartKind::Resistor {
                resistance: Ohms(value),
                between,
            },
            'L' => PartKind::Inductor {
                inductance: Henries(value),
                dcr: Ohms(0.1),
                between,
            },
            _ => PartKind::Capacitor {
                capacitance: Farads(value),
                esr: Ohms(0.0),
                between,
            },
        };
        for (kind, in_series, expected) in [
            ('R', true, 25.0),
            ('R', false, 6.0),
            ('L', true, 25.0),
            ('L', false, 6.0),
            ('C', true, 6.0),
            ('C', false, 25.0),
        ] {
            let mut network = Network::new();
            let [a, b] = ["a", "b"].map(|name| network.node(name));
            let ends = match in_series {
                true => [[NodeId::IN, a], [a, b]],
                false => [[NodeId::IN, b], [b, NodeId::IN]],
            };
            for (number, (value, ends)) in [10.0, 15.0].into_iter().zip(ends).enumerate() {
                network.insert(format!("P{number}"), Part::new(of(kind, value, ends)));
            }
            let driver = PartKind::Driver {
                driver: "low".to_owned(),
                between: [b, NodeId::GND],
                inverted: false,
            };
            network.insert("LOW".to_owned(), Part::new(driver));
            assert!(tidy(&mut network));
            assert_eq!(network.parts().len(), 2, "{kind} {in_series}");
            let found = network.parts()[0].value_si().unwrap();
            assert!(
                (found - expected).abs() < 1e-9,
                "{kind} {in_series}: {found}"
            );
        }
    }
}

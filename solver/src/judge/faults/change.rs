//! A network with something opened or shorted: exactly, by taking parts out and joining nodes.

use netlist::network::{Groups, Network, NodeId, Part, PartKind, Tap, primed_name};
use netlist::quantity::{Henries, Ohms};

use super::FaultKind;

const GND: usize = NodeId::GND.0;
const IN: usize = NodeId::IN.0;

/// What is done to a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NetworkFault {
    /// Position of the part.
    pub(super) part: usize,
    /// What is wrong with it.
    pub(super) kind: FaultKind,
    /// Section of an autoformer, counted from the top.
    pub(super) section: Option<usize>,
}

/// What is left of a network.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum FaultyNetwork {
    /// A network that can be solved. A part that cannot carry current any more is taken out.
    Network(Network),
    /// The amplifier's terminals are joined.
    DeadShort,
    /// No current leaves the amplifier.
    NoLoad,
}

/// The sections of an autoformer, from the top: their two nodes and their share of the turns.
pub(super) fn sections(kind: &PartKind) -> Vec<([NodeId; 2], f64)> {
    let PartKind::Autoformer { between, taps, .. } = kind else {
        return Vec::new();
    };
    let mut taps: Vec<&Tap> = taps.iter().collect();
    taps.sort_by(|a, b| b.ratio.total_cmp(&a.ratio));
    let lower = (taps.iter().map(|tap| (tap.node, tap.ratio))).chain([(between[1], 0.0)]);
    let mut upper = (between[0], 1.0);
    lower
        .map(|lower| {
            let section = ([upper.0, lower.0], upper.1 - lower.1);
            upper = lower;
            section
        })
        .collect()
}

/// The network after a change.
pub(super) fn changed(network: &Network, fault: NetworkFault) -> FaultyNetwork {
    let mut sketch = Sketch {
        parts: (network.parts().iter())
            .map(|(name, part)| (name.clone(), part.clone()))
            .collect(),
        nodes: network.node_count(),
        dead_short: false,
    };
    let kind = &network.parts()[fault.part].kind;
    let ends = match fault.section {
        Some(section) => sections(kind).get(section).map(|(ends, _)| *ends),
        None => kind.between(),
    };
    match fault.kind {
        FaultKind::DriverDisconnected | FaultKind::PartOpen => sketch.take_out(fault.part),
        FaultKind::SectionOpen => {
            sketch.open_section(fault.part, fault.section.unwrap_or_default());
        }
        FaultKind::DriverShorted | FaultKind::PartShorted | FaultKind::SectionShorted => {
            if let Some(ends) = ends {
                sketch.join(ends.map(|node| node.0));
            }
        }
    }
    if sketch.dead_short {
        return FaultyNetwork::DeadShort;
    }
    sketch.drop_idle();
    let connected = sketch.connected();
    if connected[IN] != connected[GND] {
        return FaultyNetwork::NoLoad;
    }
    sketch.ground_floating(&connected);
    FaultyNetwork::Network(sketch.network(network))
}

/// A network being changed; its nodes keep their numbers until the end.
struct Sketch {
    parts: Vec<(String, Part)>,
    nodes: usize,
    dead_short: bool,
}

impl Sketch {
    /// Takes a part out, with the couplings of a coil.
    fn take_out(&mut self, part: usize) {
        let (name, _) = self.parts.remove(part);
        self.parts.retain(|(_, part)| !part.kind.couples(&name));
    }

    /// Makes two nodes one, that of the lower number: `gnd` before `in` before all others.
    fn join(&mut self, ends: [usize; 2]) {
        let (kept, gone) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        self.rename(|node| if node == gone { kept } else { node });
        self.dead_short |= [kept, gone] == [GND, IN];
    }

    fn rename(&mut self, to: impl Fn(usize) -> usize) {
        for (_, part) in &mut self.parts {
            for node in part.kind.nodes_mut() {
                *node = NodeId(to(node.0));
            }
        }
    }

    /// Puts coupled coils in the place of an autoformer, but for one section: without current it does
    /// nothing to the others.
    fn open_section(&mut self, part: usize, open: usize) {
        let (name, whole) = self.parts.remove(part);
        let PartKind::Autoformer {
            inductance,
            dcr,
            coupling,
            ..
        } = whole.kind
        else {
            self.parts.insert(part, (name, whole));
            return;
        };
        let sections = sections(&whole.kind);
        // The whole winding, all sections in series, has the stated inductance.
        let own: f64 = sections.iter().map(|(_, turns)| turns * turns).sum();
        let total: f64 = sections.iter().map(|(_, turns)| turns).sum();
        let per_turn_square = inductance.0 / (own + coupling * (total * total - own));
        let mut coils: Vec<String> = Vec::new();
        let mut made = Vec::new();
        for (number, (between, turns)) in sections.into_iter().enumerate() {
            if number == open {
                continue;
            }
            let coil = primed_name(&format!("{name} section {}", number + 1), |name| {
                self.taken(name)
            });
            let kind = PartKind::Inductor {
                inductance: Henries(per_turn_square * turns * turns),
                dcr: Ohms(dcr.0 * turns),
                between,
            };
            made.push((coil.clone(), Part::new(kind)));
            for other in &coils {
                let kind = PartKind::Coupling {
                    inductors: [other.clone(), coil.clone()],
                    factor: coupling,
                };
                let link = primed_name(&format!("{other} to {coil}"), |name| self.taken(name));
                made.push((link, Part::new(kind)));
            }
            coils.push(coil);
        }
        self.parts.splice(part..part, made);
    }

    fn taken(&self, wanted: &str) -> bool {
        self.parts.iter().any(|(name, _)| name == wanted)
    }

    fn coupled(&self, name: &str) -> bool {
        self.parts.iter().any(|(_, part)| part.kind.couples(name))
    }

    /// Takes out what carries no current: parts whose both ends are one node, parts with an end that
    /// leads nowhere, autoformers held by one node only. A shorted coil that is coupled to others stays:
    /// they drive a current through it.
    fn drop_idle(&mut self) {
        while let Some(idle) = (0..self.parts.len()).find(|&part| self.idle(part)) {
            self.take_out(idle);
        }
    }

    fn idle(&self, part: usize) -> bool {
        let (name, found) = &self.parts[part];
        let joined_elsewhere = |node: usize| {
            let others = self.parts.iter().enumerate();
            node == GND
                || node == IN
                || others
                    .filter(|(other, _)| *other != part)
                    .any(|(_, (_, other))| other.kind.nodes().any(|joined| joined.0 == node))
        };
        match &found.kind {
            PartKind::Coupling { .. } => false,
            PartKind::Autoformer { .. } => {
                let mut held: Vec<usize> = found.kind.nodes().map(|node| node.0).collect();
                held.sort_unstable();
                held.dedup();
                held.into_iter()
                    .filter(|&node| joined_elsewhere(node))
                    .count()
                    < 2
            }
            kind => {
                let [a, b] = kind.between().unwrap_or_default().map(|node| node.0);
                if a == b {
                    !self.coupled(name)
                } else {
                    !joined_elsewhere(a) || !joined_elsewhere(b)
                }
            }
        }
    }

    /// For each node the lowest node that it is joined to by parts.
    fn connected(&self) -> Vec<usize> {
        let mut groups = Groups::new(self.nodes);
        for (_, part) in &self.parts {
            groups.unite(part.kind.nodes().map(|node| node.0));
        }
        (0..self.nodes).map(|node| groups.of(node)).collect()
    }

    /// Joins one node of every part of the network that hangs in the air to `gnd`: through one
    /// connection no current flows, so that nothing changes but that its voltages have a reference.
    fn ground_floating(&mut self, connected: &[usize]) {
        let floating = |node: usize| connected[node] == node && node != GND && node != IN;
        self.rename(|node| if floating(node) { GND } else { node });
    }

    fn network(self, of: &Network) -> Network {
        let mut network = Network::new();
        let mut nodes: Vec<Option<NodeId>> = vec![None; of.node_count()];
        // In the order in which they are used, as when a builder writes them.
        for (_, part) in &self.parts {
            for node in part.kind.nodes() {
                nodes[node.0] = Some(network.node(of.node_name(node)));
            }
        }
        let mut sketch = self;
        sketch.rename(|node| nodes[node].unwrap_or_default().0);
        for (name, part) in sketch.parts {
            network.insert(name, part);
        }
        network
    }
}

//! What hangs at a driver's terminal besides its pad: across the driver, across the series resistor, or
//! elsewhere.

use netlist::network::{Network, NodeId, PartKind};

use super::in_network::{PadInNetwork, couples_one_of, nodes, nodes_mut, touches};
use crate::grid::Grid;
use crate::nodal::{Drive, Plan, Solution, Values, Workspace};
use crate::spectrum::Spectrum;
use crate::synthesis::Pad;

impl PadInNetwork {
    /// Sorts what else hangs at the driver's terminal by where it leads.
    pub(super) fn neighbours(&mut self, network: &Network) {
        let ends = [self.hot, self.top, self.back, NodeId::GND, NodeId::IN];
        let mut seen: Vec<&String> = Vec::new();
        for (name, part) in network.parts() {
            let pads_own = *name == self.driver_part || self.parts.contains(name);
            if pads_own || seen.contains(&name) || !touches(&part.kind, self.hot) {
                continue;
            }
            // All parts that hang together without passing one of the ends.
            let mut group = vec![name];
            let mut reached: Vec<NodeId> = Vec::new();
            let mut inner: Vec<NodeId> = Vec::new();
            let mut at = 0;
            while at < group.len() {
                for node in nodes(&network.parts()[group[at]].kind) {
                    if ends.contains(&node) {
                        reached.push(node);
                    } else if !inner.contains(&node) {
                        inner.push(node);
                        let others = network
                            .parts()
                            .iter()
                            .filter(|(_, part)| touches(&part.kind, node));
                        for (other, _) in others {
                            if !group.contains(&other) {
                                group.push(other);
                            }
                        }
                    }
                }
                at += 1;
            }
            let only = |end: NodeId| reached.iter().all(|node| *node == self.hot || *node == end);
            let plain = group.iter().all(|name| self.is_plain(network, name));
            let autoformer = matches!(self.pad, Some(Pad::Autoformer { .. }));
            let to_back = plain && only(self.back);
            let to_top = plain && only(self.top) && !autoformer;
            let names = group.iter().map(|name| (*name).clone());
            if to_back {
                self.across.extend(names);
            } else if to_top {
                self.bridge.extend(names);
            } else {
                self.beside.push(name.clone());
            }
            seen.extend(group);
        }
    }

    /// Whether a part has two ends and no magnetic field in common with another.
    fn is_plain(&self, network: &Network, name: &String) -> bool {
        let two_ended = matches!(
            network.parts()[name].kind,
            PartKind::Resistor { .. } | PartKind::Capacitor { .. } | PartKind::Inductor { .. }
        );
        let mut parts = network.parts().values();
        let coupled = parts.any(|part| couples_one_of(&part.kind, std::slice::from_ref(name)));
        two_ended && !coupled && !self.parts.contains(name)
    }

    /// Admittances across the driver and across the series resistor, over a grid; in siemens.
    #[must_use]
    pub fn beside_siemens(&self, network: &Network, grid: &Grid) -> [Option<Spectrum>; 2] {
        [(&self.across, self.back), (&self.bridge, self.top)]
            .map(|(parts, end)| self.two_terminal(network, parts, end, grid))
    }

    /// Admittance of some parts between the driver's terminal and `end`.
    fn two_terminal(
        &self,
        network: &Network,
        parts: &[String],
        end: NodeId,
        grid: &Grid,
    ) -> Option<Spectrum> {
        if parts.is_empty() {
            return None;
        }
        let mut alone = Network::new();
        for name in parts {
            let mut part = network.parts()[name].clone();
            for node in nodes_mut(&mut part.kind) {
                *node = if *node == self.hot {
                    NodeId::IN
                } else if *node == end {
                    NodeId::GND
                } else {
                    alone.node(&format!("inner {}", network.node_name(*node)))
                };
            }
            alone.insert(name.clone(), part);
        }
        // Parts of a network that can be solved have sensible values.
        let plan = Plan::compile(&alone).ok()?;
        let mut workspace = Workspace::new(&plan, grid, &[]).ok()?;
        let mut solution = Solution::new(&plan, &workspace);
        let drive = Drive {
            open_circuit_v: 1.0,
            output_impedance_ohm: 0.0,
        };
        plan.run(&Values::of(&alone), drive, &mut workspace, &mut solution);
        let (re, im) = solution.input_admittance();
        Some(Spectrum {
            re: re.to_vec(),
            im: im.to_vec(),
        })
    }

    /// The network with the driver straight on the filter's output, without its pad and what is across or
    /// bridges it.
    #[must_use]
    pub fn without_pad(&self, network: &Network) -> Network {
        let mut place = self.clone();
        place.parts.extend_from_slice(&self.across);
        place.parts.extend_from_slice(&self.bridge);
        place.with_pad(network, None)
    }
}

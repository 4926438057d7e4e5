//! What a network shows between all its nodes: enough to know it after any change of admittances
//! between them, by the law of several branches in the parent module.

use num_complex::Complex64;

use super::chunk::{group_impedance, invert_symmetric};
use super::drive::STIFF;
use super::lanes::LANES;
use super::pass::Pass;
use super::plan::Plan;
use super::topology::{Element, GND, IN};
use super::values::Values;
use super::workspace::Workspace;

/// A network as seen from its nodes, for one volt at `in` from a source without impedance.
#[derive(Debug, Clone)]
pub(crate) struct Ports {
    nodes: usize,
    /// Point by point: voltage of each node for one volt at `in`.
    transfer: Vec<Complex64>,
    /// Point by point, row by row: voltage of one node for a unit current into another, `in` at 0 V.
    impedance: Vec<Complex64>,
    /// Admittance at `in`, point by point, in siemens.
    admittance: Vec<Complex64>,
}

impl Ports {
    /// Voltages of all nodes at point `i` for one volt at `in`.
    pub(crate) fn transfer(&self, i: usize) -> &[Complex64] {
        &self.transfer[i * self.nodes..(i + 1) * self.nodes]
    }

    /// Impedance between two pairs of nodes at point `i`, `in` held at 0 V, in ohm.
    pub(crate) fn between(&self, i: usize, one: [usize; 2], other: [usize; 2]) -> Complex64 {
        let row = |a: usize| (i * self.nodes + a) * self.nodes;
        let ([a, b], [c, d]) = (one, other);
        let z = &self.impedance;
        z[row(a) + c] - z[row(a) + d] - z[row(b) + c] + z[row(b) + d]
    }

    /// Voltages of all nodes at point `i` for a unit current through a pair of nodes, in ohm: added to
    /// `out`, times `factor`.
    pub(crate) fn add_column(
        &self,
        i: usize,
        pair: [usize; 2],
        factor: Complex64,
        out: &mut [Complex64],
    ) {
        let row = |a: usize| &self.impedance[(i * self.nodes + a) * self.nodes..][..self.nodes];
        let (plus, minus) = (row(pair[0]), row(pair[1]));
        for ((out, plus), minus) in out.iter_mut().zip(plus).zip(minus) {
            *out += factor * (plus - minus);
        }
    }

    /// Admittance at `in` at point `i`, in siemens.
    pub(crate) fn admittance(&self, i: usize) -> Complex64 {
        self.admittance[i]
    }
}

/// One part or several that are coupled: branches with a small symmetric matrix of impedances.
#[derive(Debug, Clone)]
pub(crate) struct Coupled {
    /// Nodes of each branch.
    pub(crate) nodes: Vec<[usize; 2]>,
    /// The parts that belong to it; of a group its coils and couplings, or the autoformer.
    pub(crate) parts: Vec<usize>,
    element: Element,
}

impl Plan {
    /// Solves the network with a unit current into every node in turn.
    pub(crate) fn ports(&self, values: &Values, workspace: &mut Workspace) -> Ports {
        let (nodes, points) = (self.topology.node_count, workspace.points);
        let mut ports = Ports {
            nodes,
            transfer: vec![Complex64::ZERO; points * nodes],
            impedance: vec![Complex64::ZERO; points * nodes * nodes],
            admittance: vec![Complex64::ZERO; points],
        };
        let mut pass = Pass::new(self, values, &STIFF, workspace);
        for chunk in 0..pass.chunks {
            pass.solve::<true>(chunk);
            let here = |lane: usize| Some(chunk * LANES + lane).filter(|i| *i < points);
            for lane in 0..LANES {
                let Some(i) = here(lane) else { break };
                for node in IN..nodes {
                    ports.transfer[i * nodes + node] = pass.room.voltage[node].lane(lane);
                }
                ports.admittance[i] = pass.room.input.lane(lane);
            }
            for driven in IN + 1..nodes {
                pass.adjoint(driven, GND);
                for node in IN + 1..nodes {
                    if !self.node_in_reach([driven, GND], node) {
                        continue;
                    }
                    for lane in 0..LANES {
                        let Some(i) = here(lane) else { break };
                        ports.impedance[(i * nodes + driven) * nodes + node] =
                            pass.room.adjoint[node].lane(lane);
                    }
                }
            }
        }
        ports
    }

    /// All branches, those that are coupled together, in the order of their first part.
    pub(crate) fn coupled(&self) -> Vec<Coupled> {
        let mut list: Vec<Coupled> = Vec::new();
        for (part, &element) in self.topology.elements.iter().enumerate() {
            if let Some(known) = list.iter_mut().find(|known| known.element == element) {
                known.parts.push(part);
                continue;
            }
            let nodes = (self.branches_of(part).iter())
                .map(|&branch| self.topology.branches[branch].nodes)
                .collect();
            list.push(Coupled {
                nodes,
                parts: vec![part],
                element,
            });
        }
        list
    }

    /// Impedance matrix of coupled branches, row by row; `load` is that of the driver, where it is one.
    pub(crate) fn impedance_matrix(
        &self,
        coupled: &Coupled,
        values: &Values,
        omega: f64,
        load: impl Fn(usize) -> Complex64,
        out: &mut Vec<Complex64>,
    ) {
        out.clear();
        match coupled.element {
            Element::Branch(branch) => {
                out.extend(
                    self.topology.branches[branch]
                        .kind
                        .impedance(values, omega, load),
                );
            }
            Element::Group(group) => {
                let group = &self.topology.groups[group];
                let m = group.len();
                let mut inductances = vec![0.0; m * m];
                group.inductances(&values.value, &mut inductances);
                out.resize(m * m, Complex64::ZERO);
                group_impedance(group, &inductances, &values.loss, omega, out);
            }
        }
    }
}

/// Inverse of an impedance matrix of coupled branches, row by row.
pub(crate) fn inverse(matrix: &[Complex64]) -> Vec<Complex64> {
    if let [z] = matrix {
        return vec![z.inv()];
    }
    let m = matrix.len().isqrt();
    let (mut a, mut inverse) = (matrix.to_vec(), vec![Complex64::ZERO; m * m]);
    invert_symmetric(m, &mut a, &mut inverse);
    inverse
}

//! A network compiled for repeated runs.

use netlist::network::{GND_NAME, IN_NAME, Network, NodeId, PartKind, VALUE_RANGE_SI};

use super::elimination::Elimination;
use super::topology::{Element, GND, IN, Topology};
use super::values::Values;

/// A network compiled once: the branches, and the order and steps of the elimination.
#[derive(Debug, Clone)]
pub struct Plan {
    pub(crate) topology: Topology,
    pub(crate) elimination: Elimination,
    part_names: Vec<String>,
    node_names: Vec<String>,
}

/// A voltage to observe: that of `positive` against `negative`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Output {
    /// Node where the voltage is counted from.
    pub positive: NodeId,
    /// Node it is counted against, often `gnd`.
    pub negative: NodeId,
}

/// Why a network cannot be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// A node that no chain of parts joins to `in` or `gnd`.
    #[error(
        "node {node} is not joined to {IN_NAME} or {GND_NAME} by any part; connect it or take its parts out"
    )]
    FloatingNode {
        /// Its name.
        node: String,
    },
    /// A coupling of something that is no inductor, or of an inductor with itself.
    #[error("coupling {coupling} names {coil}, which is not another inductor of the network")]
    NotAnInductor {
        /// Name of the coupling.
        coupling: String,
        /// What it names.
        coil: String,
    },
    /// Coupling factors that no set of real coils can have together.
    #[error("the coupling factors around {part} cannot belong to real coils; lower them")]
    ImpossibleCoupling {
        /// A part of the group.
        part: String,
    },
    /// A value that is not a positive, sensible number.
    #[error("{part} has the value {value:e}, outside 1e-15 to 1e15 in SI units")]
    ValueOutOfRange {
        /// Name of the part.
        part: String,
        /// Its value.
        value: f64,
    },
    /// A driver load is missing or does not have one value a frequency.
    #[error(
        "{given} loads of {points} frequencies were given where {drivers} of {expected} are needed"
    )]
    WrongLoads {
        /// Loads given.
        given: usize,
        /// Drivers of the network.
        drivers: usize,
        /// Frequencies of the first load that does not fit, or of the grid.
        points: usize,
        /// Frequencies of the grid.
        expected: usize,
    },
}

impl Plan {
    /// Compiles a network.
    ///
    /// # Errors
    /// If a node is joined to neither terminal, a coupling is not between two inductors or is
    /// physically impossible, or a value is not positive and sensible.
    pub fn compile(network: &Network) -> Result<Self, PlanError> {
        let values = Values::of(network);
        for ((name, part), (&value, &loss)) in network
            .parts()
            .iter()
            .zip(values.value.iter().zip(&values.loss))
        {
            let value_fits = match part.kind {
                PartKind::Coupling { .. } => (0.0..=1.0).contains(&value),
                _ => VALUE_RANGE_SI.contains(&value),
            };
            let loss_fits = (0.0..=*VALUE_RANGE_SI.end()).contains(&loss);
            if !value_fits || !loss_fits {
                return Err(PlanError::ValueOutOfRange {
                    part: name.clone(),
                    value: if value_fits { loss } else { value },
                });
            }
        }
        let topology = Topology::new(network)?;
        topology.check_groups(network, &values.value)?;
        let elimination = Elimination::new(&topology);
        let node_names: Vec<String> = network.node_names().map(String::from).collect();
        for pivots in &elimination.block_pivots {
            let grounded = elimination.pivots[pivots.clone()].iter().any(|pivot| {
                pivot.below.iter().any(|below| below.node == IN)
                    || touches_ground(&topology, pivot.node)
            });
            if !grounded {
                let node = elimination.pivots[pivots.start].node;
                return Err(PlanError::FloatingNode {
                    node: node_names[node].clone(),
                });
            }
        }
        Ok(Self {
            topology,
            elimination,
            part_names: network.parts().keys().cloned().collect(),
            node_names,
        })
    }

    /// Names of the parts, in the order of [`Values`].
    #[must_use]
    pub fn part_names(&self) -> &[String] {
        &self.part_names
    }

    /// Names of the nodes; the position is the [`NodeId`].
    #[must_use]
    pub fn node_names(&self) -> &[String] {
        &self.node_names
    }

    /// Names of the drivers in the order in which their loads are given.
    #[must_use]
    pub fn drivers(&self) -> &[String] {
        &self.topology.drivers
    }

    /// The voltage at each driver's terminals, in the order of [`Plan::drivers`], and whether the
    /// driver is wired the other way round.
    pub fn driver_outputs(&self) -> impl ExactSizeIterator<Item = (Output, bool)> + '_ {
        self.topology
            .driver_branches
            .iter()
            .map(|&(branch, inverted)| {
                let [a, b] = self.topology.branches[branch].nodes;
                let output = Output {
                    positive: NodeId(a),
                    negative: NodeId(b),
                };
                (output, inverted)
            })
    }

    /// Whether a unit current into an output, with `in` held at 0 V, gives a voltage on a branch.
    pub(crate) fn in_reach(&self, output: [usize; 2], branch: usize) -> bool {
        let [a, b] = self.topology.branches[branch].nodes;
        self.node_in_reach(output, a) || self.node_in_reach(output, b)
    }

    /// The same for a node.
    pub(crate) fn node_in_reach(&self, output: [usize; 2], node: usize) -> bool {
        let block = &self.elimination.block;
        block[node] != usize::MAX && output.iter().any(|&o| block[o] == block[node])
    }

    /// Branches that belong to a part: one, or the windings of its group.
    pub(crate) fn branches_of(&self, part: usize) -> &[usize] {
        match &self.topology.elements[part] {
            Element::Branch(branch) => std::slice::from_ref(branch),
            Element::Group(group) => &self.topology.groups[*group].branches,
        }
    }
}

fn touches_ground(topology: &Topology, node: usize) -> bool {
    topology
        .branches
        .iter()
        .any(|branch| branch.nodes.contains(&node) && branch.nodes.contains(&GND))
}

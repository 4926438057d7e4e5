//! A compiled network as plain numbers, for a runner that is not this one.
//!
//! The report's page runs the very steps of [`Plan`](super::Plan) in its script, so that a value changed on the page
//! is computed by the one algorithm. What is here is all that a runner needs beside values, loads and frequencies:
//! how admittances fill slots, and what the elimination does with the slots, in its order. See `elimination` for the
//! meaning of each step.

use serde::Serialize;

use super::elimination::{Entry, Pivot};
use super::plan::Plan;
use super::topology::{Branch, BranchKind, Group, GroupKind};

/// The steps of a plan. Numbers are positions: of nodes (0 is `gnd`, 1 is `in`), slots, parts and drivers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanSteps {
    /// Number of nodes.
    pub nodes: usize,
    /// Number of slots; the first are the admittances.
    pub slots: usize,
    /// Slot by slot: the two-terminal admittances.
    pub branches: Vec<BranchStep>,
    /// Coupled windings.
    pub groups: Vec<GroupStep>,
    /// The elimination, in order; back-substitution goes the other way.
    pub(crate) pivots: Vec<Pivot>,
    /// What is left at `in`: the admittance of the network.
    pub(crate) input: Entry,
    /// Branches of each part.
    pub parts: Vec<Vec<usize>>,
}

/// An admittance between two nodes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BranchStep {
    /// `R`, `L`, `C`, `D` for a driver, `W` for a winding of a group.
    pub kind: char,
    /// The part, or of a driver its place among the loads; 0 for a winding.
    pub of: usize,
    /// Its ends.
    pub nodes: [usize; 2],
}

/// Windings whose admittances are the inverse of `R + jωM`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupStep {
    /// Branches of the windings.
    pub branches: Vec<usize>,
    /// Slot of each pair of windings, row by row.
    pub slots: Vec<usize>,
    /// Part of each winding.
    pub parts: Vec<usize>,
    /// Of coupled coils: part of the coupling, and the two windings.
    pub couplings: Vec<[usize; 3]>,
    /// Of an autoformer: share of the turns of each section.
    pub turns: Option<Vec<f64>>,
    /// Of an autoformer: coupling factor of its sections.
    pub factor: f64,
}

impl Plan {
    /// The steps of this plan as plain numbers.
    #[must_use]
    pub fn steps(&self) -> PlanSteps {
        let elimination = &self.elimination;
        PlanSteps {
            nodes: self.topology.node_count,
            slots: elimination.slot_count,
            branches: self.topology.branches.iter().map(branch).collect(),
            groups: self.topology.groups.iter().map(group).collect(),
            pivots: elimination.pivots.clone(),
            input: elimination.input.clone(),
            parts: (0..self.part_names().len())
                .map(|part| self.branches_of(part).to_vec())
                .collect(),
        }
    }
}

fn branch(branch: &Branch) -> BranchStep {
    let (kind, of) = match branch.kind {
        BranchKind::Resistor { part } => ('R', part),
        BranchKind::Inductor { part } => ('L', part),
        BranchKind::Capacitor { part } => ('C', part),
        BranchKind::Driver { driver, .. } => ('D', driver),
        BranchKind::Winding => ('W', 0),
    };
    BranchStep {
        kind,
        of,
        nodes: branch.nodes,
    }
}

fn group(group: &Group) -> GroupStep {
    let (couplings, turns, factor) = match &group.kind {
        GroupKind::Coupled { couplings, .. } => {
            let couplings = couplings.iter().map(|&(part, i, j)| [part, i, j]);
            (couplings.collect(), None, 0.0)
        }
        GroupKind::Autoformer { turns, factor, .. } => (Vec::new(), Some(turns.clone()), *factor),
    };
    GroupStep {
        branches: group.branches.clone(),
        slots: group.slots.clone(),
        parts: (0..group.len()).map(|i| group.part_of(i)).collect(),
        couplings,
        turns,
        factor,
    }
}

//! All that is needed to know what *any* change of one admittance or impedance does, anywhere in a
//! network, without solving it again.

use netlist::network::NodeId;

use super::drive::STIFF;
use super::lanes::LANES;
use super::pass::Pass;
use super::plan::{Output, Plan};
use super::solution::{planar, store_lanes};
use super::topology::{BranchKind, GND, IN};
use super::values::Values;
use super::workspace::Workspace;
use crate::spectrum::Spectrum;

/// A network solved with one volt at `in`, and with a unit current into each of its nodes, `in` held
/// at 0 V.
///
/// With `u` the node voltages for one volt at `in`, `Z` the symmetric matrix of transfer impedances and
/// `D` the admittance at `in`, an admittance `q` added between nodes a and b gives
///
/// ```text
/// u' = u − Z(e_a − e_b) q u_ab / (1 + q z),   D' = D + q u_ab² / (1 + q z),   z = Z_aa − 2 Z_ab + Z_bb
/// ```
///
/// and an impedance `q` put in series with branches at a node the dual of it; see [`BranchChange`].
#[derive(Debug, Clone)]
pub struct Transfers {
    points: usize,
    stride: usize,
    nodes: usize,
    /// Voltage of each node for one volt at `in`.
    voltage: Vec<f64>,
    /// Transfer impedances, for node a · nodes + b; zero where one does not reach the other.
    impedance: Vec<f64>,
    branches: Vec<ChangedBranch>,
    /// The drivers' terminals, and their places among the branches.
    drivers: Vec<(Output, usize)>,
    /// Admittance of each branch.
    admittance: Vec<f64>,
    /// Admittance at `in`.
    input: Vec<f64>,
}

/// A two-terminal branch: a part, or a driver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangedBranch {
    /// Position of the part in the network.
    pub part: usize,
    /// Its nodes.
    pub nodes: [NodeId; 2],
}

/// How the drivers' voltages and the admittance at `in` move with one quantity `q`, an admittance across two nodes or
/// an impedance in series with branches: `V' = V − N q / (1 + d q)`, `D' = D ± M q / (1 + d q)`.
#[derive(Debug, Clone, PartialEq)]
pub struct BranchChange {
    /// `N` of each driver for one volt at `in`, in the order of [`Plan::drivers`].
    pub output: Vec<Spectrum>,
    /// `± M`: what `q / (1 + d q)` adds to the admittance at `in`.
    pub input: Spectrum,
    /// `d`.
    pub divisor: Spectrum,
}

impl Transfers {
    /// Solves `plan` at `values` over the frequencies of `workspace`.
    #[must_use]
    pub fn new(plan: &Plan, values: &Values, workspace: &mut Workspace) -> Self {
        let nodes = plan.topology.node_count;
        let stride = workspace.chunks() * LANES;
        let mut branches = Vec::new();
        let mut slots = Vec::new();
        for (slot, branch) in plan.topology.branches.iter().enumerate() {
            let part = match branch.kind {
                BranchKind::Winding => continue,
                BranchKind::Resistor { part }
                | BranchKind::Inductor { part }
                | BranchKind::Capacitor { part }
                | BranchKind::Driver { part, .. } => part,
            };
            branches.push(ChangedBranch {
                part,
                nodes: branch.nodes.map(NodeId),
            });
            slots.push(slot);
        }
        let mut transfers = Self {
            points: workspace.points,
            stride,
            nodes,
            voltage: vec![0.0; nodes * 2 * stride],
            impedance: vec![0.0; nodes * nodes * 2 * stride],
            admittance: vec![0.0; branches.len() * 2 * stride],
            branches,
            drivers: Vec::new(),
            input: vec![0.0; 2 * stride],
        };
        let place = |slot: usize| slots.iter().position(|&own| own == slot);
        transfers.drivers = (plan.driver_outputs().zip(&plan.topology.driver_branches))
            .filter_map(|((output, _), &(slot, _))| Some((output, place(slot)?)))
            .collect();
        fill(
            &mut Pass::new(plan, values, &STIFF, workspace),
            &slots,
            &mut transfers,
        );
        transfers
    }

    /// Number of frequencies.
    #[must_use]
    pub fn points(&self) -> usize {
        self.points
    }

    /// The two-terminal branches, drivers among them.
    #[must_use]
    pub fn branches(&self) -> &[ChangedBranch] {
        &self.branches
    }

    /// Voltage at an output for one volt at `in`.
    #[must_use]
    pub fn output(&self, output: Output) -> Spectrum {
        let mut sum = Spectrum::zeros(self.points);
        self.add_voltage(&mut sum, 1.0, output.positive);
        self.add_voltage(&mut sum, -1.0, output.negative);
        sum
    }

    /// Admittance of the network at `in`, siemens.
    #[must_use]
    pub fn input_admittance(&self) -> Spectrum {
        self.owned(&self.input, 0)
    }

    /// Admittance of a branch, by its position in [`Transfers::branches`], siemens.
    #[must_use]
    pub fn branch_admittance(&self, branch: usize) -> Spectrum {
        self.owned(&self.admittance, branch)
    }

    /// An admittance across two nodes.
    #[must_use]
    pub fn across(&self, [a, b]: [NodeId; 2]) -> BranchChange {
        let mut volts = Spectrum::zeros(self.points);
        self.add_voltage(&mut volts, 1.0, a);
        self.add_voltage(&mut volts, -1.0, b);
        // Z (e_a − e_b) at a node.
        let reach = |node: NodeId| {
            let mut sum = Spectrum::zeros(self.points);
            self.add_impedance(&mut sum, 1.0, node, a);
            self.add_impedance(&mut sum, -1.0, node, b);
            sum
        };
        let divisor = difference(reach(a), &reach(b));
        let output = (self.drivers.iter())
            .map(|(output, _)| {
                let across = difference(reach(output.positive), &reach(output.negative));
                product(&across, &volts)
            })
            .collect();
        BranchChange {
            output,
            input: product(&volts, &volts),
            divisor,
        }
    }

    /// An impedance put between `node` and those ends of `branches` (positions in
    /// [`Transfers::branches`]) that are at it.
    ///
    /// With `i₀` the current into these branches and `g` what a voltage source in their common lead
    /// drives round, the source that stands for the impedance is `e = −q i₀ / (1 + q g)`.
    #[must_use]
    pub fn in_series(&self, node: NodeId, branches: &[usize]) -> BranchChange {
        let points = self.points;
        let far = |branch: usize| {
            let [a, b] = self.branches[branch].nodes;
            if a == node { b } else { a }
        };
        let mut current = Spectrum::zeros(points);
        let mut round = Spectrum::zeros(points);
        // What a source of one volt does to a node: Z w, w = Σ y (e_far − e_node).
        let lifted = |at: NodeId| {
            let mut sum = Spectrum::zeros(points);
            for &branch in branches {
                let mut step = Spectrum::zeros(points);
                self.add_impedance(&mut step, 1.0, at, far(branch));
                self.add_impedance(&mut step, -1.0, at, node);
                add_product(
                    &mut sum,
                    planar(&self.admittance, branch, self.stride, points),
                    &step,
                );
            }
            sum
        };
        let at_node = lifted(node);
        for &branch in branches {
            let y = planar(&self.admittance, branch, self.stride, points);
            let mut volts = Spectrum::zeros(points);
            self.add_voltage(&mut volts, 1.0, node);
            self.add_voltage(&mut volts, -1.0, far(branch));
            add_product(&mut current, y, &volts);
            let mut driven = difference(at_node.clone(), &lifted(far(branch)));
            driven.re.iter_mut().for_each(|re| *re += 1.0);
            add_product(&mut round, y, &driven);
        }
        let output = (self.drivers.iter())
            .map(|&(output, own)| {
                let mut lift = difference(lifted(output.positive), &lifted(output.negative));
                // A driver of the group has the source in its own lead.
                if branches.contains(&own) {
                    let sign = if output.positive == node { 1.0 } else { -1.0 };
                    lift.re.iter_mut().for_each(|re| *re += sign);
                }
                product(&lift, &current)
            })
            .collect();
        let mut input = product(&current, &current);
        input.re.iter_mut().for_each(|re| *re = -*re);
        input.im.iter_mut().for_each(|im| *im = -*im);
        BranchChange {
            output,
            input,
            divisor: round,
        }
    }

    fn owned(&self, store: &[f64], index: usize) -> Spectrum {
        let (re, im) = planar(store, index, self.stride, self.points);
        Spectrum {
            re: re.to_vec(),
            im: im.to_vec(),
        }
    }

    fn add_voltage(&self, sum: &mut Spectrum, sign: f64, node: NodeId) {
        add_scaled(
            sum,
            sign,
            planar(&self.voltage, node.0, self.stride, self.points),
        );
    }

    fn add_impedance(&self, sum: &mut Spectrum, sign: f64, at: NodeId, from: NodeId) {
        let index = at.0 * self.nodes + from.0;
        add_scaled(
            sum,
            sign,
            planar(&self.impedance, index, self.stride, self.points),
        );
    }
}

fn add_scaled(sum: &mut Spectrum, sign: f64, (re, im): (&[f64], &[f64])) {
    for i in 0..sum.len() {
        sum.re[i] += sign * re[i];
        sum.im[i] += sign * im[i];
    }
}

fn difference(mut a: Spectrum, b: &Spectrum) -> Spectrum {
    add_scaled(&mut a, -1.0, (&b.re, &b.im));
    a
}

fn product(a: &Spectrum, b: &Spectrum) -> Spectrum {
    let mut out = Spectrum::zeros(a.len());
    add_product(&mut out, (&a.re, &a.im), b);
    out
}

/// `sum += a · b`
fn add_product(sum: &mut Spectrum, (re, im): (&[f64], &[f64]), b: &Spectrum) {
    for i in 0..sum.len() {
        sum.re[i] += re[i] * b.re[i] - im[i] * b.im[i];
        sum.im[i] += re[i] * b.im[i] + im[i] * b.re[i];
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn fill(pass: &mut Pass<'_>, slots: &[usize], out: &mut Transfers) {
    let nodes = out.nodes;
    for chunk in 0..pass.chunks {
        pass.solve::<true>(chunk);
        for (node, voltage) in pass.room.voltage.iter().enumerate() {
            store_lanes(&mut out.voltage, node, out.stride, chunk, voltage);
        }
        for (branch, &slot) in slots.iter().enumerate() {
            let y = &pass.room.slots[slot];
            store_lanes(&mut out.admittance, branch, out.stride, chunk, y);
        }
        store_lanes(&mut out.input, 0, out.stride, chunk, &pass.room.input);
        for from in IN + 1..nodes {
            let block = pass.plan.elimination.block[from];
            if block == usize::MAX {
                continue;
            }
            pass.adjoint(from, GND);
            for at in IN + 1..nodes {
                if pass.plan.elimination.block[at] == block {
                    let z = &pass.room.adjoint[at];
                    store_lanes(&mut out.impedance, at * nodes + from, out.stride, chunk, z);
                }
            }
        }
    }
}

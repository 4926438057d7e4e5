//! How every output moves with every part value, from the same factorisation as the voltages.

use num_complex::Complex64;

use super::drive::Drive;
use super::lanes::{LANES, Lanes, Real};
use super::pass::Pass;
use super::plan::{Output, Plan};
use super::solution::{Solution, planar, store_lanes};
use super::topology::{BranchKind, Element, Group, GroupKind};
use super::values::Values;
use super::workspace::{RunReport, Workspace};

/// `∂V_o/∂value_k` for chosen outputs and all parts, over the grid, in two terms:
///
/// ```text
/// ∂V_o/∂value_k = own(o, k) + shared(o) · drawn(k)
/// ```
///
/// The first is what reaches the output with `in` held still, and is there only for parts of the
/// same way; the second is what a part does to all ways through the amplifier's output impedance.
/// Kept apart, they make a gradient cheap: outputs can be summed before they meet the parts.
/// Parts without a value (drivers) have zeros.
#[derive(Debug, Clone)]
pub struct Sensitivities {
    outputs: Vec<[usize; 2]>,
    parts: usize,
    points: usize,
    stride: usize,
    /// For each output, the parts of one branch that reach it.
    reached: Vec<Vec<ReachedNode>>,
    /// Place of `own(o, k)` in `own`, for `o · parts + k`.
    place: Vec<Option<usize>>,
    own: Vec<f64>,
    shared: Vec<f64>,
    drawn: Vec<f64>,
    /// `v_k · ∂z_k/∂value_k · y_k²` of each part that is one branch.
    moment: Vec<Lanes>,
    currents: Vec<Lanes>,
}

#[derive(Debug, Clone, Copy)]
struct ReachedNode {
    part: usize,
    nodes: [usize; 2],
    place: usize,
}

impl Sensitivities {
    /// Room for the sensitivities of `outputs`.
    #[must_use]
    pub fn new(plan: &Plan, workspace: &Workspace, outputs: &[Output]) -> Self {
        let parts = plan.topology.elements.len();
        let stride = workspace.chunks() * LANES;
        let largest = plan.topology.groups.iter().map(Group::len).max();
        let outputs: Vec<[usize; 2]> = outputs
            .iter()
            .map(|o| [o.positive.0, o.negative.0])
            .collect();
        let mut place = vec![None; outputs.len() * parts];
        let mut places = 0;
        let mut reached = Vec::with_capacity(outputs.len());
        for (o, &output) in outputs.iter().enumerate() {
            let mut list = Vec::new();
            for (part, element) in plan.topology.elements.iter().enumerate() {
                match *element {
                    Element::Branch(branch) => {
                        let kind = plan.topology.branches[branch].kind;
                        let driver = matches!(kind, BranchKind::Driver { .. });
                        if driver || !plan.in_reach(output, branch) {
                            continue;
                        }
                        list.push(ReachedNode {
                            part,
                            nodes: plan.topology.branches[branch].nodes,
                            place: places,
                        });
                    }
                    // Both terms of a winding's sensitivity are kept in this one.
                    Element::Group(_) => {}
                }
                place[o * parts + part] = Some(places);
                places += 1;
            }
            reached.push(list);
        }
        Self {
            parts,
            points: workspace.points,
            stride,
            own: vec![0.0; places * 2 * stride],
            shared: vec![0.0; outputs.len() * 2 * stride],
            drawn: vec![0.0; parts * 2 * stride],
            outputs,
            reached,
            place,
            moment: vec![Lanes::ZERO; parts],
            currents: vec![Lanes::ZERO; 2 * largest.unwrap_or(0)],
        }
    }

    /// Sensitivity of output number `output` to the value of part number `part` at frequency `i`;
    /// volt per ohm, henry, farad or unit of coupling factor.
    #[must_use]
    pub fn at(&self, output: usize, part: usize, i: usize) -> Complex64 {
        let at = |(re, im): (&[f64], &[f64])| Complex64::new(re[i], im[i]);
        let own = self.own(output, part).map_or(Complex64::ZERO, at);
        own + at(self.shared(output)) * at(self.drawn(part))
    }

    /// The term of a part in the output's own way, `None` where the part is in another.
    #[must_use]
    pub fn own(&self, output: usize, part: usize) -> Option<(&[f64], &[f64])> {
        let place = self.place[output * self.parts + part]?;
        Some(planar(&self.own, place, self.stride, self.points))
    }

    /// What an output takes of the common term; all 0 without output impedance.
    #[must_use]
    pub fn shared(&self, output: usize) -> (&[f64], &[f64]) {
        planar(&self.shared, output, self.stride, self.points)
    }

    /// What a part gives to the common term. The admittance at `in` moves by
    /// `∂D/∂value_k = −drawn(k) / v_in²`.
    #[must_use]
    pub fn drawn(&self, part: usize) -> (&[f64], &[f64]) {
        planar(&self.drawn, part, self.stride, self.points)
    }
}

impl Plan {
    /// Solves the network at all frequencies, with the sensitivities of the outputs for which
    /// `sensitivities` was made.
    ///
    /// The sensitivity to a series loss follows from that to the value: it is
    /// `∂V/∂L / (jω)` for a coil's resistance and `∂V/∂C · ωC² / j` for a capacitor's.
    pub fn run_sensitivities(
        &self,
        values: &Values,
        drive: &Drive,
        workspace: &mut Workspace,
        solution: &mut Solution,
        sensitivities: &mut Sensitivities,
    ) -> RunReport {
        let mut pass = Pass::new(self, values, drive, workspace);
        sweep(&mut pass, solution, sensitivities);
        pass.report
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn sweep(pass: &mut Pass<'_>, solution: &mut Solution, sensitivities: &mut Sensitivities) {
    for chunk in 0..pass.chunks {
        pass.solve::<true>(chunk);
        solution.store(chunk, pass.room);
        moments(pass, chunk, sensitivities);
        for o in 0..sensitivities.outputs.len() {
            output(pass, chunk, o, sensitivities);
        }
    }
}

/// What each part contributes whatever the output.
#[inline(always)]
fn moments(pass: &Pass<'_>, chunk: usize, out: &mut Sensitivities) {
    let omega = &pass.omega[chunk];
    for (slot, branch) in pass.plan.topology.branches.iter().enumerate() {
        let [a, b] = branch.nodes;
        let v = pass.room.voltage[a].minus(&pass.room.voltage[b]);
        let by_square = |part: usize| {
            let value = pass.values.value[part];
            [1.0 / (value * value); LANES]
        };
        let current = |by: Lanes| by.times(&pass.room.slots[slot]);
        let (part, moment) = match branch.kind {
            BranchKind::Resistor { part } => (part, v.scaled(&by_square(part))),
            BranchKind::Inductor { part } => (part, times_j(&current(current(v)), omega)),
            BranchKind::Capacitor { part } => {
                let moment = times_j(&current(current(v)), &pass.inverse_omega[chunk]);
                (part, moment.scaled(&by_square(part)))
            }
            BranchKind::Driver { .. } | BranchKind::Winding => continue,
        };
        let drawn = v.times(&moment);
        store_lanes(&mut out.drawn, part, out.stride, chunk, &drawn);
        out.moment[part] = moment;
    }
}

/// `j · factor · a`
#[inline(always)]
fn times_j(a: &Lanes, factor: &Real) -> Lanes {
    let mut out = Lanes::ZERO;
    for i in 0..LANES {
        out.re[i] = -factor[i] * a.im[i];
        out.im[i] = factor[i] * a.re[i];
    }
    out
}

/// Sensitivities of one output.
#[inline(always)]
fn output(pass: &mut Pass<'_>, chunk: usize, o: usize, out: &mut Sensitivities) {
    let [positive, negative] = out.outputs[o];
    pass.adjoint(positive, negative);
    let shared = pass.shared(chunk, positive, negative);
    store_lanes(&mut out.shared, o, out.stride, chunk, &shared);
    let adjoint = &pass.room.adjoint;
    for reached in &out.reached[o] {
        let [a, b] = reached.nodes;
        let w = adjoint[a].minus(&adjoint[b]);
        let own = w.times(&out.moment[reached.part]);
        store_lanes(&mut out.own, reached.place, out.stride, chunk, &own);
    }
    if !pass.plan.topology.groups.is_empty() {
        groups(pass, chunk, o, &shared, out);
    }
}

/// Sensitivities to the values of coupled windings: `∂V_o/∂p = i_oᵀ (∂Z/∂p) i`, with the winding
/// currents `i` and those for a unit current into the output `i_o`.
#[inline(never)]
fn groups(pass: &Pass<'_>, chunk: usize, o: usize, shared: &Lanes, out: &mut Sensitivities) {
    let output = out.outputs[o];
    let omega = &pass.omega[chunk];
    let value = &pass.values.value;
    for group in &pass.plan.topology.groups {
        let m = group.len();
        let (i, i_o) = out.currents.split_at_mut(m);
        for row in 0..m {
            i[row] = Lanes::ZERO;
            i_o[row] = Lanes::ZERO;
            for column in 0..m {
                let branch = group.branches[column];
                let [a, b] = pass.plan.topology.branches[branch].nodes;
                let y = &pass.room.slots[group.slots[row * m + column]];
                let v = pass.room.voltage[a].minus(&pass.room.voltage[b]);
                let mut z = shared.times(&v);
                if pass.plan.in_reach(output, branch) {
                    z.add(&pass.room.adjoint[a].minus(&pass.room.adjoint[b]));
                }
                i[row].add_product(y, &v);
                i_o[row].add_product(y, &z);
            }
        }
        let both = |a: usize, b: usize, weight: f64| {
            let mut sum = i_o[a].times(&i[b]);
            sum.add_product(&i_o[b], &i[a]);
            sum.scaled(&[weight; LANES])
        };
        let mut store = |part: usize, sum: &Lanes| {
            let lanes = times_j(sum, omega);
            let place = out.place[o * out.parts + part].expect("windings have a place");
            store_lanes(&mut out.own, place, out.stride, chunk, &lanes);
        };
        match &group.kind {
            GroupKind::Coupled {
                inductors,
                couplings,
            } => {
                for (own, &part) in inductors.iter().enumerate() {
                    let mut sum = i_o[own].times(&i[own]);
                    for &(coupling, a, b) in couplings {
                        if own == a || own == b {
                            let other = if own == a { b } else { a };
                            let ratio = (value[inductors[other]] / value[part]).sqrt();
                            sum.add(&both(own, other, 0.5 * value[coupling] * ratio));
                        }
                    }
                    store(part, &sum);
                }
                for &(coupling, a, b) in couplings {
                    let mutual = (value[inductors[a]] * value[inductors[b]]).sqrt();
                    store(coupling, &both(a, b, mutual));
                }
            }
            GroupKind::Autoformer {
                part,
                turns,
                factor,
            } => {
                let scale = 1.0 / super::topology::autoformer_scale(turns, *factor);
                let mut sum = Lanes::ZERO;
                for a in 0..m {
                    let own = scale * turns[a] * turns[a];
                    sum.add(&i_o[a].times(&i[a]).scaled(&[own; LANES]));
                    for b in a + 1..m {
                        sum.add(&both(a, b, factor * scale * turns[a] * turns[b]));
                    }
                }
                store(*part, &sum);
            }
        }
    }
}

//! Parts put in place one after the other: all combinations of many values, without solving again.
//!
//! Prepared once for `q` branches of a network driven by one volt from a source without impedance,
//! the numbers of a chunk of frequencies are the branch voltages `v_k`, the impedances `z_kj`
//! between branches, the transfers `z_ok` to the outputs, the output voltages `V_o` and the
//! admittance `D` at `in`. A new value of the first branch moves all of them by the bilinear law,
//!
//! ```text
//! v_k' = v_k − z_0k s v_0,   z_kj' = z_kj − z_0k s z_0j,   V_o' = V_o − z_o0 s v_0,   D' = D + v_0 s v_0
//! ```
//!
//! with `s = Δ / (1 + Δ z_00)`, and `q − 1` branches are left. A tree of such steps reaches every
//! combination; a leaf costs a few multiplications a frequency.

use crate::grid::Grid;
use crate::nodal::drive::STIFF;
use crate::nodal::lanes::{LANES, Lanes, QUAD, Real};
use crate::nodal::pass::Pass;
use crate::nodal::plan::{Output, Plan, PlanError};
use crate::nodal::topology::{BranchKind, Element};
use crate::nodal::values::Values;
use crate::nodal::workspace::Workspace;
use crate::spectrum::Spectrum;

/// A network prepared for every combination of values of chosen parts.
#[derive(Debug, Clone)]
pub(crate) struct Cascade {
    pub(super) kinds: Vec<BranchKind>,
    pub(super) outputs: usize,
    omega: Vec<Real>,
    inverse_omega: Vec<Real>,
    /// Admittance of each part as prepared, chunk by chunk.
    pub(super) admittance: Vec<Lanes>,
    pub(super) root: Vec<Lanes>,
}

/// A part at a chunk of frequencies.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PartAt<'a> {
    pub(crate) chunk: usize,
    /// Its number among the parts.
    pub(crate) step: usize,
    /// Its admittance at present.
    pub(crate) present: &'a Lanes,
}

/// Numbers of a chunk with `q` branches left and `o` outputs.
pub(crate) const fn state_len(q: usize, outputs: usize) -> usize {
    q + q * (q + 1) / 2 + outputs * q + outputs + 1
}

/// Place of `z_kj`, `k ≤ j`, in the upper triangle row by row.
#[inline(always)]
pub(super) const fn triangle(q: usize, k: usize, j: usize) -> usize {
    k * q - k * (k + 1) / 2 + j
}

impl Cascade {
    /// Prepares `parts` (positions, each an uncoupled resistor, coil or capacitor), which are put
    /// in place in this order, as seen at `outputs`. Every grid becomes one chunk: at most
    /// [`LANES`] frequencies, with the loads of the network's drivers on it.
    ///
    /// # Errors
    /// If the loads do not fit.
    pub(crate) fn new(
        plan: &Plan,
        values: &Values,
        parts: &[usize],
        outputs: &[Output],
        grids: &[(Grid, Vec<Spectrum>)],
    ) -> Result<Self, PlanError> {
        let branches: Vec<usize> = (parts.iter())
            .map(|&part| match plan.topology.elements[part] {
                Element::Branch(branch) => branch,
                Element::Group(_) => unreachable!("a coupled part is not moved"),
            })
            .collect();
        let mut cascade = Self {
            kinds: (branches.iter())
                .map(|&branch| plan.topology.branches[branch].kind)
                .collect(),
            outputs: outputs.len(),
            omega: Vec::new(),
            inverse_omega: Vec::new(),
            admittance: Vec::new(),
            root: Vec::new(),
        };
        for (grid, loads) in grids {
            assert!(grid.len() <= LANES, "a grid is one chunk");
            let loads: Vec<&Spectrum> = loads.iter().collect();
            let mut workspace = Workspace::new(plan, grid, &loads)?;
            cascade.omega.push(workspace.omega[0]);
            cascade.inverse_omega.push(workspace.inverse_omega[0]);
            let mut pass = Pass::new(plan, values, &STIFF, &mut workspace);
            cascade.prepare(&mut pass, &branches, outputs);
        }
        Ok(cascade)
    }

    /// Solves the one chunk of `pass`, with a unit current through each branch, and appends its numbers.
    fn prepare(&mut self, pass: &mut Pass<'_>, branches: &[usize], outputs: &[Output]) {
        pass.solve::<true>(0);
        let q = branches.len();
        let ends = |branch: usize| pass.plan.topology.branches[branch].nodes;
        let between = |[p, n]: [usize; 2]| pass.room.voltage[p].minus(&pass.room.voltage[n]);
        let outputs: Vec<[usize; 2]> = (outputs.iter())
            .map(|output| [output.positive.0, output.negative.0])
            .collect();
        (self.root).extend(branches.iter().map(|&branch| between(ends(branch))));
        let voltages: Vec<Lanes> = outputs.iter().map(|&output| between(output)).collect();
        let mut transfers = vec![Lanes::ZERO; outputs.len() * q];
        for (k, &branch) in branches.iter().enumerate() {
            let [a, b] = pass.plan.topology.branches[branch].nodes;
            pass.adjoint(a, b);
            let (plan, adjoint) = (pass.plan, &pass.room.adjoint);
            for &other in &branches[k..] {
                let [p, n] = plan.topology.branches[other].nodes;
                self.root.push(match plan.in_reach([a, b], other) {
                    true => adjoint[p].minus(&adjoint[n]),
                    false => Lanes::ZERO,
                });
            }
            for (o, &[p, n]) in outputs.iter().enumerate() {
                // A node out of reach has no voltage of its own: it may hold an old one.
                for (node, sign) in [(p, 1.0), (n, -1.0)] {
                    if plan.node_in_reach([a, b], node) {
                        transfers[o * q + k].add_weighted(sign, &adjoint[node]);
                    }
                }
            }
            self.admittance.push(pass.room.slots[branch]);
        }
        self.root.extend(transfers);
        self.root.extend(voltages);
        self.root.push(pass.room.input);
    }

    /// Number of chunks.
    pub(crate) fn chunks(&self) -> usize {
        self.omega.len()
    }

    /// Room for the numbers after each step, the last with nothing but outputs and admittance.
    pub(crate) fn room(&self) -> Vec<Vec<Lanes>> {
        let q = self.kinds.len();
        (0..=q)
            .map(|placed| match placed {
                0 => self.root.clone(),
                _ => vec![Lanes::ZERO; self.chunks() * state_len(q - placed, self.outputs)],
            })
            .collect()
    }

    /// Puts part number `step` in place with a value and loss; `room` holds the steps before.
    pub(crate) fn place(&self, room: &mut [Vec<Lanes>], step: usize, value_and_loss: (f64, f64)) {
        let (before, after) = room.split_at_mut(step + 1);
        place_all(self, step, &before[step], &mut after[0], value_and_loss);
    }

    /// Output voltages for one volt at `in` and the admittance there, where `state` is a chunk of
    /// the numbers before the last step, whose part gets a value and loss.
    #[inline(always)]
    pub(crate) fn leaf(
        &self,
        chunk: usize,
        state: &[Lanes],
        value_and_loss: (f64, f64),
        voltages: &mut [Lanes],
    ) -> Lanes {
        let last = self.part_at(chunk, self.kinds.len() - 1);
        self.leaf_of(last, state, value_and_loss, voltages)
    }

    /// A part as prepared.
    #[inline(always)]
    fn part_at(&self, chunk: usize, step: usize) -> PartAt<'_> {
        PartAt {
            chunk,
            step,
            present: &self.admittance[chunk * self.kinds.len() + step],
        }
    }

    /// The same for any part; `state` holds the numbers of that one branch: `v`, `z`, the transfers, the output
    /// voltages, the admittance at `in`.
    #[inline(always)]
    pub(crate) fn leaf_of(
        &self,
        part: PartAt<'_>,
        state: &[Lanes],
        value_and_loss: (f64, f64),
        voltages: &mut [Lanes],
    ) -> Lanes {
        let s = self.moved(part, value_and_loss, &state[1]);
        let sv = s.times(&state[0]);
        for o in 0..self.outputs {
            let mut voltage = state[2 + self.outputs + o];
            voltage.subtract_product(&state[2 + o], &sv);
            voltages[o] = voltage;
        }
        let mut admittance = state[2 + 2 * self.outputs];
        admittance.add_product(&state[0], &sv);
        admittance
    }

    /// Impedance of a part with a value and loss.
    #[inline(always)]
    pub(super) fn impedance(&self, chunk: usize, step: usize, (value, loss): (f64, f64)) -> Lanes {
        let mut z = Lanes::real(loss);
        let (x, omega) = match self.kinds[step] {
            BranchKind::Inductor { .. } => (value, &self.omega[chunk]),
            BranchKind::Capacitor { .. } => (-1.0 / value, &self.inverse_omega[chunk]),
            _ => {
                z = Lanes::real(value);
                (0.0, &self.omega[chunk])
            }
        };
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                z.im[i] = x * omega[i];
            }
        }
        z
    }

    /// `s = Δ / (1 + Δ z_00) = u / (z' + u z_00)` with `u = 1 − Y z'` and `Y` the admittance at present.
    #[inline(always)]
    pub(super) fn moved(
        &self,
        part: PartAt<'_>,
        value_and_loss: (f64, f64),
        z_00: &Lanes,
    ) -> Lanes {
        let mut z = self.impedance(part.chunk, part.step, value_and_loss);
        let mut u = Lanes::ONE;
        u.subtract_product(part.present, &z);
        z.add_product(&u, z_00);
        u.times(&z.reciprocal())
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn place_all(
    cascade: &Cascade,
    step: usize,
    before: &[Lanes],
    after: &mut [Lanes],
    value_and_loss: (f64, f64),
) {
    let q = cascade.kinds.len() - step;
    let outputs = cascade.outputs;
    let (len, len_after) = (state_len(q, outputs), state_len(q - 1, outputs));
    let chunks = before
        .chunks_exact(len)
        .zip(after.chunks_exact_mut(len_after));
    for (chunk, (state, out)) in chunks.enumerate() {
        let impedance = &state[q..];
        let transfer = &state[q + q * (q + 1) / 2..];
        let voltage = &transfer[outputs * q..];
        let s = cascade.moved(cascade.part_at(chunk, step), value_and_loss, &impedance[0]);
        let sv = s.times(&state[0]);
        let (out_v, rest) = out.split_at_mut(q - 1);
        let (out_z, rest) = rest.split_at_mut((q - 1) * q / 2);
        let (out_t, out_end) = rest.split_at_mut(outputs * (q - 1));
        let mut at = 0;
        for k in 1..q {
            let z_0k = &impedance[k];
            let mut v = state[k];
            v.subtract_product(z_0k, &sv);
            out_v[k - 1] = v;
            let sz = s.times(z_0k);
            for j in k..q {
                let mut z = impedance[triangle(q, k, j)];
                z.subtract_product(&sz, &impedance[j]);
                out_z[at] = z;
                at += 1;
            }
            for o in 0..outputs {
                let mut t = transfer[o * q + k];
                t.subtract_product(&transfer[o * q], &sz);
                out_t[o * (q - 1) + k - 1] = t;
            }
        }
        for o in 0..outputs {
            let mut v = voltage[o];
            v.subtract_product(&transfer[o * q], &sv);
            out_end[o] = v;
        }
        let mut admittance = voltage[outputs];
        admittance.add_product(&state[0], &sv);
        out_end[outputs] = admittance;
    }
}

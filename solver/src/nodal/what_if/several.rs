//! Several branches changed together: a small system at each frequency.

use num_complex::Complex64;

use crate::nodal::chunk::{group_impedance, invert_symmetric};
use crate::nodal::lanes::LANES;
use crate::nodal::plan::Plan;
use crate::nodal::topology::{BranchKind, Element};
use crate::nodal::values::Values;

use super::WhatIf;

pub(super) fn evaluate(what_if: &mut WhatIf, plan: &Plan) {
    for chunk in 0..what_if.omega.len() {
        for lane in 0..LANES {
            evaluate_point(what_if, plan, chunk, lane);
        }
    }
}

fn evaluate_point(what_if: &mut WhatIf, plan: &Plan, chunk: usize, lane: usize) {
    let layout = what_if.layout;
    let q = layout.q;
    let omega = what_if.omega[chunk][lane];
    let prepared = &what_if.prepared[chunk * layout.len..(chunk + 1) * layout.len];
    let at = |index: usize| prepared[index].lane(lane);
    let (change, rest) = what_if.scratch.split_at_mut(q * q);
    let (system, rest) = rest.split_at_mut(q * q);
    let (added, room) = rest.split_at_mut(q);

    for (i, delta) in change.iter_mut().enumerate() {
        *delta = -at(layout.admittance + i);
    }
    for &(element, first) in &what_if.elements {
        match element {
            Element::Branch(branch) => {
                let kind = plan.topology.branches[branch].kind;
                change[first * q + first] += branch_admittance(kind, &what_if.candidate, omega);
            }
            Element::Group(group) => {
                let group = &plan.topology.groups[group];
                let m = group.len();
                let inductances = &mut what_if.inductances[..m * m];
                group.inductances(&what_if.candidate.value, inductances);
                let (z_ohm, inverse) = room[..2 * m * m].split_at_mut(m * m);
                group_impedance(group, inductances, &what_if.candidate.loss, omega, z_ohm);
                invert_symmetric(m, z_ohm, inverse);
                for i in 0..m {
                    for j in 0..m {
                        change[(first + i) * q + first + j] += inverse[i * m + j];
                    }
                }
            }
        }
    }
    // (1 + Δ Z) x = Δ v
    for i in 0..q {
        added[i] = (0..q).map(|j| change[i * q + j] * at(j)).sum();
        for j in 0..q {
            let product: Complex64 = (0..q)
                .map(|k| change[i * q + k] * at(layout.impedance + k * q + j))
                .sum();
            let identity = if i == j { 1.0 } else { 0.0 };
            system[i * q + j] = product + identity;
        }
    }
    solve_small(q, system, added);

    let position = chunk * LANES + lane;
    let (result, stride) = (&mut what_if.result, what_if.stride);
    let mut store = |index: usize, value: Complex64| {
        result[index * 2 * stride + position] = value.re;
        result[(index * 2 + 1) * stride + position] = value.im;
    };
    let transfer = |o: usize, k: usize| {
        let z = at(layout.transfer + o * q + k);
        if q == 1 { z / at(0) } else { z }
    };
    let outputs = what_if.outputs.len();
    for o in 0..outputs {
        let moved: Complex64 = (0..q).map(|k| transfer(o, k) * added[k]).sum();
        store(o, at(layout.voltage + o) - moved);
    }
    if !what_if.watch_load {
        return;
    }
    let at_input = at(layout.input);
    let drawn: Complex64 = (0..q).map(|k| at(k) * added[k]).sum();
    let moved_input = at_input - drawn * what_if.shared[chunk].lane(lane);
    store(
        outputs,
        at(layout.input + 1) + drawn / (at_input * moved_input),
    );
}

fn branch_admittance(kind: BranchKind, values: &Values, omega: f64) -> Complex64 {
    let (value, loss) = (&values.value, &values.loss);
    match kind {
        BranchKind::Resistor { part } => Complex64::new(1.0 / value[part], 0.0),
        BranchKind::Inductor { part } => Complex64::new(loss[part], omega * value[part]).inv(),
        BranchKind::Capacitor { part } => {
            let b = Complex64::new(0.0, omega * value[part]);
            b / (1.0 + b * loss[part])
        }
        BranchKind::Driver { .. } | BranchKind::Winding => {
            unreachable!("only parts of one branch with a value come here")
        }
    }
}

/// Solves `a x = b` in place by elimination with row pivoting; `a` is destroyed, `b` becomes `x`.
fn solve_small(q: usize, a: &mut [Complex64], b: &mut [Complex64]) {
    for k in 0..q {
        let best = (k..q)
            .max_by(|&i, &j| a[i * q + k].norm_sqr().total_cmp(&a[j * q + k].norm_sqr()))
            .expect("not empty");
        if best != k {
            for j in 0..q {
                a.swap(k * q + j, best * q + j);
            }
            b.swap(k, best);
        }
        for i in k + 1..q {
            let factor = a[i * q + k] / a[k * q + k];
            for j in k + 1..q {
                let row = a[k * q + j];
                a[i * q + j] -= factor * row;
            }
            let row = b[k];
            b[i] -= factor * row;
        }
    }
    for k in (0..q).rev() {
        let known: Complex64 = (k + 1..q).map(|j| a[k * q + j] * b[j]).sum();
        b[k] = (b[k] - known) / a[k * q + k];
    }
}

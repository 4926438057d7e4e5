//! One branch changed: the bilinear law, all lanes together.
//!
//! With the new branch impedance `z' = 1 / (Y_k + Δ)` and `u = 1 − Y_k z'`, the law is
//! `V_o' = V_o − z_ok v_k s`, `s = Δ / (1 + Δ z_kk) = u / (z' + u z_kk)`: one division, and `z'` of a
//! coil or a capacitor needs none.

use crate::nodal::lanes::{LANES, Lanes, QUAD, Real};
use crate::nodal::solution::store_lanes;
use crate::nodal::topology::BranchKind;

use super::WhatIf;

#[multiversion::multiversion(targets("x86_64+avx2"))]
pub(super) fn evaluate(what_if: &mut WhatIf, kind: BranchKind) {
    let layout = what_if.layout;
    let (value, loss) = (&what_if.candidate.value, &what_if.candidate.loss);
    let outputs = what_if.outputs.len();
    for (chunk, prepared) in what_if.prepared.chunks_exact(layout.len).enumerate() {
        let z = match kind {
            BranchKind::Resistor { part } => Lanes::real(value[part]),
            BranchKind::Inductor { part } => {
                reactance(loss[part], value[part], &what_if.omega[chunk])
            }
            BranchKind::Capacitor { part } => reactance(
                loss[part],
                -1.0 / value[part],
                &what_if.inverse_omega[chunk],
            ),
            BranchKind::Driver { .. } | BranchKind::Winding => {
                unreachable!("only parts of one branch with a value come here")
            }
        };
        let mut u = Lanes::ONE;
        u.subtract_product(&prepared[layout.admittance], &z);
        let mut divisor = z;
        divisor.add_product(&u, &prepared[layout.impedance]);
        let s = u.times(&divisor.reciprocal());
        let result = &mut what_if.result;
        for o in 0..outputs {
            let mut moved = prepared[layout.voltage + o];
            moved.subtract_product(&prepared[layout.transfer + o], &s);
            store_lanes(result, o, what_if.stride, chunk, &moved);
        }
        if what_if.watch_load {
            // Power drawn more, over the voltages at `in` before and after.
            let v = &prepared[0];
            let drawn = v.times(v).times(&s);
            let at_input = &prepared[layout.input];
            let mut moved_input = *at_input;
            moved_input.subtract_product(&what_if.shared[chunk], &drawn);
            let mut admittance = prepared[layout.input + 1];
            admittance.add_product(&drawn, &at_input.times(&moved_input).reciprocal());
            store_lanes(result, outputs, what_if.stride, chunk, &admittance);
        }
    }
}

/// `r + j x ω`, or with the inverse of ω in its place `r + j x / ω`.
#[inline(always)]
fn reactance(r: f64, x: f64, omega: &Real) -> Lanes {
    let mut out = Lanes::real(r);
    for q in (0..LANES).step_by(QUAD) {
        for i in q..q + QUAD {
            out.im[i] = x * omega[i];
        }
    }
    out
}

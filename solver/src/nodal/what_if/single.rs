//! One branch changed: the bilinear law, all lanes together.

use crate::nodal::chunk::{capacitor, inductor};
use crate::nodal::lanes::Lanes;
use crate::nodal::solution::store_lanes;
use crate::nodal::topology::BranchKind;

use super::WhatIf;

#[multiversion::multiversion(targets("x86_64+avx2"))]
pub(super) fn evaluate(what_if: &mut WhatIf, kind: BranchKind) {
    let layout = what_if.layout;
    let (value, loss) = (&what_if.candidate.value, &what_if.candidate.loss);
    let outputs = what_if.outputs.len();
    for (chunk, prepared) in what_if.prepared.chunks_exact(layout.len).enumerate() {
        let omega = &what_if.omega[chunk];
        let mut y = Lanes::ZERO;
        match kind {
            BranchKind::Resistor { part } => y = Lanes::real(1.0 / value[part]),
            BranchKind::Inductor { part } => inductor(value[part], loss[part], omega, &mut y),
            BranchKind::Capacitor { part } => capacitor(value[part], loss[part], omega, &mut y),
            BranchKind::Driver { .. } | BranchKind::Winding => {
                unreachable!("only parts of one branch with a value come here")
            }
        }
        let change = y.minus(&prepared[layout.admittance]);
        let mut divisor = Lanes::ONE;
        divisor.add_product(&change, &prepared[layout.impedance]);
        // The current that the change adds to the branch.
        let v = &prepared[0];
        let added = change.times(v).times(&divisor.reciprocal());
        let result = &mut what_if.result;
        for o in 0..outputs {
            let mut moved = prepared[layout.voltage + o];
            moved.subtract_product(&prepared[layout.transfer + o], &added);
            store_lanes(result, o, what_if.stride, chunk, &moved);
        }
        // Power drawn more, over the square of the voltage at `in`.
        let at_input = &prepared[layout.input];
        let drawn = v.times(&added);
        let mut moved_input = *at_input;
        moved_input.add_weighted(-what_if.shared, &drawn);
        let mut admittance = prepared[layout.input + 1];
        admittance.add_product(&drawn, &at_input.times(&moved_input).reciprocal());
        store_lanes(result, outputs, what_if.stride, chunk, &admittance);
    }
}

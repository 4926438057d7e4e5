//! Solving once, with a unit current through each branch that may change.

use crate::nodal::lanes::Lanes;
use crate::nodal::pass::Pass;
use crate::nodal::solution::Solution;
use crate::nodal::topology::{Element, IN};

use super::WhatIf;

#[multiversion::multiversion(targets("x86_64+avx2"))]
pub(super) fn prepare(pass: &mut Pass<'_>, solution: &mut Solution, what_if: &mut WhatIf) {
    for chunk in 0..pass.chunks {
        pass.solve::<true>(chunk);
        solution.store(chunk, pass.room);
        let len = what_if.layout.len;
        let WhatIf {
            branches,
            elements,
            outputs,
            layout,
            prepared,
            bare_transfer,
            ..
        } = &mut *what_if;
        let out = &mut prepared[chunk * len..(chunk + 1) * len];
        let q = layout.q;
        for (k, &branch) in branches.iter().enumerate() {
            let [a, b] = pass.plan.topology.branches[branch].nodes;
            pass.adjoint(a, b);
            let shared = pass.shared(chunk, a, b);
            let voltage = &pass.room.voltage;
            let across = |p: usize, n: usize, reached: bool| {
                let mut z = shared.times(&voltage[p].minus(&voltage[n]));
                if reached {
                    z.add(&pass.room.adjoint[p].minus(&pass.room.adjoint[n]));
                }
                z
            };
            out[k] = voltage[a].minus(&voltage[b]);
            for (j, &other) in branches.iter().enumerate() {
                let [p, n] = pass.plan.topology.branches[other].nodes;
                out[layout.impedance + k * q + j] = across(p, n, pass.plan.in_reach([a, b], other));
            }
            for (o, &[p, n]) in outputs.iter().enumerate() {
                // A node out of reach has no voltage of its own: it may hold an old one.
                let mut z = shared.times(&voltage[p].minus(&voltage[n]));
                for (node, sign) in [(p, 1.0), (n, -1.0)] {
                    if pass.plan.node_in_reach([a, b], node) {
                        z.add_weighted(sign, &pass.room.adjoint[node]);
                    }
                }
                out[layout.transfer + o * q + k] = z;
            }
        }
        for (o, &[p, n]) in outputs.iter().enumerate() {
            out[layout.voltage + o] = pass.room.voltage[p].minus(&pass.room.voltage[n]);
        }
        let admittances = &mut out[layout.admittance..layout.input];
        admittances.fill(Lanes::ZERO);
        for &(element, first) in elements.iter() {
            match element {
                Element::Branch(slot) => admittances[first * q + first] = pass.room.slots[slot],
                Element::Group(group) => {
                    let group = &pass.plan.topology.groups[group];
                    let m = group.len();
                    for i in 0..m {
                        for j in 0..m {
                            let slot = group.slots[i * m + j];
                            admittances[(first + i) * q + first + j] = pass.room.slots[slot];
                        }
                    }
                }
            }
        }
        for o in 0..outputs.len() {
            // With one branch its voltage can be taken into the transfers once and for all.
            if q == 1 && !*bare_transfer {
                out[layout.transfer + o] = out[layout.transfer + o].times(&out[0]);
            }
        }
        out[layout.input] = pass.room.voltage[IN];
        out[layout.input + 1] = pass.room.input;
    }
}

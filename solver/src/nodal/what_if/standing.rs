//! A network that stands at chosen values, with what any one part, or any two, would change.
//!
//! The numbers are those of a [`Cascade`] before its first step; a part that is moved keeps its branch,
//! so that it can be moved again:
//!
//! ```text
//! v_i' = v_i − z_ik s v_k,   z_ij' = z_ij − z_ik s z_kj,   t_oi' = t_oi − t_ok s z_ki
//! ```

use super::cascade::{Cascade, PartAt, state_len, triangle};
use crate::nodal::lanes::Lanes;

/// A network at chosen values.
#[derive(Debug, Clone)]
pub(crate) struct Standing<'a> {
    cascade: &'a Cascade,
    /// Admittance of each part at present, chunk by chunk.
    admittance: Vec<Lanes>,
    state: Vec<Lanes>,
}

impl<'a> Standing<'a> {
    /// At the values for which the cascade was prepared.
    pub(crate) fn new(cascade: &'a Cascade) -> Self {
        Self {
            cascade,
            admittance: cascade.admittance.clone(),
            state: cascade.root.clone(),
        }
    }

    fn parts(&self) -> usize {
        self.cascade.kinds.len()
    }

    /// Part number `step` as it is at present.
    #[inline(always)]
    pub(crate) fn part_at(&self, chunk: usize, step: usize) -> PartAt<'_> {
        PartAt {
            chunk,
            step,
            present: &self.admittance[chunk * self.parts() + step],
        }
    }

    /// Gives part number `step` a value and loss.
    pub(crate) fn put(&mut self, step: usize, value: f64, loss: f64) {
        put_all(
            self.cascade,
            &mut self.admittance,
            &mut self.state,
            step,
            (value, loss),
        );
    }

    /// Output voltages for one volt at `in`, then the admittance there, of a chunk.
    #[inline(always)]
    pub(crate) fn outputs(&self, chunk: usize) -> &[Lanes] {
        let len = state_len(self.parts(), self.cascade.outputs);
        let end = (chunk + 1) * len;
        &self.state[end - self.cascade.outputs - 1..end]
    }

    /// Numbers of the branch of part number `step`, chunk by chunk.
    pub(crate) fn leaves(&self, step: usize, out: &mut Vec<Lanes>) {
        out.clear();
        let (q, outputs) = (self.parts(), self.cascade.outputs);
        for state in self.state.chunks_exact(state_len(q, outputs)) {
            let (impedance, rest) = state[q..].split_at(q * (q + 1) / 2);
            out.extend([state[step], impedance[triangle(q, step, step)]]);
            out.extend((0..outputs).map(|o| rest[o * q + step]));
            out.extend_from_slice(&rest[outputs * q..]);
        }
    }

    /// The same when part number `first`, another one, has a value and loss.
    pub(crate) fn leaves_after(
        &self,
        first: usize,
        (value, loss): (f64, f64),
        step: usize,
        out: &mut Vec<Lanes>,
    ) {
        out.clear();
        leaves_after(self, first, (value, loss), step, out);
    }
}

/// Place of `z_ij` in the upper triangle, in either order.
#[inline(always)]
const fn place(q: usize, i: usize, j: usize) -> usize {
    if i <= j {
        triangle(q, i, j)
    } else {
        triangle(q, j, i)
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn leaves_after(
    standing: &Standing<'_>,
    first: usize,
    value_and_loss: (f64, f64),
    step: usize,
    out: &mut Vec<Lanes>,
) {
    let (q, outputs) = (standing.parts(), standing.cascade.outputs);
    for (chunk, state) in standing
        .state
        .chunks_exact(state_len(q, outputs))
        .enumerate()
    {
        let (impedance, rest) = state[q..].split_at(q * (q + 1) / 2);
        let (transfer, voltage) = rest.split_at(outputs * q);
        let z_00 = &impedance[triangle(q, first, first)];
        let s = (standing.cascade).moved(standing.part_at(chunk, first), value_and_loss, z_00);
        let sv = s.times(&state[first]);
        let z_0k = &impedance[place(q, first, step)];
        let sz = s.times(z_0k);
        let mut v = state[step];
        v.subtract_product(z_0k, &sv);
        let mut z = impedance[triangle(q, step, step)];
        z.subtract_product(&sz, z_0k);
        out.extend([v, z]);
        for o in 0..outputs {
            let mut t = transfer[o * q + step];
            t.subtract_product(&transfer[o * q + first], &sz);
            out.push(t);
        }
        for o in 0..outputs {
            let mut moved = voltage[o];
            moved.subtract_product(&transfer[o * q + first], &sv);
            out.push(moved);
        }
        let mut admittance = voltage[outputs];
        admittance.add_product(&state[first], &sv);
        out.push(admittance);
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn put_all(
    cascade: &Cascade,
    admittances: &mut [Lanes],
    states: &mut [Lanes],
    step: usize,
    value_and_loss: (f64, f64),
) {
    let (q, outputs) = (cascade.kinds.len(), cascade.outputs);
    let mut column = vec![Lanes::ZERO; q];
    for (chunk, state) in states.chunks_exact_mut(state_len(q, outputs)).enumerate() {
        let present = &mut admittances[chunk * q + step];
        let (voltages, rest) = state.split_at_mut(q);
        let (impedance, rest) = rest.split_at_mut(q * (q + 1) / 2);
        let (transfer, ends) = rest.split_at_mut(outputs * q);
        for (i, z) in column.iter_mut().enumerate() {
            *z = impedance[place(q, i, step)];
        }
        let part = PartAt {
            chunk,
            step,
            present,
        };
        let s = cascade.moved(part, value_and_loss, &column[step]);
        let v = voltages[step];
        let sv = s.times(&v);
        for o in 0..outputs {
            let t = transfer[o * q + step];
            ends[o].subtract_product(&t, &sv);
            let st = s.times(&t);
            for i in 0..q {
                transfer[o * q + i].subtract_product(&st, &column[i]);
            }
        }
        ends[outputs].add_product(&v, &sv);
        let mut at = 0;
        for i in 0..q {
            voltages[i].subtract_product(&column[i], &sv);
            let sz = s.times(&column[i]);
            for j in i..q {
                impedance[at].subtract_product(&sz, &column[j]);
                at += 1;
            }
        }
        *present = cascade.impedance(chunk, step, value_and_loss).reciprocal();
    }
}

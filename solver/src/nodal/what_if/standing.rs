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

#[cfg(test)]
mod tests {
    use netlist::network::{Network, NodeId, Part, PartKind};
    use netlist::quantity::{Farads, Henries, Ohms};
    use num_complex::Complex64;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;
    use crate::grid::Grid;
    use crate::nodal::lanes::LANES;
    use crate::nodal::{Closer, Output, Plan, STIFF, Values};
    use crate::spectrum::Spectrum;

    /// Two ways: coils, capacitors and resistors in series, across, and bridging a node; `seed` draws the values.
    fn network(random: &mut ChaCha8Rng, lossless: bool) -> Network {
        let mut network = Network::new();
        let [gnd, hot] = [NodeId::GND, NodeId::IN];
        let [a, b, c, d, e] = ["a", "b", "c", "d", "e"].map(|name| network.node(name));
        let loss = |ohm: f64| Ohms(if lossless { 0.0 } else { ohm });
        let ends = [
            ('L', [hot, a]),
            ('C', [a, gnd]),
            ('R', [a, b]),
            ('L', [a, b]),
            ('C', [hot, c]),
            ('L', [c, gnd]),
            ('R', [c, d]),
            ('R', [d, gnd]),
            ('C', [c, e]),
            ('R', [e, d]),
        ];
        for (number, (kind, between)) in ends.into_iter().enumerate() {
            let size = random.random_range(0.3..3.0);
            let kind = match kind {
                'R' => PartKind::Resistor {
                    resistance: Ohms(8.0 * size),
                    between,
                },
                'L' => PartKind::Inductor {
                    inductance: Henries(1e-3 * size),
                    dcr: loss(0.3),
                    between,
                },
                _ => PartKind::Capacitor {
                    capacitance: Farads(2e-5 * size),
                    esr: loss(0.05),
                    between,
                },
            };
            network.insert(format!("P{number}"), Part::new(kind));
        }
        for (name, node) in [("low", b), ("high", d)] {
            let kind = PartKind::Driver {
                driver: name.to_owned(),
                between: [node, gnd],
                inverted: false,
            };
            network.insert(name.to_owned(), Part::new(kind));
        }
        network
    }

    /// Parts put at values one after the other, some of them twice, and the last by its leaf: each time all is what
    /// the network solved anew has.
    #[test]
    fn moved_parts_are_a_new_solution() {
        for seed in 0..40 {
            let random = &mut ChaCha8Rng::seed_from_u64(seed);
            let network = network(random, seed % 4 == 3);
            let plan = Plan::compile(&network).unwrap();
            let mut values = Values::of(&network);
            let outputs: Vec<Output> = plan.driver_outputs().map(|(output, _)| output).collect();
            let grid = Grid::log_spaced(40.0, 16e3, LANES).unwrap();
            let load = |ohm: f64, henry: f64| {
                Spectrum::from_fn(LANES, |i| Complex64::new(ohm, henry * grid.omega()[i]))
            };
            let loads = [load(6.0, 4e-4), load(5.0, 1e-4)];
            let parts: Vec<usize> = (0..10).collect();
            let grids = [(grid.clone(), loads.to_vec())];
            let cascade = Cascade::new(&plan, &values, &parts, &outputs, &grids).unwrap();
            let mut standing = Standing::new(&cascade);
            for _ in 0..12 {
                let part = random.random_range(0..10usize);
                let factor = random.random_range(0.3..3.0);
                values.value[part] *= factor;
                standing.put(part, values.value[part], values.loss[part]);
            }
            let last = random.random_range(0..10usize);
            let (value, loss) = (values.value[last] * 1.7, values.loss[last] * 0.6);
            let mut leaf = Vec::new();
            standing.leaves(last, &mut leaf);
            let mut moved = vec![Lanes::ZERO; outputs.len()];
            let part = standing.part_at(0, last);
            let admittance = cascade.leaf_of(part, &leaf, (value, loss), &mut moved);
            moved.push(admittance);
            let solved = |values: &Values| {
                let closer = Closer {
                    plan: &plan,
                    values,
                    drive: &STIFF,
                    grid: &grid,
                    loads: &loads.iter().collect::<Vec<_>>(),
                };
                closer.on_grid().unwrap()
            };
            let mut next = values.clone();
            (next.value[last], next.loss[last]) = (value, loss);
            for (found, solution) in [
                (standing.outputs(0), solved(&values)),
                (&moved[..], solved(&next)),
            ] {
                let (g, b) = solution.input_admittance();
                for i in 0..LANES {
                    let mut expected: Vec<Complex64> =
                        outputs.iter().map(|&o| solution.output_at(o, i)).collect();
                    expected.push(Complex64::new(g[i], b[i]));
                    for (found, expected) in found.iter().zip(expected) {
                        let off = (found.lane(i) - expected).norm();
                        assert!(off < 1e-8 * (1.0 + expected.norm()), "{seed}, {i}: {off:e}");
                    }
                }
            }
        }
    }
}

//! The elimination itself, on one chunk of lanes that stays in the nearest cache.

use super::dense::DensePoint;
use super::elimination::{Entry, Pivot};
use super::lanes::{LANES, Lanes, QUAD, Real};
use super::plan::Plan;
use super::topology::{Group, IN};

/// Elimination factors whose squares add up to more than this have cost accuracy: the frequency is
/// solved again with pivoting. A factor of a thousand costs three digits of sixteen.
pub(super) const FACTOR_SQUARES_LIMIT: f64 = 1e6;

/// Room for one chunk.
#[derive(Debug, Clone)]
pub(crate) struct Chunk {
    /// Admittances, matrix entries, factors and inverse pivots, by slot.
    pub(crate) slots: Vec<Lanes>,
    /// Node voltages.
    pub(crate) voltage: Vec<Lanes>,
    /// A second set of node voltages, for a unit current at an output with `in` at 0 V.
    pub(crate) adjoint: Vec<Lanes>,
    /// Admittance at `in`.
    pub(crate) input: Lanes,
    /// `1 + Z₀ D`: open-circuit voltage over the voltage at `in`.
    pub(crate) divisor: Lanes,
    /// Frequencies of this chunk that were solved with pivoting.
    pub(crate) dense: Vec<(usize, DensePoint)>,
    pub(super) inductances: Vec<f64>,
    pub(super) inverse: Vec<num_complex::Complex64>,
}

impl Chunk {
    pub(crate) fn new(plan: &Plan) -> Self {
        let largest = plan.topology.groups.iter().map(Group::len).max();
        let square = largest.map_or(0, |m| m * m);
        Self {
            slots: vec![Lanes::ZERO; plan.elimination.slot_count],
            voltage: vec![Lanes::ZERO; plan.topology.node_count],
            adjoint: vec![Lanes::ZERO; plan.topology.node_count],
            input: Lanes::ZERO,
            divisor: Lanes::ONE,
            dense: Vec::with_capacity(LANES),
            inductances: vec![0.0; square * plan.topology.groups.len()],
            inverse: vec![num_complex::Complex64::ZERO; 2 * square],
        }
    }
}

/// Solves `Y w = u` for one block, `in` at 0 V: `u` in, `w` out; `u` is 0 but at `sources`.
#[inline(always)]
pub(super) fn substitute(pivots: &[Pivot], sources: [usize; 2], slots: &[Lanes], u: &mut [Lanes]) {
    // Nothing to carry before the first of the sources is eliminated.
    let first = pivots
        .iter()
        .position(|pivot| sources.contains(&pivot.node))
        .unwrap_or(pivots.len());
    for pivot in &pivots[first..] {
        let here = u[pivot.node];
        for below in &pivot.below {
            if below.node != IN {
                u[below.node].add_product(&slots[below.factor], &here);
            }
        }
        u[pivot.node] = here.times(&slots[pivot.inverse]);
    }
    for pivot in pivots.iter().rev() {
        let mut here = u[pivot.node];
        for below in &pivot.below {
            if below.node != IN {
                here.add_product(&slots[below.factor], &u[below.node]);
            }
        }
        u[pivot.node] = here;
    }
}

/// The admittances that meet in an entry, before elimination.
#[inline(always)]
pub(super) fn stamped(slots: &[Lanes], entry: &Entry) -> Lanes {
    let mut sum = Lanes::ZERO;
    for &slot in &entry.slots {
        sum.add(&slots[slot]);
    }
    for &(slot, weight) in &entry.weighted {
        sum.add_weighted(weight, &slots[slot]);
    }
    sum
}

#[inline(always)]
pub(super) fn diagonal(slots: &[Lanes], entry: &Entry) -> Lanes {
    let mut sum = stamped(slots, entry);
    for &(factor, b) in &entry.updates {
        sum.subtract_product(&slots[factor], &slots[b]);
    }
    sum
}

#[inline(always)]
pub(super) fn off_diagonal(slots: &[Lanes], entry: &Entry) -> Lanes {
    let mut sum = stamped(slots, entry);
    for &(factor, b) in &entry.updates {
        sum.add_product(&slots[factor], &slots[b]);
    }
    sum
}

/// `1 / (r + jωL)`
#[inline(always)]
pub(crate) fn inductor(l: f64, r: f64, omega: &Real) -> Lanes {
    let mut out = Lanes::ZERO;
    for q in (0..LANES).step_by(QUAD) {
        for i in q..q + QUAD {
            let x = omega[i] * l;
            let scale = 1.0 / (r * r + x * x);
            out.re[i] = r * scale;
            out.im[i] = -x * scale;
        }
    }
    out
}

/// `jωC / (1 + jωCr)`
#[inline(always)]
pub(crate) fn capacitor(c: f64, r: f64, omega: &Real) -> Lanes {
    let mut out = Lanes::ZERO;
    for q in (0..LANES).step_by(QUAD) {
        for i in q..q + QUAD {
            let b = omega[i] * c;
            let damping = b * r;
            let im = b / (1.0 + damping * damping);
            out.re[i] = damping * im;
            out.im[i] = im;
        }
    }
    out
}

/// `R + jωM` of a group, row by row.
pub(crate) fn group_impedance(
    group: &Group,
    inductances: &[f64],
    loss: &[f64],
    omega: f64,
    z_ohm: &mut [num_complex::Complex64],
) {
    let m = group.len();
    for i in 0..m {
        for j in 0..m {
            let re = if i == j {
                group.resistance(i, loss)
            } else {
                0.0
            };
            z_ohm[i * m + j] = num_complex::Complex64::new(re, omega * inductances[i * m + j]);
        }
    }
}

/// Inverse of a small symmetric matrix with a positive definite imaginary part (no pivot can
/// vanish), by Gauss–Jordan; `a` is destroyed.
pub(crate) fn invert_symmetric(
    m: usize,
    a: &mut [num_complex::Complex64],
    inverse: &mut [num_complex::Complex64],
) {
    inverse.fill(num_complex::Complex64::ZERO);
    for i in 0..m {
        inverse[i * m + i] = num_complex::Complex64::ONE;
    }
    for k in 0..m {
        let pivot = a[k * m + k].inv();
        for j in 0..m {
            a[k * m + j] *= pivot;
            inverse[k * m + j] *= pivot;
        }
        for i in 0..m {
            if i == k {
                continue;
            }
            let factor = a[i * m + k];
            for j in 0..m {
                let (from_a, from_inverse) = (a[k * m + j], inverse[k * m + j]);
                a[i * m + j] -= factor * from_a;
                inverse[i * m + j] -= factor * from_inverse;
            }
        }
    }
}

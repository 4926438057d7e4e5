//! One frequency solved by dense LU with pivoting, for where the planned elimination is not good
//! enough.

use nalgebra::{DMatrix, DVector, Dyn, LU};
use num_complex::Complex64;

use super::lanes::Lanes;
use super::plan::Plan;
use super::topology::{BranchKind, GND, IN};
use super::values::Values;

/// A network at one frequency, factored with pivoting.
#[derive(Debug, Clone)]
pub(crate) struct DensePoint {
    /// Of the nodes but `gnd` and `in`, so that node `n` is row `n − 2`.
    lu: Option<LU<Complex64, Dyn, Dyn>>,
    /// Transfers of those nodes for one volt at `in`.
    transfer: DVector<Complex64>,
    input_admittance: Complex64,
    lossless: bool,
}

/// First node that has a row.
const FIRST: usize = 2;

impl DensePoint {
    /// Factors lane `lane`, whose admittances stand in `slots`.
    pub(crate) fn new(
        plan: &Plan,
        values: &Values,
        slots: &[Lanes],
        lane: usize,
        omega: f64,
    ) -> Self {
        let admittance = |slot: usize| slots[slot].lane(lane);
        if let Some(point) = Self::factor(plan, admittance) {
            return point;
        }
        // A resonance without any loss, hit exactly: take a frequency a billionth beside it.
        let beside = omega * (1.0 + 1e-9);
        let admittance = |slot: usize| match plan.topology.branches.get(slot).map(|b| b.kind) {
            Some(BranchKind::Inductor { part }) => {
                Complex64::new(values.loss[part], beside * values.value[part]).inv()
            }
            Some(BranchKind::Capacitor { part }) => {
                let b = Complex64::new(0.0, beside * values.value[part]);
                b / (1.0 + b * values.loss[part])
            }
            _ => slots[slot].lane(lane),
        };
        let mut point = Self::factor(plan, admittance).unwrap_or_else(|| Self::open(plan));
        point.lossless = true;
        point
    }

    fn factor(plan: &Plan, admittance: impl Fn(usize) -> Complex64) -> Option<Self> {
        let full = matrix(plan, admittance);
        let rows = full.nrows() - 1;
        // Node `in` is row 0 of the full matrix.
        let inner = full.view((1, 1), (rows, rows)).clone_owned();
        let to_input: DVector<Complex64> = full.view((1, 0), (rows, 1)).column(0).clone_owned();
        let lu = inner.lu();
        let transfer = lu.solve(&(-&to_input))?;
        if !transfer.iter().all(|t| t.is_finite()) {
            return None;
        }
        let input_admittance = full[(0, 0)] + to_input.dot(&transfer);
        Some(Self {
            lu: Some(lu),
            transfer,
            input_admittance,
            lossless: false,
        })
    }

    /// Nothing can be said: no voltage anywhere.
    fn open(plan: &Plan) -> Self {
        Self {
            lu: None,
            transfer: DVector::zeros(plan.topology.node_count - FIRST),
            input_admittance: Complex64::ZERO,
            lossless: true,
        }
    }

    pub(crate) fn lossless(&self) -> bool {
        self.lossless
    }

    pub(crate) fn input_admittance(&self) -> Complex64 {
        self.input_admittance
    }

    /// Voltage of every node for one volt at `in`.
    pub(crate) fn transfers(&self) -> impl Iterator<Item = Complex64> + '_ {
        [Complex64::ZERO, Complex64::ONE]
            .into_iter()
            .chain(self.transfer.iter().copied())
    }

    /// Voltage of every node for a unit current from `negative` into `positive`, `in` at 0 V.
    pub(crate) fn adjoint(
        &self,
        positive: usize,
        negative: usize,
    ) -> impl Iterator<Item = Complex64> {
        let mut current = DVector::zeros(self.transfer.len());
        for (node, sign) in [(positive, 1.0), (negative, -1.0)] {
            if node >= FIRST {
                current[node - FIRST] += Complex64::new(sign, 0.0);
            }
        }
        let solved = self.lu.as_ref().and_then(|lu| lu.solve(&current));
        let inner = solved.unwrap_or_else(|| DVector::zeros(self.transfer.len()));
        [Complex64::ZERO; FIRST]
            .into_iter()
            .chain(inner.iter().copied().collect::<Vec<_>>())
    }
}

/// The matrix over all nodes but `gnd`, `in` first.
fn matrix(plan: &Plan, admittance: impl Fn(usize) -> Complex64) -> DMatrix<Complex64> {
    let topology = &plan.topology;
    let size = topology.node_count - 1;
    let mut y = DMatrix::zeros(size, size);
    let mut stamp = |p: [usize; 2], q: [usize; 2], value: Complex64| {
        for (row, row_sign) in [(p[0], 1.0), (p[1], -1.0)] {
            for (column, column_sign) in [(q[0], 1.0), (q[1], -1.0)] {
                if row != GND && column != GND {
                    y[(row - IN, column - IN)] += value * (row_sign * column_sign);
                }
            }
        }
    };
    for (slot, branch) in topology.branches.iter().enumerate() {
        stamp(branch.nodes, branch.nodes, admittance(slot));
    }
    for group in &topology.groups {
        let m = group.len();
        for i in 0..m {
            for j in 0..m {
                if i != j {
                    let [p, q] = [i, j].map(|w| topology.branches[group.branches[w]].nodes);
                    stamp(p, q, admittance(group.slots[i * m + j]));
                }
            }
        }
    }
    y
}

//! Voltage and current of every part, from a solution.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::plan::Plan;
use super::solution::Solution;
use super::topology::BranchKind;
use super::values::Values;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Voltage and current of a two-terminal part, or of one winding of an autoformer.
#[derive(Debug, Clone)]
pub struct Flow {
    /// Position of the part among [`Plan::part_names`].
    pub part: usize,
    /// Voltage of its first node against its second, in volt.
    pub voltage_v: Spectrum,
    /// Current from its first node through it to its second, in ampere.
    pub current_a: Spectrum,
    /// The resistance in it that turns current to heat, in ohm; `None` for a driver.
    pub resistance_ohm: Option<f64>,
}

impl Flow {
    /// Power that is burnt at frequency `i`, in watt: heat in the resistance of a part, what a driver
    /// takes.
    #[must_use]
    pub fn power_w(&self, i: usize) -> f64 {
        match self.resistance_ohm {
            Some(ohm) => self.current_a.at(i).norm_sqr() * ohm,
            None => (self.voltage_v.at(i) * self.current_a.at(i).conj()).re,
        }
    }
}

impl Plan {
    /// What flows in every branch: parts in the builder's order first, then windings of autoformers from
    /// the top down. `loads_z_ohm` are the impedances that the solution was made with.
    ///
    /// # Panics
    /// If solution, grid and loads are not of one length and this plan.
    #[must_use]
    pub fn flows(
        &self,
        values: &Values,
        grid: &Grid,
        loads_z_ohm: &[&Spectrum],
        solution: &Solution,
    ) -> Vec<Flow> {
        let points = grid.len();
        let mut flows: Vec<Flow> = (self.topology.branches.iter())
            .map(|branch| {
                let [a, b] = branch.nodes.map(netlist::network::NodeId);
                let voltage_v =
                    Spectrum::from_fn(points, |i| solution.node_at(a, i) - solution.node_at(b, i));
                let (part, resistance_ohm) = match branch.kind {
                    BranchKind::Resistor { part } => (part, Some(values.value[part])),
                    BranchKind::Inductor { part } | BranchKind::Capacitor { part } => {
                        (part, Some(values.loss[part]))
                    }
                    BranchKind::Driver { part, .. } => (part, None),
                    // Filled in below, with all of its group.
                    BranchKind::Winding => (usize::MAX, None),
                };
                let current_a = Spectrum::from_fn(points, |i| {
                    let load = |driver: usize| loads_z_ohm[driver].at(i);
                    (branch.kind.impedance(values, grid.omega()[i], load))
                        .map_or(Complex64::ZERO, |z_ohm| voltage_v.at(i) / z_ohm)
                });
                Flow {
                    part,
                    voltage_v,
                    current_a,
                    resistance_ohm,
                }
            })
            .collect();
        self.wind(values, grid, &mut flows);
        flows
    }

    /// Currents of coupled windings: `(R + jωM) i = v`.
    fn wind(&self, values: &Values, grid: &Grid, flows: &mut [Flow]) {
        for group in &self.topology.groups {
            let m = group.len();
            let mut inductances = vec![0.0; m * m];
            group.inductances(&values.value, &mut inductances);
            for (winding, &branch) in group.branches.iter().enumerate() {
                flows[branch].part = group.part_of(winding);
                flows[branch].resistance_ohm = Some(group.resistance(winding, &values.loss));
            }
            for i in 0..grid.len() {
                let z = DMatrix::from_fn(m, m, |row, column| {
                    let own = if row == column {
                        group.resistance(row, &values.loss)
                    } else {
                        0.0
                    };
                    Complex64::new(own, grid.omega()[i] * inductances[row * m + column])
                });
                let v = DVector::from_fn(m, |row, _| flows[group.branches[row]].voltage_v.at(i));
                let current = z.lu().solve(&v).unwrap_or_else(|| DVector::zeros(m));
                for (winding, &branch) in group.branches.iter().enumerate() {
                    flows[branch].current_a.set(i, current[winding]);
                }
            }
        }
    }
}

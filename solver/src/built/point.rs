//! A build solved at one frequency, and what that says of how its curve moves.

use num_complex::Complex64;

use super::bench::{Bench, Target};
use crate::nodal::Coupled;

/// A build solved at one frequency for one volt at `in`.
#[derive(Debug, Clone, Copy)]
pub(super) struct SolvedPoint<'a> {
    /// Number of the frequency.
    pub(super) i: usize,
    /// Voltage of every node.
    pub(super) nodes: &'a [Complex64],
    /// What is measured: the impedance at `in` and the leads, ohm.
    pub(super) total_ohm: Complex64,
    /// The slope of ln Z in an impedance, for the square of the current through it.
    pub(super) weight: Complex64,
}

impl<'a> SolvedPoint<'a> {
    /// With the admittance at `in`, siemens.
    pub(super) fn new(
        i: usize,
        nodes: &'a [Complex64],
        admittance: Complex64,
        leads_ohm: f64,
    ) -> Self {
        let total_ohm = admittance.inv() + leads_ohm;
        Self {
            i,
            nodes,
            total_ohm,
            weight: (admittance * admittance * total_ohm).inv(),
        }
    }

    /// Voltage between two nodes.
    pub(super) fn across(&self, [a, b]: [usize; 2]) -> Complex64 {
        self.nodes[a] - self.nodes[b]
    }

    /// The slope of ln Z in what moves the impedance matrix of coupled branches by `matrix`:
    /// `Σ i_a i_b ∂z_ab`, weighted.
    pub(super) fn slope(&self, currents: &[Complex64], matrix: &[Complex64]) -> Complex64 {
        let m = currents.len();
        let mut sum = Complex64::ZERO;
        for a in 0..m {
            for b in 0..m {
                sum += currents[a] * currents[b] * matrix[a * m + b];
            }
        }
        self.weight * sum
    }

    /// Currents of coupled branches whose admittance matrix is `y`, row by row.
    pub(super) fn currents(&self, coupled: &Coupled, y: &[Complex64]) -> Vec<Complex64> {
        let m = coupled.nodes.len();
        let volts: Vec<Complex64> = coupled
            .nodes
            .iter()
            .map(|&ends| self.across(ends))
            .collect();
        (0..m)
            .map(|a| (0..m).map(|b| y[a * m + b] * volts[b]).sum())
            .collect()
    }

    /// Completes the slopes in the parts by those in the meter's scale and leads, each times its deviation.
    pub(super) fn complete(&self, bench: &Bench, sigma: &[f64], row: &mut [Complex64]) {
        for ((slope, drift), sigma) in row.iter_mut().zip(&bench.drift).zip(sigma) {
            match drift.target {
                Target::Scale => *slope = Complex64::ONE,
                Target::Leads => *slope = self.total_ohm.inv(),
                _ => {}
            }
            *slope *= sigma;
        }
    }
}

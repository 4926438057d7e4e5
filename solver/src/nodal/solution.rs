//! What a run works on and what it gives.

use netlist::network::NodeId;
use num_complex::Complex64;

use super::chunk::Chunk;
use super::drive::Drive;
use super::lanes::{LANES, Lanes};
use super::pass::Pass;
use super::plan::{Output, Plan};
use super::topology::{GND, IN};
use super::values::Values;
use super::workspace::{RunReport, Workspace};
use crate::spectrum::Spectrum;

/// Voltages at all nodes and the admittance at `in`, over the grid.
#[derive(Debug, Clone)]
pub struct Solution {
    pub(crate) points: usize,
    pub(crate) stride: usize,
    /// Node by node: `stride` real parts, then `stride` imaginary parts.
    pub(crate) voltage: Vec<f64>,
    pub(crate) input_admittance: Vec<f64>,
}

impl Solution {
    /// Room for the solution of `plan` in `workspace`.
    #[must_use]
    pub fn new(plan: &Plan, workspace: &Workspace) -> Self {
        let stride = workspace.chunks() * LANES;
        Self {
            points: workspace.points,
            stride,
            voltage: vec![0.0; plan.topology.node_count * 2 * stride],
            input_admittance: vec![0.0; 2 * stride],
        }
    }

    /// Number of frequencies.
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "a grid is never empty")]
    pub fn len(&self) -> usize {
        self.points
    }

    /// Voltage of a node against `gnd`: real parts, imaginary parts; volt.
    #[must_use]
    pub fn node(&self, node: NodeId) -> (&[f64], &[f64]) {
        planar(&self.voltage, node.0, self.stride, self.points)
    }

    /// Voltage of a node against `gnd` at frequency `i`, in volt.
    #[must_use]
    pub fn node_at(&self, node: NodeId, i: usize) -> Complex64 {
        let (re, im) = self.node(node);
        Complex64::new(re[i], im[i])
    }

    /// A voltage between two nodes at frequency `i`, in volt.
    #[must_use]
    pub fn output_at(&self, output: Output, i: usize) -> Complex64 {
        self.node_at(output.positive, i) - self.node_at(output.negative, i)
    }

    /// A voltage between two nodes over the grid, in volt.
    #[must_use]
    pub fn output(&self, output: Output) -> Spectrum {
        Spectrum::from_fn(self.points, |i| self.output_at(output, i))
    }

    /// Admittance of the network at `in`, in siemens: real parts, imaginary parts.
    #[must_use]
    pub fn input_admittance(&self) -> (&[f64], &[f64]) {
        planar(&self.input_admittance, 0, self.stride, self.points)
    }

    /// Impedance that the amplifier sees at frequency `i`, in ohm; `None` where the network takes
    /// no current at all.
    #[must_use]
    pub fn input_impedance_at(&self, i: usize) -> Option<Complex64> {
        let (re, im) = self.input_admittance();
        let z_ohm = Complex64::new(re[i], im[i]).inv();
        z_ohm.is_finite().then_some(z_ohm)
    }

    #[inline(always)]
    pub(crate) fn store(&mut self, chunk: usize, room: &Chunk) {
        for (node, lanes) in room.voltage.iter().enumerate().skip(IN) {
            store_lanes(&mut self.voltage, node, self.stride, chunk, lanes);
        }
        store_lanes(
            &mut self.input_admittance,
            0,
            self.stride,
            chunk,
            &room.input,
        );
    }
}

/// Array number `index` of a planar store.
pub(crate) fn planar(
    store: &[f64],
    index: usize,
    stride: usize,
    points: usize,
) -> (&[f64], &[f64]) {
    let re = index * 2 * stride;
    let im = re + stride;
    (&store[re..re + points], &store[im..im + points])
}

#[inline(always)]
pub(crate) fn store_lanes(
    store: &mut [f64],
    index: usize,
    stride: usize,
    chunk: usize,
    lanes: &Lanes,
) {
    let re = index * 2 * stride + chunk * LANES;
    let im = re + stride;
    store[re..re + LANES].copy_from_slice(&lanes.re);
    store[im..im + LANES].copy_from_slice(&lanes.im);
}

impl Plan {
    /// Solves the network at all frequencies.
    ///
    /// `solution` must have been made for this plan and workspace.
    pub fn run(
        &self,
        values: &Values,
        drive: &Drive,
        workspace: &mut Workspace,
        solution: &mut Solution,
    ) -> RunReport {
        let mut pass = Pass::new(self, values, drive, workspace);
        sweep(&mut pass, solution);
        pass.report
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn sweep(pass: &mut Pass<'_>, solution: &mut Solution) {
    for chunk in 0..pass.chunks {
        pass.solve::<false>(chunk);
        solution.store(chunk, pass.room);
    }
}

const _: () = assert!(GND == 0 && IN == 1, "solutions are indexed by node");

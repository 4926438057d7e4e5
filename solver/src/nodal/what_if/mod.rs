//! What outputs become when a few parts change, without solving the network again.

mod cascade;
mod prepare;
mod several;
mod single;
mod standing;

use num_complex::Complex64;

pub(crate) use cascade::Cascade;
pub(crate) use standing::Standing;

use super::drive::Drive;
use super::lanes::{LANES, Lanes, Real};
use super::pass::Pass;
use super::plan::{Output, Plan};
use super::solution::{Solution, planar};
use super::topology::{BranchKind, Element, Group};
use super::values::Values;
use super::workspace::{RunReport, Workspace};

/// Prepared for changes of chosen parts and for chosen outputs; then each candidate costs a few
/// multiplications a frequency.
#[derive(Debug, Clone)]
pub struct WhatIf {
    parts: Vec<usize>,
    /// Branches of these parts, each once.
    branches: Vec<usize>,
    /// Elements of these parts, each once, with the place of their first branch in `branches`.
    elements: Vec<(Element, usize)>,
    outputs: Vec<[usize; 2]>,
    points: usize,
    stride: usize,
    omega: Vec<Real>,
    inverse_omega: Vec<Real>,
    /// Values that candidates are written into.
    candidate: Values,
    /// `Z₀ / E`, per ampere.
    shared: Vec<Lanes>,
    /// Chunk by chunk, as [`WhatIfLayout`] says.
    prepared: Vec<Lanes>,
    layout: WhatIfLayout,
    result: Vec<f64>,
    /// Whether the admittance at `in` is wanted too.
    watch_load: bool,
    /// With one branch, the transfers are left without its voltage.
    bare_transfer: bool,
    scratch: Vec<Complex64>,
    inductances: Vec<f64>,
}

/// Where things are in a chunk of the prepared numbers, for `q` branches: first the `q` branch
/// voltages `v_k`.
#[derive(Debug, Clone, Copy)]
struct WhatIfLayout {
    q: usize,
    /// `z_kj`, row by row.
    impedance: usize,
    /// `z_ok`, output by output; `z_ok v_k` where there is but one branch.
    transfer: usize,
    /// `V_o`
    voltage: usize,
    /// Admittances `y_kj` of the branches, row by row.
    admittance: usize,
    /// Voltage at `in`, then the admittance there.
    input: usize,
    len: usize,
}

impl WhatIfLayout {
    fn new(q: usize, outputs: usize) -> Self {
        let impedance = q;
        let transfer = impedance + q * q;
        let voltage = transfer + outputs * q;
        let admittance = voltage + outputs;
        let input = admittance + q * q;
        Self {
            q,
            impedance,
            transfer,
            voltage,
            admittance,
            input,
            len: input + 2,
        }
    }
}

impl Plan {
    /// Solves the network and prepares for changes of the parts of `what_if`.
    pub fn prepare_what_if(
        &self,
        values: &Values,
        drive: &Drive,
        workspace: &mut Workspace,
        solution: &mut Solution,
        what_if: &mut WhatIf,
    ) -> RunReport {
        what_if.candidate.clone_from(values);
        let scale = [1.0 / drive.open_circuit_v; LANES];
        what_if.shared.clear();
        what_if.shared.extend((0..workspace.chunks()).map(|chunk| {
            let source = drive.output_impedance_ohm.lanes(chunk, workspace.points);
            source.scaled(&scale)
        }));
        let mut pass = Pass::new(self, values, drive, workspace);
        prepare::prepare(&mut pass, solution, what_if);
        pass.report
    }
}

impl WhatIf {
    /// For changes of `parts` (positions, without drivers) as seen at `outputs`; to be prepared by
    /// [`Plan::prepare_what_if`].
    ///
    /// # Panics
    /// If a part is a driver or out of range.
    #[must_use]
    pub fn new(
        plan: &Plan,
        workspace: &Workspace,
        values: &Values,
        parts: &[usize],
        outputs: &[Output],
    ) -> Self {
        let mut branches = Vec::new();
        let mut elements: Vec<(Element, usize)> = Vec::new();
        for &part in parts {
            let element = plan.topology.elements[part];
            if elements.iter().any(|&(known, _)| known == element) {
                continue;
            }
            elements.push((element, branches.len()));
            branches.extend_from_slice(plan.branches_of(part));
        }
        let is_driver =
            |&b: &usize| matches!(plan.topology.branches[b].kind, BranchKind::Driver { .. });
        assert!(
            !branches.iter().any(is_driver),
            "a driver has no value to change"
        );
        let q = branches.len();
        let layout = WhatIfLayout::new(q, outputs.len());
        let stride = workspace.chunks() * LANES;
        let largest = plan
            .topology
            .groups
            .iter()
            .map(Group::len)
            .max()
            .unwrap_or(0);
        Self {
            parts: parts.to_vec(),
            branches,
            elements,
            outputs: outputs
                .iter()
                .map(|o| [o.positive.0, o.negative.0])
                .collect(),
            points: workspace.points,
            stride,
            omega: workspace.omega.clone(),
            inverse_omega: workspace.inverse_omega.clone(),
            candidate: values.clone(),
            shared: Vec::with_capacity(workspace.chunks()),
            prepared: vec![Lanes::ZERO; layout.len * workspace.chunks()],
            layout,
            result: vec![0.0; (outputs.len() + 1) * 2 * stride],
            watch_load: false,
            bare_transfer: false,
            scratch: vec![Complex64::ZERO; 2 * q * q + q + 2 * largest * largest],
            inductances: vec![0.0; largest * largest],
        }
    }

    /// The parts that may change, in the order in which [`WhatIf::evaluate`] takes their values.
    #[must_use]
    pub fn parts(&self) -> &[usize] {
        &self.parts
    }

    /// Works out the outputs for other values and losses of the parts, in their order.
    ///
    /// # Panics
    /// If there is not one pair (value, loss) a part.
    pub fn evaluate(&mut self, plan: &Plan, value_and_loss: &[(f64, f64)]) {
        assert_eq!(
            value_and_loss.len(),
            self.parts.len(),
            "one value and loss a part"
        );
        for (&part, &(value, loss)) in self.parts.iter().zip(value_and_loss) {
            self.candidate.value[part] = value;
            self.candidate.loss[part] = loss;
        }
        let single = match self.branches[..] {
            [branch] => Some(plan.topology.branches[branch].kind),
            _ => None,
        };
        match single {
            Some(BranchKind::Winding) | None => several::evaluate(self, plan),
            Some(kind) => single::evaluate(self, kind),
        }
    }

    /// Whether [`WhatIf::evaluate`] works out the admittance at `in` as well; not at first.
    #[must_use]
    pub fn with_load(mut self, watch: bool) -> Self {
        self.watch_load = watch;
        self
    }

    /// Voltage of output number `output` after the last [`WhatIf::evaluate`]: real, imaginary parts.
    #[must_use]
    pub fn output(&self, output: usize) -> (&[f64], &[f64]) {
        planar(&self.result, output, self.stride, self.points)
    }

    /// Admittance at `in` after the last [`WhatIf::evaluate`]: real parts, imaginary parts. All 0
    /// unless asked for by [`WhatIf::with_load`].
    #[must_use]
    pub fn input_admittance(&self) -> (&[f64], &[f64]) {
        planar(&self.result, self.outputs.len(), self.stride, self.points)
    }
}

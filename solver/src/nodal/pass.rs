//! One chunk of frequencies solved.

use super::chunk::{
    Chunk, FACTOR_SQUARES_LIMIT, capacitor, diagonal, group_impedance, inductor, invert_symmetric,
    off_diagonal, substitute,
};
use super::dense::DensePoint;
use super::drive::{Drive, SourceImpedance};
use super::lanes::{LANES, Lanes, Real};
use super::plan::Plan;
use super::topology::{BranchKind, GND, IN};
use super::values::Values;
use super::workspace::{RunReport, Workspace};

/// One run through all chunks.
pub(crate) struct Pass<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) values: &'a Values,
    pub(crate) drive: &'a Drive,
    pub(crate) omega: &'a [Real],
    pub(crate) inverse_omega: &'a [Real],
    pub(crate) load_admittance: &'a [Lanes],
    pub(crate) chunks: usize,
    pub(crate) points: usize,
    pub(crate) room: &'a mut Chunk,
    pub(crate) report: RunReport,
}

impl<'a> Pass<'a> {
    pub(crate) fn new(
        plan: &'a Plan,
        values: &'a Values,
        drive: &'a Drive,
        workspace: &'a mut Workspace,
    ) -> Self {
        if let SourceImpedance::Over(z_ohm) = &drive.output_impedance_ohm {
            assert_eq!(z_ohm.len(), workspace.points, "of the same grid");
        }
        let chunks = workspace.chunks();
        let Workspace {
            omega,
            inverse_omega,
            load_admittance,
            points,
            chunk: room,
        } = workspace;
        for (slot, branch) in plan.topology.branches.iter().enumerate() {
            if let BranchKind::Resistor { part } = branch.kind {
                room.slots[slot] = Lanes::real(1.0 / values.value[part]);
            }
        }
        let mut start = 0;
        for group in &plan.topology.groups {
            let square = group.len() * group.len();
            group.inductances(&values.value, &mut room.inductances[start..start + square]);
            start += square;
        }
        Self {
            plan,
            values,
            drive,
            omega,
            inverse_omega,
            load_admittance,
            chunks,
            points: *points,
            room,
            report: RunReport::default(),
        }
    }

    /// Voltages and input admittance of one chunk; with `ADJOINTS` also what [`Pass::adjoint`] needs.
    #[inline(always)]
    pub(crate) fn solve<const ADJOINTS: bool>(&mut self, chunk: usize) {
        self.admittances(chunk);
        let squares = self.factor::<ADJOINTS>();
        self.room.dense.clear();
        self.voltages(chunk);
        if !squares.iter().all(|&sum| sum < FACTOR_SQUARES_LIMIT) {
            self.solve_with_pivoting(chunk, &squares);
        }
    }

    #[inline(always)]
    fn admittances(&mut self, chunk: usize) {
        let omega = &self.omega[chunk];
        let (value, loss) = (&self.values.value, &self.values.loss);
        for (slot, branch) in self.plan.topology.branches.iter().enumerate() {
            self.room.slots[slot] = match branch.kind {
                BranchKind::Resistor { .. } | BranchKind::Winding => continue,
                BranchKind::Inductor { part } => inductor(value[part], loss[part], omega),
                BranchKind::Capacitor { part } => capacitor(value[part], loss[part], omega),
                BranchKind::Driver { driver, .. } => {
                    self.load_admittance[driver * self.chunks + chunk]
                }
            };
        }
        if !self.plan.topology.groups.is_empty() {
            self.group_admittances(chunk);
        }
    }

    /// Inverts `R + jωM` of each group, lane by lane.
    #[inline(never)]
    fn group_admittances(&mut self, chunk: usize) {
        let mut start = 0;
        for group in &self.plan.topology.groups {
            let m = group.len();
            let matrix = &self.room.inductances[start..start + m * m];
            start += m * m;
            for lane in 0..LANES {
                let omega = self.omega[chunk][lane];
                let (z_ohm, inverse) = self.room.inverse[..2 * m * m].split_at_mut(m * m);
                group_impedance(group, matrix, &self.values.loss, omega, z_ohm);
                invert_symmetric(m, z_ohm, inverse);
                for i in 0..m {
                    for j in i..m {
                        let slot = group.slots[i * m + j];
                        self.room.slots[slot].set_lane(lane, inverse[i * m + j]);
                    }
                }
            }
        }
    }

    /// Factors the matrix; gives the sum of the squares of all factors.
    #[inline(always)]
    fn factor<const ADJOINTS: bool>(&mut self) -> Real {
        let slots = &mut self.room.slots[..];
        let mut squares = [0.0; LANES];
        for pivot in &self.plan.elimination.pivots {
            let inverse = diagonal(slots, &pivot.diagonal).reciprocal();
            if ADJOINTS {
                slots[pivot.inverse] = inverse;
            }
            for below in &pivot.below {
                if let Some(sum) = &below.sum {
                    slots[below.entry] = off_diagonal(slots, sum);
                }
                let factor = slots[below.entry].times(&inverse);
                factor.accumulate_square(&mut squares);
                slots[below.factor] = factor;
            }
        }
        self.room.input = diagonal(slots, &self.plan.elimination.input);
        squares
    }

    /// Node voltages, from that of `in` down.
    #[inline(always)]
    fn voltages(&mut self, chunk: usize) {
        let source = self.drive.output_impedance_ohm.lanes(chunk, self.points);
        let Chunk {
            slots,
            voltage,
            input,
            divisor,
            ..
        } = &mut *self.room;
        *divisor = Lanes::ONE;
        divisor.add_product(&source, input);
        voltage[GND] = Lanes::ZERO;
        voltage[IN] = divisor
            .reciprocal()
            .scaled(&[self.drive.open_circuit_v; LANES]);
        for pivot in self.plan.elimination.pivots.iter().rev() {
            voltage[pivot.node] = match &pivot.below[..] {
                [only] => slots[only.factor].times(&voltage[only.node]),
                below => {
                    let mut sum = Lanes::ZERO;
                    for below in below {
                        sum.add_product(&slots[below.factor], &voltage[below.node]);
                    }
                    sum
                }
            };
        }
    }

    #[cold]
    #[inline(never)]
    fn solve_with_pivoting(&mut self, chunk: usize, squares: &Real) {
        for (lane, &sum) in squares.iter().enumerate() {
            if sum < FACTOR_SQUARES_LIMIT || chunk * LANES + lane >= self.points {
                // A lane beyond the grid repeats the last frequency and is never read.
                continue;
            }
            let point = DensePoint::new(
                self.plan,
                self.values,
                &self.room.slots,
                lane,
                self.omega[chunk][lane],
            );
            self.report.dense += 1;
            self.report.lossless += usize::from(point.lossless());
            let source_ohm = self.drive.output_impedance_ohm.at(chunk * LANES + lane);
            let divisor = 1.0 + point.input_admittance() * source_ohm;
            let at_input = self.drive.open_circuit_v / divisor;
            for (node, t) in point.transfers().enumerate().skip(IN) {
                self.room.voltage[node].set_lane(lane, t * at_input);
            }
            self.room.input.set_lane(lane, point.input_admittance());
            self.room.divisor.set_lane(lane, divisor);
            self.room.dense.push((lane, point));
        }
    }

    /// Fills `adjoint` with the node voltages for a unit current from `negative` into `positive`,
    /// with `in` at 0 V. Only the blocks of these two nodes are written: see [`Plan::in_reach`].
    #[inline(always)]
    pub(crate) fn adjoint(&mut self, positive: usize, negative: usize) {
        let elimination = &self.plan.elimination;
        let Chunk {
            slots,
            adjoint,
            dense,
            ..
        } = &mut *self.room;
        adjoint[GND] = Lanes::ZERO;
        adjoint[IN] = Lanes::ZERO;
        let blocks = [elimination.block[positive], elimination.block[negative]];
        for (which, &block) in blocks.iter().enumerate() {
            if block == usize::MAX || (which == 1 && block == blocks[0]) {
                continue;
            }
            let pivots = &elimination.pivots[elimination.block_pivots[block].clone()];
            for pivot in pivots {
                adjoint[pivot.node] = Lanes::ZERO;
            }
            for (node, sign) in [(positive, 1.0), (negative, -1.0)] {
                if elimination.block[node] == block {
                    adjoint[node].add_weighted(sign, &Lanes::ONE);
                }
            }
            substitute(pivots, [positive, negative], slots, adjoint);
        }
        for (lane, point) in dense.iter() {
            for (node, w) in point.adjoint(positive, negative).enumerate().skip(IN) {
                adjoint[node].set_lane(*lane, w);
            }
        }
    }

    /// The voltage at an output relative to that at `in`, times `Z₀ / E`: what turns a branch
    /// voltage into the part of `z_ok` that all ways share through the amplifier.
    #[inline(always)]
    pub(crate) fn shared(&self, chunk: usize, positive: usize, negative: usize) -> Lanes {
        let volts = self.drive.open_circuit_v;
        let source = self.drive.output_impedance_ohm.lanes(chunk, self.points);
        let scale = 1.0 / (volts * volts);
        let voltage = &self.room.voltage;
        voltage[positive]
            .minus(&voltage[negative])
            .times(&self.room.divisor)
            .times(&source.scaled(&[scale; LANES]))
    }
}

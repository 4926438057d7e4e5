//! The goal in residual form, with its gradient in all part values: what the search minimises.
//!
//! Every term is a mean square of deviations in units of what is still acceptable ([`Weights`]), so
//! that the cost is about the number of terms when all of them are just acceptable.

use netlist::network::{Network, NodeId};
use num_complex::Complex64;

use super::target::Targets;
use crate::grid::Grid;
use crate::nodal::{Drive, Output, Plan, PlanError, Sensitivities, Solution, Values, Workspace};
use crate::search::least_squares::Residuals;
use crate::spectrum::Spectrum;

/// dB for a relative change: 20 / ln 10.
const DB_PER_NEPER: f64 = 8.685_889_638_065_037;

/// Deviations that are just acceptable; a term counts the square of its own over this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// Rms deviation of the sum from the aim, dB; infinite leaves the sum out.
    pub sum_db: f64,
    /// Match of each way, dB.
    pub match_db: f64,
    /// Phase match at each crossover, degrees; infinite leaves it out.
    pub phase_deg: f64,
    /// Load below the least allowed, as a share of it.
    pub load: f64,
}

/// What a part's loss does when its value moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueLaw {
    /// The loss stays.
    FixedLoss,
    /// `loss = scale · value^exponent`: a coil of given wire.
    Power {
        /// Loss at a value of 1.
        scale: f64,
        /// Exponent.
        exponent: f64,
    },
}

impl ValueLaw {
    /// The loss that belongs to a value, given the present one.
    #[must_use]
    pub fn loss(self, value: f64, present: f64) -> f64 {
        match self {
            ValueLaw::FixedLoss => present,
            ValueLaw::Power { scale, exponent } => scale * value.powf(exponent),
        }
    }

    fn derivative(self, value: f64) -> f64 {
        match self {
            ValueLaw::FixedLoss => 0.0,
            ValueLaw::Power { scale, exponent } => scale * exponent * value.powf(exponent - 1.0),
        }
    }
}

/// A part value that may be moved; the search works on its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variable {
    /// Position of the part in the network.
    pub part: usize,
    /// What its loss does.
    pub law: ValueLaw,
}

/// The goal for one network.
#[derive(Debug)]
pub struct Objective {
    plan: Plan,
    workspace: Workspace,
    solution: Solution,
    sensitivities: Sensitivities,
    values: Values,
    variables: Vec<Variable>,
    drive: Drive,
    /// Sound of each way for one volt at its driver, polarity included.
    sound: Vec<Spectrum>,
    outputs: Vec<Output>,
    targets: Targets,
    /// Aim level in dB; `None` where it is a variable, the last one, as a natural logarithm.
    level_db: Option<f64>,
    least_load_ohm: f64,
    weights: Weights,
    omega: Vec<f64>,
    voltage: Vec<Vec<Complex64>>,
    pressure: Vec<Vec<Complex64>>,
    /// `∂V_way/∂(ln value)`: way by way, variable by variable.
    slopes: Vec<Complex64>,
}

/// What an [`Objective`] is about, besides the network.
#[derive(Debug, Clone)]
pub struct Setting<'a> {
    /// Frequencies; those of everything else here.
    pub grid: &'a Grid,
    /// The amplifier.
    pub drive: Drive,
    /// Impedance of the driver of each way, ohm.
    pub loads_z_ohm: Vec<&'a Spectrum>,
    /// Sound of each way for one volt at its driver, at the listener, in pascal.
    pub sound: Vec<&'a Spectrum>,
    /// Targets of the ways.
    pub targets: Targets,
    /// Least load asked for, ohm.
    pub least_load_ohm: f64,
    /// What is acceptable.
    pub weights: Weights,
    /// Aim level, dB SPL; `None` lets the search find it.
    pub level_db: Option<f64>,
}

impl Objective {
    /// The goal for `network`, whose drivers are the ways in order.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn new(
        network: &Network,
        variables: &[Variable],
        setting: Setting<'_>,
    ) -> Result<Self, PlanError> {
        let plan = Plan::compile(network)?;
        let workspace = Workspace::new(&plan, setting.grid, &setting.loads_z_ohm)?;
        let solution = Solution::new(&plan, &workspace);
        let (mut outputs, inverted): (Vec<Output>, Vec<bool>) = plan.driver_outputs().unzip();
        let sound = setting
            .sound
            .iter()
            .zip(&inverted)
            .map(|(sound, &inverted)| {
                let sign = if inverted { -1.0 } else { 1.0 };
                Spectrum::from_fn(sound.len(), |i| sound.at(i) * sign)
            });
        let sound = sound.collect();
        let input = Output {
            positive: NodeId::IN,
            negative: NodeId::GND,
        };
        outputs.push(input);
        let sensitivities = Sensitivities::new(&plan, &workspace, &outputs);
        outputs.pop();
        let points = setting.grid.len();
        let ways = outputs.len();
        Ok(Self {
            plan,
            workspace,
            solution,
            sensitivities,
            values: Values::of(network),
            variables: variables.to_vec(),
            drive: setting.drive,
            sound,
            outputs,
            targets: setting.targets,
            level_db: setting.level_db,
            least_load_ohm: setting.least_load_ohm,
            weights: setting.weights,
            omega: setting.grid.omega().to_vec(),
            voltage: vec![vec![Complex64::ZERO; points]; ways],
            pressure: vec![vec![Complex64::ZERO; points]; ways],
            slopes: Vec::new(),
        })
    }

    /// The variables at the network's own values, and the level where it is one; dB.
    #[must_use]
    pub fn start(&self, level_db: f64) -> Vec<f64> {
        let mut x: Vec<f64> = self
            .variables
            .iter()
            .map(|v| self.values.value[v.part].ln())
            .collect();
        if self.level_db.is_none() {
            x.push(level_db / DB_PER_NEPER);
        }
        x
    }

    /// The part values that the variables stand for.
    #[must_use]
    pub fn values_at(&self, x: &[f64]) -> Values {
        let mut values = self.values.clone();
        for (variable, log) in self.variables.iter().zip(x) {
            let value = log.exp();
            values.loss[variable.part] = variable.law.loss(value, values.loss[variable.part]);
            values.value[variable.part] = value;
        }
        values
    }

    /// The aim level at `x`, dB SPL.
    #[must_use]
    pub fn level_at(&self, x: &[f64]) -> f64 {
        match self.level_db {
            Some(level_db) => level_db,
            None => x[self.variables.len()] * DB_PER_NEPER,
        }
    }

    /// Number of part values among the variables.
    #[must_use]
    pub fn variable_count(&self) -> usize {
        self.variables.len()
    }

    /// The compiled network.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Sound of each way at the listener after the last evaluation, in pascal.
    #[must_use]
    pub fn ways(&self) -> Vec<Spectrum> {
        (self.pressure.iter())
            .map(|p| Spectrum::from_fn(p.len(), |i| p[i]))
            .collect()
    }

    /// The cost at `x`, `‖r‖²`.
    pub fn cost(&mut self, x: &[f64], room: &mut Vec<f64>) -> f64 {
        room.resize(self.residuals(), 0.0);
        self.evaluate(x, room, None);
        room.iter().map(|r| r * r).sum()
    }

    /// Frequencies at which the sum is judged; none where the weights leave it out.
    fn judged(&self) -> impl Iterator<Item = usize> + '_ {
        let wanted = self.weights.sum_db.is_finite();
        (0..self.omega.len()).filter(move |&i| wanted && self.targets.judged[i])
    }

    fn run(&mut self, x: &[f64], with_gradient: bool) {
        self.values = self.values_at(x);
        if with_gradient {
            self.plan.run_sensitivities(
                &self.values,
                self.drive,
                &mut self.workspace,
                &mut self.solution,
                &mut self.sensitivities,
            );
        } else {
            self.plan.run(
                &self.values,
                self.drive,
                &mut self.workspace,
                &mut self.solution,
            );
        }
        for (way, output) in self.outputs.iter().enumerate() {
            let (re, im) = self.solution.node(output.positive);
            let (minus_re, minus_im) = self.solution.node(output.negative);
            let sound = &self.sound[way];
            for i in 0..self.omega.len() {
                let v = Complex64::new(re[i] - minus_re[i], im[i] - minus_im[i]);
                self.voltage[way][i] = v;
                self.pressure[way][i] = v * sound.at(i);
            }
        }
    }

    /// `∂V_way/∂(ln value)` of variable `k` at frequency `i`, coil resistance included.
    fn slope(&self, way: usize, k: usize, i: usize) -> Complex64 {
        self.slopes[(way * self.variables.len() + k) * self.omega.len() + i]
    }

    fn work_out_slopes(&mut self) {
        let points = self.omega.len();
        let mut slopes = std::mem::take(&mut self.slopes);
        let count = self.variables.len();
        slopes.resize(self.outputs.len() * count * points, Complex64::ZERO);
        for k in 0..count {
            let part = self.variables[k].part;
            let (drawn_re, drawn_im) = self.sensitivities.drawn(part);
            let chain: Vec<Complex64> = (0..points).map(|i| self.chain(k, i)).collect();
            for way in 0..self.outputs.len() {
                let (shared_re, shared_im) = self.sensitivities.shared(way);
                let out = &mut slopes[(way * count + k) * points..][..points];
                for i in 0..points {
                    let shared = Complex64::new(shared_re[i], shared_im[i]);
                    out[i] = shared * Complex64::new(drawn_re[i], drawn_im[i]);
                }
                if let Some((re, im)) = self.sensitivities.own(way, part) {
                    for i in 0..points {
                        out[i] += Complex64::new(re[i], im[i]);
                    }
                }
                for i in 0..points {
                    out[i] *= chain[i];
                }
            }
        }
        self.slopes = slopes;
    }

    /// `∂D/∂(ln value)`, `D` the admittance at `in`.
    fn load_slope(&self, k: usize, i: usize) -> Complex64 {
        let (re, im) = self.sensitivities.drawn(self.variables[k].part);
        let v = self.solution.node_at(NodeId::IN, i);
        -Complex64::new(re[i], im[i]) / (v * v) * self.chain(k, i)
    }

    /// From the value alone to its logarithm with the loss that follows it.
    fn chain(&self, k: usize, i: usize) -> Complex64 {
        let Variable { part, law } = self.variables[k];
        let value = self.values.value[part];
        match law {
            ValueLaw::FixedLoss => Complex64::from(value),
            // ∂V/∂r of a coil is ∂V/∂L / jω.
            ValueLaw::Power { .. } => {
                value * Complex64::new(1.0, -law.derivative(value) / self.omega[i])
            }
        }
    }
}

/// One residual with its derivatives, as they are written one after the other.
struct Rows<'a> {
    residuals: &'a mut [f64],
    jacobian: Option<&'a mut [f64]>,
    columns: usize,
    at: usize,
}

impl Rows<'_> {
    /// Writes a residual and lets `slope` fill its row.
    fn push(&mut self, value: f64, slope: impl FnOnce(&mut [f64])) {
        self.residuals[self.at] = if value.is_finite() { value } else { 1e6 };
        if let Some(jacobian) = &mut self.jacobian {
            let row = &mut jacobian[self.at * self.columns..][..self.columns];
            row.fill(0.0);
            slope(row);
        }
        self.at += 1;
    }
}

impl Residuals for Objective {
    fn variables(&self) -> usize {
        self.variables.len() + usize::from(self.level_db.is_none())
    }

    fn residuals(&self) -> usize {
        let points = self.omega.len();
        let counted = |weight: &Vec<f64>| weight.iter().filter(|&&w| w > 0.0).count();
        let ways: usize = self
            .targets
            .ways
            .iter()
            .map(|way| counted(&way.weight))
            .sum();
        let near = |near: &Vec<bool>| near.iter().filter(|&&n| n).count();
        let phase: usize = self.targets.near_crossover.iter().map(near).sum();
        let sum = self.judged().count();
        ways + sum + phase + points
    }

    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], jacobian: Option<&mut [f64]>) {
        self.run(x, jacobian.is_some());
        if jacobian.is_some() {
            self.work_out_slopes();
        }
        let level_db = self.level_at(x);
        let count = self.variables.len();
        let columns = Residuals::variables(self);
        let this = &*self;
        let points = this.omega.len();
        let mut rows = Rows {
            residuals,
            jacobian,
            columns,
            at: 0,
        };
        let level_slope = |row: &mut [f64], scale: f64| {
            if columns > count {
                row[count] = -scale * DB_PER_NEPER;
            }
        };
        for (way, target) in this.targets.ways.iter().enumerate() {
            let total: f64 = target.weight.iter().sum();
            for i in (0..points).filter(|&i| target.weight[i] > 0.0) {
                let scale = (target.weight[i] / total).sqrt() / this.weights.match_db;
                let off =
                    crate::sound::level_db(this.pressure[way][i]) - level_db - target.level_db[i];
                rows.push(scale * off, |row| {
                    let inverse = this.voltage[way][i].inv();
                    for (k, entry) in row.iter_mut().enumerate().take(count) {
                        *entry = scale * DB_PER_NEPER * (this.slope(way, k, i) * inverse).re;
                    }
                    level_slope(row, scale);
                });
            }
        }
        let judged = this.judged().count().max(1) as f64;
        let scale = 1.0 / (judged.sqrt() * this.weights.sum_db);
        for i in this.judged() {
            let sum: Complex64 = this.pressure.iter().map(|p| p[i]).sum();
            let off = crate::sound::level_db(sum) - level_db - this.targets.tilt_db[i];
            rows.push(scale * off, |row| {
                let inverse = sum.inv();
                for (k, entry) in row.iter_mut().enumerate().take(count) {
                    let moved: Complex64 = (0..this.sound.len())
                        .map(|way| this.sound[way].at(i) * this.slope(way, k, i))
                        .sum();
                    *entry = scale * DB_PER_NEPER * (moved * inverse).re;
                }
                level_slope(row, scale);
            });
        }
        for (c, near) in this.targets.near_crossover.iter().enumerate() {
            let near_count = near.iter().filter(|&&n| n).count().max(1) as f64;
            let scale = 1.0 / (near_count.sqrt() * this.weights.phase_deg);
            for i in (0..points).filter(|&i| near[i]) {
                let (lower, upper) = (this.pressure[c][i], this.pressure[c + 1][i]);
                let off = (lower * upper.conj()).arg().to_degrees();
                rows.push(scale * off, |row| {
                    for (k, entry) in row.iter_mut().enumerate().take(count) {
                        let turn = this.slope(c, k, i) / this.voltage[c][i]
                            - this.slope(c + 1, k, i) / this.voltage[c + 1][i];
                        *entry = scale * turn.im.to_degrees();
                    }
                });
            }
        }
        let scale = 1.0 / ((points as f64).sqrt() * this.weights.load);
        let (g, b) = this.solution.input_admittance();
        for i in 0..points {
            let d = Complex64::new(g[i], b[i]);
            let short = this.least_load_ohm * d.norm() - 1.0;
            rows.push(scale * short.max(0.0), |row| {
                if short > 0.0 {
                    for (k, entry) in row.iter_mut().enumerate().take(count) {
                        let growth = (this.load_slope(k, i) / d).re;
                        *entry = scale * this.least_load_ohm * d.norm() * growth;
                    }
                }
            });
        }
    }
}

//! The goal in residual form, with its gradient in all part values: what the search minimises.
//!
//! Every term is a mean square of deviations in units of what is still acceptable ([`Weights`]), so
//! that the cost is about the number of terms when all of them are just acceptable.

use netlist::network::{Network, NodeId};

use super::setting::{Protected, Setting, Variable};
use super::slope_buffers::SlopeBuffers;
use super::target::Targets;
use super::terms::{GoalMeasure, Terms};
use crate::grid::Grid;
use crate::least_squares::Residuals;
use crate::nodal::{Drive, Output, Plan, PlanError, Sensitivities, Solution, Values, Workspace};
use crate::sound::{DB_PER_NEPER, level_db, sign};
use crate::spectrum::Spectrum;

/// The goal for one network.
#[derive(Debug)]
pub struct Objective {
    plan: Plan,
    workspace: Workspace,
    pub(super) solution: Solution,
    pub(super) sensitivities: Sensitivities,
    pub(super) values: Values,
    pub(super) variables: Vec<Variable>,
    drive: Drive,
    /// Sound of each way for one volt at its driver, polarity included.
    pub(crate) sound: Vec<Spectrum>,
    outputs: Vec<Output>,
    /// Aim level in dB; `None` where it is a variable, the last one, as a natural logarithm.
    pub(super) level_db: Option<f64>,
    /// Aim level at the point last evaluated, dB.
    pub(super) aimed_db: f64,
    pub(crate) measure: GoalMeasure,
    pub(super) room: SlopeBuffers,
    pub(super) omega: Vec<f64>,
    /// Voltage at each driver at the point last evaluated.
    pub(super) voltage: Vec<Spectrum>,
    /// Sound of each way there, pascal at the listener.
    pub(super) pressure: Vec<Spectrum>,
    /// Whether the sensitivities are those of the point last evaluated.
    pub(super) sensitive: bool,
}

/// Voltage that a delicate driver may have below its resonance, dB re 1 V less the aim level: what its
/// target asks for about the crossover, and [`Protected::most_db`] more.
pub(crate) fn allowed_volt_db(
    grid: &Grid,
    targets: &Targets,
    sound: &Spectrum,
    protected: &Protected,
) -> f64 {
    let half_octave = std::f64::consts::SQRT_2;
    let near: Vec<usize> = (0..grid.len())
        .filter(|&i| {
            let ratio = grid.f_hz()[i] / protected.crossover_hz;
            ratio >= half_octave.recip() && ratio <= half_octave
        })
        .collect();
    let target = &targets.ways[protected.way];
    let volts = near
        .iter()
        .map(|&i| target.level_db[i] - level_db(sound.at(i)));
    volts.sum::<f64>() / near.len().max(1) as f64 + protected.most_db
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
                let sign = sign(inverted);
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
        let zeros = Spectrum::zeros(points);
        let free_level = setting.level_db.is_none();
        let mut terms = Terms::new(&setting.targets, &setting.weights, points, free_level);
        let mut allowed_db = vec![f64::INFINITY; ways];
        for protected in &setting.protected {
            let sound = setting.sound[protected.way];
            allowed_db[protected.way] =
                allowed_volt_db(setting.grid, &setting.targets, sound, protected);
            terms.protect(
                protected,
                setting.grid.f_hz(),
                setting.weights.protection_db,
            );
        }
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
            room: SlopeBuffers::new(&terms, ways, setting.grid.omega()),
            measure: GoalMeasure {
                terms,
                targets: setting.targets,
                loudest_db: setting.loudest_db,
                least_load_ohm: setting.least_load_ohm,
                allowed_db,
            },
            level_db: setting.level_db,
            aimed_db: setting.level_db.unwrap_or(setting.loudest_db),
            omega: setting.grid.omega().to_vec(),
            voltage: vec![zeros.clone(); ways],
            pressure: vec![zeros; ways],
            sensitive: false,
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

    /// The amplifier.
    #[must_use]
    pub fn drive(&self) -> &Drive {
        &self.drive
    }

    /// Mean square of the voltage between two nodes over the frequencies, weighted, at the point last evaluated;
    /// V².
    #[must_use]
    pub fn mean_square(&self, [from, to]: [NodeId; 2], weights: &[f64]) -> f64 {
        let (re, im) = self.solution.node(from);
        let (minus_re, minus_im) = self.solution.node(to);
        let squares = weights.iter().enumerate().map(|(i, weight)| {
            let (a, b) = (re[i] - minus_re[i], im[i] - minus_im[i]);
            weight * (a * a + b * b)
        });
        squares.sum()
    }

    /// The cost at `x`, `‖r‖²`.
    pub fn cost(&mut self, x: &[f64], room: &mut Vec<f64>) -> f64 {
        room.resize(self.residuals(), 0.0);
        self.evaluate(x, room, false);
        room.iter().map(|r| r * r).sum()
    }

    /// Solves the network at `x`, with its sensitivities where they are wanted.
    pub(super) fn run(&mut self, x: &[f64], with_sensitivities: bool) {
        self.values = self.values_at(x);
        self.sensitive = with_sensitivities;
        if with_sensitivities {
            self.run_sensitivities();
        } else {
            self.plan.run(
                &self.values,
                &self.drive,
                &mut self.workspace,
                &mut self.solution,
            );
        }
        for (way, output) in self.outputs.iter().enumerate() {
            let (re, im) = self.solution.node(output.positive);
            let (minus_re, minus_im) = self.solution.node(output.negative);
            let (sound, volts) = (&self.sound[way], &mut self.voltage[way]);
            let pressure = &mut self.pressure[way];
            for i in 0..self.omega.len() {
                let (a, b) = (re[i] - minus_re[i], im[i] - minus_im[i]);
                volts.re[i] = a;
                volts.im[i] = b;
                pressure.re[i] = a * sound.re[i] - b * sound.im[i];
                pressure.im[i] = a * sound.im[i] + b * sound.re[i];
            }
        }
    }

    /// Works out the sensitivities at the point last evaluated.
    pub(super) fn run_sensitivities(&mut self) {
        self.plan.run_sensitivities(
            &self.values,
            &self.drive,
            &mut self.workspace,
            &mut self.solution,
            &mut self.sensitivities,
        );
        self.sensitive = true;
    }
}

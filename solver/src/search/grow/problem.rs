//! What is asked of a network: all ways together, or one way alone.

use netlist::network::Network;

use crate::goal::{Objective, Setting, Targets, Variable, Weights};
use crate::least_squares::{Residuals, Settings, minimise};
use crate::nodal::{Drive, SourceImpedance};
use crate::search::job::Job;
use crate::search::values::{put_values, variables};
pub use crate::search::worth::PART_WORTH;
use crate::sound::DB_PER_NEPER;
use crate::stock::tolerance_near;

/// What is just acceptable when the ways are judged together.
pub const JOINT_WEIGHTS: Weights = Weights {
    sum_db: 0.35,
    match_db: 0.8,
    phase_deg: 20.0,
    load: 0.01,
    level_db: 2.0,
    protection_db: 3.0,
};

/// The search aims a little above the least load, so that values of the stock still meet it.
pub const LOAD_MARGIN: f64 = 1.03;

/// A value at an end of what can be bought is not the value that is wanted: so much worse, as two parts more.
const AT_BOUND: f64 = 0.6;

/// A goal for networks that feed the drivers of some ways of a job.
#[derive(Debug, Clone)]
pub struct Problem<'a> {
    /// The job, on the grid of the search.
    pub job: &'a Job,
    /// The ways that the networks feed, in order.
    pub ways: Vec<usize>,
    targets: Targets,
    weights: Weights,
    drive: Drive,
    level_db: Option<f64>,
    /// How far the level may move from where it starts, dB.
    level_within_db: f64,
}

/// A network with its values fitted.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The network.
    pub network: Network,
    /// The goal with these values.
    pub cost: f64,
    /// What the tolerance of the parts adds to it on average, to second order.
    pub spread: f64,
    /// Values at an end of what can be bought.
    pub at_bound: usize,
    /// What resistors that get too hot add to it.
    pub heat: f64,
    /// Aim level, dB SPL.
    pub level_db: f64,
}

impl Fitted {
    /// Number of parts, drivers not counted.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.network.part_count()
    }

    /// What it is judged by among networks of as many parts.
    #[must_use]
    pub fn expected(&self) -> f64 {
        self.cost + self.spread + self.heat + AT_BOUND * self.at_bound as f64
    }

    /// Error and parts in one number.
    #[must_use]
    pub fn rank(&self) -> f64 {
        self.expected() + PART_WORTH * self.part_count() as f64
    }
}

impl<'a> Problem<'a> {
    /// All ways together.
    #[must_use]
    pub fn whole(job: &'a Job, targets: &Targets) -> Self {
        Self {
            job,
            ways: (0..job.ways.len()).collect(),
            targets: targets.clone(),
            weights: JOINT_WEIGHTS,
            drive: job.drive.clone(),
            level_db: job.aim.level.map(|level| level.0),
            level_within_db: f64::INFINITY,
        }
    }

    /// One way alone on a stiff amplifier, against its own target at `level_db`. What the ways do to
    /// each other is for the whole.
    #[must_use]
    pub fn of_way(job: &'a Job, targets: &Targets, way: usize, level_db: f64) -> Self {
        let sets_level = way == job.weakest() && job.aim.level.is_none();
        Self {
            job,
            ways: vec![way],
            targets: Targets {
                ways: vec![targets.ways[way].clone()],
                tilt_db: targets.tilt_db.clone(),
                judged: targets.judged.clone(),
                near_crossover: Vec::new(),
                between: Vec::new(),
                // Its own target holds what the window asks of it.
                window: None,
            },
            weights: Weights {
                sum_db: f64::INFINITY,
                load: 0.03,
                level_db: f64::INFINITY,
                ..JOINT_WEIGHTS
            },
            drive: Drive {
                output_impedance_ohm: SourceImpedance::NONE,
                ..job.drive
            },
            level_db: (!sets_level).then_some(level_db),
            // Lower is easier to match for every network, and worth nothing.
            level_within_db: 0.8,
        }
    }

    fn setting(&self) -> Setting<'a> {
        let job = self.job;
        let ways = || self.ways.iter().map(|&way| &job.ways[way]);
        let protected = job.protected().into_iter().filter_map(|protected| {
            let way = self.ways.iter().position(|&way| way == protected.way)?;
            Some(crate::goal::Protected { way, ..protected })
        });
        Setting {
            grid: &job.grid,
            drive: self.drive.clone(),
            loads_z_ohm: ways().map(|way| &way.z_ohm).collect(),
            sound: ways().map(|way| &way.sound).collect(),
            targets: self.targets.clone(),
            // The cable helps the load; where the load is least it is nearly a resistance, as the cable is.
            least_load_ohm: (LOAD_MARGIN * job.least_load_ohm - job.cable_ohm).max(0.0),
            weights: self.weights,
            level_db: self.level_db,
            loudest_db: job.loudest_db(),
            protected: protected.collect(),
        }
    }

    /// The goal of a network with the values that may be moved; `None` where it cannot be solved.
    #[must_use]
    pub fn objective(&self, network: &Network) -> Option<Free> {
        let (variables, lower, upper) = variables(self.job, network);
        let objective = Objective::new(network, &variables, self.setting()).ok()?;
        Some(Free {
            objective,
            variables,
            lower,
            upper,
        })
    }

    /// Fits the values of `network`, from those that it has, in at most `steps` steps.
    #[must_use]
    pub fn fit(&self, network: &Network, level_db: f64, steps: usize) -> Option<Fitted> {
        self.fit_while(network, level_db, steps, 1e-5)
    }

    /// The same; stops when a step gains less than `gain` of the cost.
    #[must_use]
    pub fn fit_while(
        &self,
        network: &Network,
        level_db: f64,
        steps: usize,
        gain: f64,
    ) -> Option<Fitted> {
        let mut free = self.objective(network)?;
        let start = free.objective.start(level_db);
        let (lower, upper) = free.bounds(self, level_db);
        let settings = Settings {
            max_steps: steps,
            gain_tolerance: gain,
            step_tolerance: 1e-6,
        };
        let fit = minimise(&mut free.objective, &start, &lower, &upper, settings);
        if !fit.cost.is_finite() {
            return None;
        }
        let values = free.objective.values_at(&fit.x);
        let mut network = network.clone();
        put_values(&mut network, &values);
        let at_bound = (0..free.variables.len())
            .filter(|&k| fit.x[k] <= lower[k] + 1e-6 || fit.x[k] >= upper[k] - 1e-6)
            .count();
        let spread = self.spread(&network, &free, &fit.curvature);
        free.objective.cost(&fit.x, &mut Vec::new());
        let heat = self.heat(&network, &free.objective);
        // A driver that gets no voltage has no slope.
        spread.is_finite().then(|| Fitted {
            spread,
            network,
            cost: fit.cost,
            at_bound,
            heat,
            level_db: free.objective.level_at(&fit.x),
        })
    }

    /// The goal of a network with the values that it has, at a level.
    #[must_use]
    pub fn cost(&self, network: &Network, level_db: f64) -> Option<f64> {
        let mut free = self.objective(network)?;
        let x = free.objective.start(level_db);
        Some(free.objective.cost(&x, &mut Vec::new()))
    }

    /// A network with the values that it has, at the level that suits it best.
    #[must_use]
    pub fn rate(&self, network: &Network, level_db: f64) -> Option<Fitted> {
        let mut free = self.objective(network)?;
        let (rows, columns) = (free.objective.residuals(), free.objective.variables());
        let (mut residuals, mut jacobian) = (vec![0.0; rows], vec![0.0; rows * columns]);
        let mut level_db = level_db;
        // The goal is nearly a parabola in the level, where that is free.
        let steps = if columns == free.variables.len() {
            0
        } else {
            3
        };
        for _ in 0..steps {
            let x = free.objective.start(level_db);
            free.objective.evaluate(&x, &mut residuals, true);
            free.objective.slopes(&mut jacobian);
            let column = &jacobian[(columns - 1) * rows..];
            let along: f64 = column.iter().zip(&residuals).map(|(c, r)| c * r).sum();
            let square: f64 = column.iter().map(|c| c * c).sum();
            level_db -= along / square * DB_PER_NEPER;
        }
        let mut x = free.objective.start(level_db);
        let cost = free.objective.cost(&x, &mut residuals);
        let heat = self.heat(network, &free.objective);
        let spread = self.spread_of_builds(network, &mut free, &mut x, cost, &mut residuals);
        cost.is_finite().then(|| Fitted {
            spread,
            network: network.clone(),
            cost,
            at_bound: 0,
            heat,
            level_db,
        })
    }

    /// What hot resistors add at the point that `objective` was last asked about.
    fn heat(&self, network: &Network, objective: &Objective) -> f64 {
        let heat = self.job.heat.as_ref();
        heat.map_or(0.0, |heat| heat.cost(network, objective))
    }

    /// The mean that the parts' tolerances add to the goal, each part moved alone, even over its tolerance:
    /// Gauss and Legendre's rule with three points (Abramowitz and Stegun 1964, 25.4.30), which unlike
    /// [`Problem::spread`] knows the curvature of the residuals themselves.
    fn spread_of_builds(
        &self,
        network: &Network,
        free: &mut Free,
        x: &mut [f64],
        cost: f64,
        residuals: &mut Vec<f64>,
    ) -> f64 {
        let mut sum = 0.0;
        for (k, variable) in free.variables.iter().enumerate() {
            let at = x[k];
            let away =
                0.6f64.sqrt() * tolerance_near(&network.parts()[variable.part], &self.job.stock);
            let mut moved = |by: f64| {
                x[k] = at + by;
                free.objective.cost(x, residuals)
            };
            sum += 5.0 / 18.0 * (moved(away) + moved(-away) - 2.0 * cost);
            x[k] = at;
        }
        sum
    }

    /// `Σ (∂r/∂ln x)² σ²`: the mean that the parts' tolerance adds, a tolerance taken as the half width
    /// of an even spread, σ² = t²/3.
    fn spread(&self, network: &Network, free: &Free, curvature: &[f64]) -> f64 {
        let of = free.variables.iter().zip(curvature).map(|(v, curvature)| {
            let tolerance = tolerance_near(&network.parts()[v.part], &self.job.stock);
            curvature * tolerance * tolerance / 3.0
        });
        of.sum()
    }
}

/// A goal with its variables and their bounds, natural logarithms of SI values.
#[derive(Debug)]
pub struct Free {
    /// The goal.
    pub objective: Objective,
    /// Its variables.
    pub variables: Vec<Variable>,
    lower: Vec<f64>,
    upper: Vec<f64>,
}

impl Free {
    /// Bounds of all variables, the level among them where it is one.
    fn bounds(&self, problem: &Problem<'_>, level_db: f64) -> (Vec<f64>, Vec<f64>) {
        let (mut lower, mut upper) = (self.lower.clone(), self.upper.clone());
        if problem.level_db.is_none() {
            lower.push((level_db - problem.level_within_db).max(0.0) / DB_PER_NEPER);
            upper.push((level_db + problem.level_within_db).min(200.0) / DB_PER_NEPER);
        }
        (lower, upper)
    }
}

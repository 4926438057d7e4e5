//! All ways together: sum, phase, load and match in one goal.

use netlist::network::Network;
use netlist::network::PartKind;
use netlist::quantity::{Farads, Henries, Ohms};

use super::job::Job;
use super::least_squares::{Settings, minimise};
use super::way_fit::{WayFit, set_losses, variables, way_start};
use crate::goal::{Figures, LoadFigures, Objective, Setting, Targets, Weights, figures};
use crate::grid::Grid;
use crate::nodal::{Closer, Plan, Values};
use crate::spectrum::Spectrum;
use crate::synthesis::{WayShape, WayStart};

/// What is just acceptable when the ways are judged together.
pub const JOINT_WEIGHTS: Weights = Weights {
    sum_db: 0.5,
    match_db: 0.8,
    phase_deg: 20.0,
    load: 0.01,
    level_db: 2.0,
    protection_db: 3.0,
};

/// How far the joint search may move the logarithm of a value: a factor of two either way.
pub const ADJUSTMENT: f64 = 0.7;

/// The search aims a little above the least load, so that values of the stock still meet it.
pub const LOAD_MARGIN: f64 = 1.02;

/// A whole network with its cost.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Shapes of the ways, lowest first.
    pub shapes: Vec<WayShape>,
    /// Whether each way is inverted.
    pub inverted: Vec<bool>,
    /// The network with its values.
    pub network: Network,
    /// Values of the ways as they were fitted one by one, part by part: the joint search stays near.
    pub fitted: Vec<f64>,
    /// Cost in the sense of [`Objective`].
    pub cost: f64,
    /// Aim level, dB.
    pub level_db: f64,
}

impl Candidate {
    /// Number of parts, drivers not counted.
    #[must_use]
    pub fn part_count(&self) -> usize {
        self.shapes.iter().map(|shape| shape.part_count()).sum()
    }
}

/// Puts a value into a part.
pub(super) fn set_value(kind: &mut PartKind, value: f64, loss: f64) {
    match kind {
        PartKind::Resistor { resistance, .. } => *resistance = Ohms(value),
        PartKind::Inductor {
            inductance, dcr, ..
        } => {
            *inductance = Henries(value);
            *dcr = Ohms(loss);
        }
        PartKind::Capacitor {
            capacitance, esr, ..
        } => {
            *capacitance = Farads(value);
            *esr = Ohms(loss);
        }
        _ => {}
    }
}

/// Builds the network of fitted ways.
pub(super) fn assemble(job: &Job, fits: &[&WayFit], inverted: &[bool]) -> Option<Network> {
    // Values are replaced right away; these only have to be positive.
    let start = WayStart {
        from_hz: 500.0,
        to_hz: 5000.0,
        load_ohm: 8.0,
        attenuation_db: 6.0,
        notch_hz: 3000.0,
        resonance_hz: 400.0,
        autoformer: job.stock.autoformers,
    };
    let mut network = Network::new();
    for ((fit, way), &inverted) in fits.iter().zip(&job.ways).zip(inverted) {
        let first = network.parts().len();
        fit.shape
            .build(&mut network, &way.name, inverted, &start)
            .ok()?;
        for (part, value) in network
            .parts_mut()
            .values_mut()
            .skip(first)
            .zip(&fit.values)
        {
            set_value(&mut part.kind, *value, 0.0);
        }
    }
    set_losses(job, &mut network);
    Some(network)
}

/// The goal of a whole network of this job.
pub(super) fn objective(
    job: &Job,
    network: &Network,
    fitted: &[f64],
    targets: &Targets,
) -> Option<(Objective, Vec<f64>, Vec<f64>)> {
    let (variables, mut lower, mut upper) = variables(job, network);
    // The ways are fitted already: what follows is an adjustment, not another search, and a section
    // shall go on doing what it was put in for.
    for (k, variable) in variables.iter().enumerate() {
        let value = fitted[variable.part].ln();
        lower[k] = lower[k].max(value - ADJUSTMENT).min(value);
        upper[k] = upper[k].min(value + ADJUSTMENT).max(value);
    }
    let setting = Setting {
        grid: &job.grid,
        drive: job.drive,
        loads_z_ohm: job.ways.iter().map(|way| &way.z_ohm).collect(),
        sound: job.ways.iter().map(|way| &way.sound).collect(),
        targets: targets.clone(),
        // The cable helps the load; where the load is least it is nearly a resistance, as the cable is.
        least_load_ohm: (LOAD_MARGIN * job.least_load_ohm - job.cable_ohm).max(0.0),
        weights: JOINT_WEIGHTS,
        level_db: job.aim.level.map(|level| level.0),
        loudest_db: job.loudest_db(),
        protected: job.protected(),
    };
    let objective = Objective::new(network, &variables, setting).ok()?;
    if job.aim.level.is_none() {
        lower.push(0.0);
        upper.push(200.0 / 8.686);
    }
    Some((objective, lower, upper))
}

/// Searches a combination of fitted ways jointly.
#[must_use]
pub fn fit_jointly(
    job: &Job,
    targets: &Targets,
    fits: &[&WayFit],
    inverted: &[bool],
    level_db: f64,
    max_steps: usize,
) -> Option<Candidate> {
    let network = assemble(job, fits, inverted)?;
    let shapes = fits.iter().map(|fit| fit.shape).collect();
    let start = Candidate {
        shapes,
        inverted: inverted.to_vec(),
        fitted: Values::of(&network).value,
        network,
        cost: f64::INFINITY,
        level_db,
    };
    improve(job, targets, &start, max_steps)
}

/// The network of given shapes with closed-form values, not yet searched.
#[must_use]
pub fn closed_form(
    job: &Job,
    shapes: &[WayShape],
    inverted: &[bool],
    level_db: f64,
) -> Option<Candidate> {
    let mut network = Network::new();
    for (number, (shape, &inverted)) in shapes.iter().zip(inverted).enumerate() {
        let start = way_start(job, number, level_db);
        let name = &job.ways[number].name;
        shape.build(&mut network, name, inverted, &start).ok()?;
    }
    set_losses(job, &mut network);
    Some(Candidate {
        shapes: shapes.to_vec(),
        inverted: inverted.to_vec(),
        fitted: Values::of(&network).value,
        network,
        cost: f64::INFINITY,
        level_db,
    })
}

/// Searches on from a candidate's own values, in at most `max_steps` steps.
#[must_use]
pub fn improve(
    job: &Job,
    targets: &Targets,
    from: &Candidate,
    max_steps: usize,
) -> Option<Candidate> {
    let (mut objective, lower, upper) = objective(job, &from.network, &from.fitted, targets)?;
    let start = objective.start(from.level_db);
    let settings = Settings {
        max_steps,
        gain_tolerance: 1e-5,
        step_tolerance: 1e-6,
    };
    let fit = minimise(&mut objective, &start, &lower, &upper, settings);
    if !fit.cost.is_finite() {
        return None;
    }
    let values = objective.values_at(&fit.x);
    let mut network = from.network.clone();
    for (i, part) in network.parts_mut().values_mut().enumerate() {
        set_value(&mut part.kind, values.value[i], values.loss[i]);
    }
    Some(Candidate {
        network,
        cost: fit.cost,
        level_db: objective.level_at(&fit.x),
        ..from.clone()
    })
}

/// Figures of merit of a network of this job.
///
/// `audio` holds the ways' impedances over a grid of the audio band, for the load.
#[must_use]
pub fn judge(
    job: &Job,
    network: &Network,
    targets: &Targets,
    audio: &AudioLoads,
) -> Option<(Figures, LoadFigures)> {
    let plan = Plan::compile(network).ok()?;
    let values = Values::of(network);
    let closer = Closer {
        plan: &plan,
        values: &values,
        drive: job.drive,
        grid: &job.grid,
        loads: &job.ways.iter().map(|way| &way.z_ohm).collect::<Vec<_>>(),
    };
    let solution = closer.on_grid().ok()?;
    let ways: Vec<Spectrum> = plan
        .driver_outputs()
        .zip(&job.ways)
        .map(|((output, inverted), way)| {
            let sign = if inverted { -1.0 } else { 1.0 };
            Spectrum::from_fn(job.grid.len(), |i| {
                solution.output_at(output, i) * way.sound.at(i) * sign
            })
        })
        .collect();
    let level_db = job.aim.level.map(|level| level.0);
    let figures = figures(job.grid.f_hz(), &ways, targets, level_db);
    let closer = Closer {
        plan: &plan,
        values: &values,
        drive: job.drive,
        grid: &audio.grid,
        loads: &audio.z_ohm.iter().collect::<Vec<_>>(),
    };
    let load = LoadFigures::of(&closer, job.cable_ohm).ok().flatten()?;
    Some((figures, load))
}

/// Impedances of the ways over the audio band.
#[derive(Debug, Clone)]
pub struct AudioLoads {
    /// 20 Hz to 20 kHz.
    pub grid: Grid,
    /// One a way, ohm.
    pub z_ohm: Vec<Spectrum>,
}

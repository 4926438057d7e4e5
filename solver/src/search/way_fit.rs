//! One way fitted to its own target, for every shape, from many starts.

use std::ops::Range;

use netlist::network::{Network, PartKind};
use netlist::project::StockKind;
use netlist::quantity::Ohms;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::design::Effort;
use super::job::Job;
use super::joint::set_value;
use super::least_squares::{Settings, minimise};
use super::protection::protects;
use crate::goal::{Objective, Setting, Targets, Variable, Weights};
use crate::nodal::Drive;
use crate::synthesis::{CorrectionForm, WayShape, WayStart};

/// How far capacitor and coil of a resonant correction may go from the closed form, in the natural
/// logarithm: a factor of two either way.
const NEAR_RESONANCE: f64 = 0.7;

/// A way with its best values.
#[derive(Debug, Clone, PartialEq)]
pub struct WayFit {
    /// Shape.
    pub shape: WayShape,
    /// Values of its parts in order, in SI, the driver not counted.
    pub values: Vec<f64>,
    /// Cost: the mean square match in dB², and what the load adds.
    pub cost: f64,
    /// Aim level that suits it best, dB.
    pub level_db: f64,
    /// Whether it leaves a delicate driver little voltage at and below its resonance.
    pub protects: bool,
}

/// Kind of stock that a part is bought from; `None` for drivers, couplings and autoformers.
#[must_use]
pub fn stock_kind(kind: &PartKind) -> Option<StockKind> {
    match kind {
        PartKind::Resistor { .. } => Some(StockKind::Resistor),
        PartKind::Inductor { .. } => Some(StockKind::Inductor),
        PartKind::Capacitor { .. } => Some(StockKind::Capacitor),
        _ => None,
    }
}

/// The variables of a network, with bounds of their logarithms.
pub(super) fn variables(job: &Job, network: &Network) -> (Vec<Variable>, Vec<f64>, Vec<f64>) {
    let mut variables = Vec::new();
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    for (index, part) in network.parts().values().enumerate() {
        let Some(kind) = stock_kind(&part.kind) else {
            continue;
        };
        if part.fixed {
            continue;
        }
        let (least, most) = job.bounds(kind);
        variables.push(Variable {
            part: index,
            law: job.law(kind),
        });
        lower.push(least.ln());
        upper.push(most.ln());
    }
    (variables, lower, upper)
}

/// Gives every part the loss that its kind of stock has at its value.
pub(super) fn set_losses(job: &Job, network: &mut Network) {
    let esr = job
        .stock
        .range(StockKind::Capacitor)
        .esr
        .unwrap_or(Ohms(0.0));
    let law = job.law(StockKind::Inductor);
    for part in network.parts_mut().values_mut() {
        match &mut part.kind {
            PartKind::Capacitor { esr: own, .. } => *own = esr,
            PartKind::Inductor {
                inductance, dcr, ..
            } => *dcr = Ohms(law.loss(inductance.0, dcr.0)),
            _ => {}
        }
    }
}

/// Fits `way` for every shape from several starts, with `level_db` to aim at or, for the way that
/// sets the level, to start from. Best first; at most one fit a shape.
pub(super) fn fit_way(
    job: &Job,
    way: usize,
    targets: &Targets,
    shapes: &[WayShape],
    level_db: f64,
    effort: Effort,
    stop: &(dyn Fn() -> bool + Sync),
) -> Vec<WayFit> {
    let mut fits: Vec<WayFit> = shapes
        .par_iter()
        .enumerate()
        .map(|(number, shape)| {
            if number > 0 && stop() {
                return None;
            }
            let starts = 0..effort.starts;
            fit_numbered(
                job,
                way,
                targets,
                *shape,
                level_db,
                effort.seed,
                starts,
                number,
            )
        })
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    fits.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    fits
}

/// Fits `way` in one shape. `starts` numbers the starts: 0 has the closed-form values, every other
/// one has random values about them, up to 3.3 times larger or smaller.
#[must_use]
pub fn fit_shape(
    job: &Job,
    way: usize,
    targets: &Targets,
    shape: WayShape,
    level_db: f64,
    seed: u64,
    starts: Range<usize>,
) -> Option<WayFit> {
    fit_numbered(job, way, targets, shape, level_db, seed, starts, 0)
}

/// What the closed-form values of `way` are worked out from, for an aim of `level_db`.
#[must_use]
pub fn way_start(job: &Job, way: usize, level_db: f64) -> WayStart {
    let data = &job.ways[way];
    let (from_hz, to_hz) = job.band_hz(way);
    let near = |f_hz: f64| {
        let i = job
            .grid
            .f_hz()
            .partition_point(|f| *f < f_hz)
            .min(job.grid.len() - 1);
        data.z_ohm.at(i).norm()
    };
    WayStart {
        from_hz,
        to_hz,
        load_ohm: if way == 0 {
            near(to_hz)
        } else {
            near(from_hz * 1.5)
        },
        attenuation_db: (data.level_db - level_db).max(0.5),
        notch_hz: 4.0 * to_hz.min(3000.0),
        resonance_hz: data.resonance_hz.unwrap_or(0.6 * from_hz),
        autoformer: job.stock.autoformers,
    }
}

/// Natural logarithm of a part's value.
fn network_log(network: &Network, part: usize) -> f64 {
    network.parts()[part].value_si().unwrap_or(1.0).ln()
}

#[expect(
    clippy::too_many_arguments,
    reason = "the number only picks the random stream"
)]
fn fit_numbered(
    job: &Job,
    way: usize,
    targets: &Targets,
    shape: WayShape,
    level_db: f64,
    seed: u64,
    starts: Range<usize>,
    number: usize,
) -> Option<WayFit> {
    let data = &job.ways[way];
    let start = way_start(job, way, level_db);
    let mut network = Network::new();
    shape.build(&mut network, &data.name, false, &start).ok()?;
    set_losses(job, &mut network);
    let (variables, mut lower, mut upper) = variables(job, &network);
    if shape.notch {
        // R, L, C of the trap, before what corrects the impedance: a trap is for a peak above the
        // band, where its parts are small.
        let correction = shape.correction.part_count();
        let first = variables.len() - 3 - correction;
        let lowest = std::f64::consts::TAU * 1.5 * start.to_hz;
        upper[first + 1] = (start.load_ohm / lowest).ln();
        upper[first + 2] = (1.0 / (lowest * start.load_ohm)).ln();
        lower[first + 2] = lower[first + 2].min(upper[first + 2]);
    }
    if shape.correction == CorrectionForm::Resonant {
        // Capacitor and coil stay near the resonance that they are there for.
        for k in variables.len() - 2..variables.len() {
            let near = network_log(&network, variables[k].part);
            lower[k] = lower[k].max(near - NEAR_RESONANCE).min(upper[k]);
            upper[k] = upper[k].min(near + NEAR_RESONANCE).max(lower[k]);
        }
    }
    let sets_level = way == job.weakest() && job.aim.level.is_none();
    let setting = Setting {
        grid: &job.grid,
        // Fitted as if alone on a stiff amplifier: what the ways do to each other through the
        // output impedance is for the joint search.
        drive: Drive {
            output_impedance_ohm: 0.0,
            ..job.drive
        },
        loads_z_ohm: vec![&data.z_ohm],
        sound: vec![&data.sound],
        targets: Targets {
            ways: vec![targets.ways[way].clone()],
            tilt_db: targets.tilt_db.clone(),
            judged: targets.judged.clone(),
            near_crossover: Vec::new(),
            between: Vec::new(),
        },
        least_load_ohm: job.least_load_ohm,
        weights: Weights {
            sum_db: f64::INFINITY,
            match_db: 1.0,
            phase_deg: 1.0,
            load: 0.1,
            level_db: f64::INFINITY,
            protection_db: 3.0,
        },
        loudest_db: job.loudest_db(),
        protected: Vec::new(),
        level_db: (!sets_level).then_some(level_db),
    };
    let mut objective = Objective::new(&network, &variables, setting).ok()?;
    let first = objective.start(level_db);
    if sets_level {
        // Lower is easier to match for every network, and worth nothing: hold it up.
        let level = first[variables.len()];
        lower.push(level - 0.8 / 8.686);
        upper.push(level + 0.8 / 8.686);
    }
    let settings = Settings {
        max_steps: 60,
        gain_tolerance: 1e-5,
        step_tolerance: 1e-6,
    };
    let mut best: Option<(f64, Vec<f64>)> = None;
    for s in starts {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(((way as u64) << 48) | ((number as u64) << 24) | s as u64);
        let spread = if s == 0 { 0.0 } else { 1.2 };
        let x: Vec<f64> = (first.iter().enumerate())
            .map(|(i, x)| {
                if i < variables.len() {
                    x + spread * rng.random_range(-1.0..1.0)
                } else {
                    *x
                }
            })
            .collect();
        let fit = minimise(&mut objective, &x, &lower, &upper, settings);
        if best.as_ref().is_none_or(|(cost, _)| fit.cost < *cost) {
            best = Some((fit.cost, fit.x));
        }
    }
    let (cost, x) = best?;
    let values = objective.values_at(&x);
    let parts = network.parts_mut().values_mut();
    for (part, (value, loss)) in parts.zip(values.value.iter().zip(&values.loss)) {
        set_value(&mut part.kind, *value, *loss);
    }
    Some(WayFit {
        protects: protects(job, &[way], &network, true),
        shape,
        values: values.value[..network.parts().len() - 1].to_vec(),
        cost,
        level_db: objective.level_at(&x),
    })
}

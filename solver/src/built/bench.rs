//! The drawn loudspeaker and what was measured of it, made ready; and everything in it that may differ a
//! little from build to build.

use netlist::network::{Network, PartKind};
use netlist::project::Project;

use super::BuiltOptions;
use super::driver::DriverModel;
use super::hypothesis::{BuiltChange, TUNING_FACTORS, all_single};
use super::measurement::{Sweep, roughness};
use crate::grid::Grid;
use crate::judge::tolerance::Distribution;
use crate::nodal::{Plan, PlanError, Values};
use crate::stock::tolerance as part_tolerance;
use crate::wiring::lead_ohm;

/// Something that may differ a little from build to build, or from one measurement to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Target {
    /// All of the measured impedance, as a logarithm.
    Scale,
    /// Resistance of the measuring leads, ohm.
    Leads,
    /// A part's value, as a logarithm.
    Value(usize),
    /// A coil's resistance, as a logarithm.
    Loss(usize),
    /// A driver's impedance in one of its ways to differ.
    Driver,
}

/// One such thing with its mean and standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nuisance {
    pub(super) target: Target,
    pub(super) mean: f64,
    pub(super) sigma: f64,
}

/// Deviation of the scale of a meter of the kind meant here (judgement).
const SIGMA_SCALE: f64 = 0.015;
/// What measuring leads have where nothing is said, and its deviation, ohm (judgement).
const LEADS_OHM: [f64; 2] = [0.1, 0.15];
/// Deviation of stated leads, ohm.
const SIGMA_STATED_LEADS_OHM: f64 = 0.03;
/// Deviation of a coil's resistance: wire, winding and temperature (judgement).
const SIGMA_DCR: f64 = 0.08;
/// Least deviation of a part that is stated to have none: solder and temperature.
const LEAST_SIGMA: f64 = 0.002;
/// Least noise, a share: the drivers' own tables have as much.
const LEAST_NOISE: f64 = 0.002;
/// Most noise that a measurement may claim, a share.
const MOST_NOISE: f64 = 0.2;
/// What the drawing leaves out (warm coils, the cabinet's air, cores) is this share of the impedance,
/// alike within a third of an octave (judgement).
pub(super) const LEFT_OUT: f64 = 0.004;

/// A sweep on its grid.
#[derive(Debug, Clone)]
pub(super) struct SweepGrid {
    pub(super) grid: Grid,
    /// Whether each driver was disconnected, in the order of the parts.
    pub(super) off: Vec<bool>,
    /// ln |Z|
    pub(super) ln_ohm: Vec<f64>,
    /// Phase in radian.
    pub(super) phase: Option<Vec<f64>>,
    /// Points within a third of an octave, about each point.
    pub(super) dense: Vec<f64>,
}

impl SweepGrid {
    /// A grid on which nothing was measured, all drivers connected.
    pub(super) fn empty(bench: &Bench, grid: Grid) -> SweepGrid {
        SweepGrid {
            off: vec![false; bench.models.len()],
            ln_ohm: vec![0.0; grid.len()],
            phase: None,
            dense: vec![1.0; grid.len()],
            grid,
        }
    }

    /// Every `step`-th point.
    pub(super) fn thinned(&self, step: usize) -> SweepGrid {
        let pick = |values: &[f64]| values.iter().copied().step_by(step).collect::<Vec<f64>>();
        SweepGrid {
            grid: Grid::new(pick(self.grid.f_hz())).expect("still rising"),
            off: self.off.clone(),
            ln_ohm: pick(&self.ln_ohm),
            phase: self.phase.as_deref().map(pick),
            dense: pick(&self.dense).iter().map(|n| n / step as f64).collect(),
        }
    }

    /// Weight of each row, `1/σ²`, for noise of that share.
    pub(super) fn weights(&self, noise: f64) -> Vec<f64> {
        let one = self.dense.iter().map(|alike| {
            let variance = noise * noise + alike.max(1.0) * LEFT_OUT * LEFT_OUT;
            1.0 / variance
        });
        let one: Vec<f64> = one.collect();
        match self.phase {
            Some(_) => [one.clone(), one].concat(),
            None => one,
        }
    }
}

/// The drawn loudspeaker and its measurements.
#[derive(Debug, Clone)]
pub(super) struct Bench {
    /// As drawn, without wire: the wire to a driver is part of the driver.
    pub(super) network: Network,
    pub(super) plan: Plan,
    pub(super) values: Values,
    /// The drivers, in the order of the parts.
    pub(super) models: Vec<DriverModel>,
    /// Which driver a part is.
    pub(super) driver_of: Vec<Option<usize>>,
    /// Tolerance of each part, a share.
    pub(super) tolerance: Vec<f64>,
    pub(super) drift: Vec<Nuisance>,
    /// Where the differences of each driver begin in `drift`.
    pub(super) first_of_driver: Vec<usize>,
    /// Place of each part's value and loss in `drift`.
    pub(super) place_of: Vec<[Option<usize>; 2]>,
    pub(super) sets: Vec<SweepGrid>,
}

impl Bench {
    /// Makes a project with a network ready; sweeps have been looked at by [`Sweep::mistakes`].
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub(super) fn new(
        project: &Project,
        network: &Network,
        sweeps: &[Sweep],
        options: &BuiltOptions,
    ) -> Result<Self, PlanError> {
        let plan = Plan::compile(network)?;
        let values = Values::of(network);
        let models: Vec<DriverModel> = (plan.drivers().iter())
            .map(|name| DriverModel::new(&project.drivers[name.as_str()], lead_ohm(project, name)))
            .collect();
        let mut driver = 0;
        let driver_of = (network.parts().values())
            .map(|part| {
                matches!(part.kind, PartKind::Driver { .. }).then(|| {
                    driver += 1;
                    driver - 1
                })
            })
            .collect();
        let tolerance: Vec<f64> = (network.parts().values())
            .map(|part| match part.value_si() {
                Some(value) => part_tolerance(part, value, &project.stock).0,
                None => 0.0,
            })
            .collect();
        let (drift, first_of_driver) = drifts(network, &tolerance, &models, options);
        let sets = sweeps.iter().map(|sweep| set(&plan, sweep)).collect();
        let place = |target| drift.iter().position(|drift| drift.target == target);
        let place_of = (0..tolerance.len())
            .map(|part| [Target::Value(part), Target::Loss(part)].map(place))
            .collect();
        Ok(Self {
            network: network.clone(),
            plan,
            values,
            models,
            driver_of,
            tolerance,
            drift,
            first_of_driver,
            place_of,
            sets,
        })
    }

    /// Noise of a curve that was measured against one that is computed: the smaller of its own roughness
    /// and that of their difference.
    pub(super) fn noise(&self, residuals: &[Vec<f64>]) -> f64 {
        let own = self.sets.iter().filter_map(|set| roughness(&set.ln_ohm));
        let rest = residuals
            .iter()
            .zip(&self.sets)
            .filter_map(|(rows, set)| roughness(&rows[..set.ln_ohm.len()]));
        let mean = |values: Vec<f64>| match values.len() {
            0 => f64::INFINITY,
            count => values.iter().sum::<f64>() / count as f64,
        };
        let found = mean(own.collect()).min(mean(rest.collect()));
        found.clamp(LEAST_NOISE, MOST_NOISE)
    }

    /// All single mistakes: of the network, and of the boxes that are modelled.
    pub(super) fn all_single(&self) -> Vec<BuiltChange> {
        let mut list = all_single(&self.network);
        for (part, driver) in self.driver_of.iter().enumerate() {
            if driver.is_some_and(|driver| self.models[driver].tuning().is_some()) {
                list.extend(TUNING_FACTORS.map(|factor| BuiltChange::Tuning(part, factor)));
            }
        }
        list
    }

    /// Deviations of everything that may differ.
    pub(super) fn sigmas(&self) -> Vec<f64> {
        self.drift.iter().map(|drift| drift.sigma).collect()
    }
}

fn set(plan: &Plan, sweep: &Sweep) -> SweepGrid {
    let grid = Grid::new(sweep.f_hz.clone()).expect("a table's frequencies rise");
    let f_hz = grid.f_hz();
    let third = 2f64.powf(1.0 / 6.0);
    let dense = (f_hz.iter())
        .map(|f| {
            let from = f_hz.partition_point(|g| *g < f / third);
            let to = f_hz.partition_point(|g| *g <= f * third);
            (to - from) as f64
        })
        .collect();
    SweepGrid {
        off: (plan.drivers().iter())
            .map(|name| sweep.off.contains(name))
            .collect(),
        ln_ohm: sweep.ohm.iter().map(|ohm| ohm.ln()).collect(),
        phase: (sweep.phase_deg.as_ref())
            .map(|deg| deg.iter().map(|deg| deg.to_radians()).collect()),
        grid,
        dense,
    }
}

/// Everything that may differ, and where each driver's differences begin.
fn drifts(
    network: &Network,
    tolerance: &[f64],
    models: &[DriverModel],
    options: &BuiltOptions,
) -> (Vec<Nuisance>, Vec<usize>) {
    let evenly = Distribution::Uniform.variance().sqrt();
    let [mean, sigma] = match options.leads_ohm {
        Some(ohm) => [ohm, SIGMA_STATED_LEADS_OHM],
        None => LEADS_OHM,
    };
    let mut drift = vec![
        Nuisance {
            target: Target::Scale,
            mean: 0.0,
            sigma: SIGMA_SCALE,
        },
        Nuisance {
            target: Target::Leads,
            mean,
            sigma,
        },
    ];
    for (number, part) in network.parts().values().enumerate() {
        let mut add = |target, sigma| {
            drift.push(Nuisance {
                target,
                mean: 0.0,
                sigma,
            });
        };
        if part.value_si().is_some() {
            let sigma = (tolerance[number] * evenly).max(LEAST_SIGMA);
            add(Target::Value(number), sigma);
        }
        let winding = matches!(
            part.kind,
            PartKind::Inductor { .. } | PartKind::Autoformer { .. }
        );
        if winding {
            add(Target::Loss(number), SIGMA_DCR);
        }
    }
    let mut first_of_driver = Vec::new();
    for model in models {
        first_of_driver.push(drift.len());
        drift.extend(model.sigmas().into_iter().map(|sigma| Nuisance {
            target: Target::Driver,
            mean: 0.0,
            sigma,
        }));
    }
    (drift, first_of_driver)
}

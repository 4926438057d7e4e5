//! Everything that the report shows of a loudspeaker, computed once.

use std::ops::ControlFlow;

use netlist::network::{Network, NodeId, PartKind};
use netlist::project::Project;
use num_complex::Complex64;
use solver::directions::judged_over;
use solver::goal::{Targets, epdr_ohm};
use solver::grid::Grid;
use solver::judge::check::{Assessment, Check, check};
use solver::judge::tolerance::ToleranceOptions;
use solver::load::Note;
use solver::load::REFERENCE_V;
use solver::loudspeaker::{Curves, Loudspeaker};
use solver::nodal::PlanError;
use solver::sound::{Coherence, level_db, level_db_series};
use solver::spectrum::{Spectrum, unwrap};

/// Width over which the group delay is taken, in octaves: the noise of a measurement does not hide it then, and what a
/// filter or a box does is wider.
pub(crate) const DELAY_OCTAVES: f64 = 1.0 / 3.0;

/// How far from a crossover the phase between its ways is shown, in octaves.
pub(crate) const PHASE_OCTAVES: f64 = 1.0;

/// A way of the loudspeaker: a driver that the network feeds.
#[derive(Debug, Clone)]
pub(crate) struct WayCurves {
    pub(crate) driver: String,
    pub(crate) level_db: Vec<f64>,
    /// Voltage at the driver against the amplifier's open-circuit voltage, dB.
    pub(crate) transfer_db: Vec<f64>,
    /// Target, dB SPL; without crossovers there is none.
    pub(crate) target_db: Option<Vec<f64>>,
    pub(crate) match_db: Option<f64>,
}

/// Everything that the report shows of a loudspeaker.
#[derive(Debug)]
pub(crate) struct Facts {
    pub(crate) f_hz: Vec<f64>,
    /// Lowest crossover first where there are crossovers; otherwise in the order of the parts.
    pub(crate) ways: Vec<WayCurves>,
    pub(crate) sum_db: Vec<f64>,
    /// The sum against the aim where that judges it, tilt taken out; without figures of merit against its mean in the aim's band.
    pub(crate) off_db: Vec<f64>,
    /// For each crossover the phase between its two ways, counted from what its slopes ask for; no number further than
    /// an octave away.
    pub(crate) between_deg: Vec<Vec<f64>>,
    pub(crate) group_delay_ms: Vec<f64>,
    pub(crate) load_ohm: Vec<f64>,
    pub(crate) load_phase_deg: Vec<f64>,
    /// Equivalent peak dissipation resistance.
    pub(crate) epdr_ohm: Vec<f64>,
    pub(crate) check: Check,
    pub(crate) notes: Vec<(String, Note)>,
}

impl Facts {
    /// Computes everything; `None` for a brief.
    pub(crate) fn new(project: &Project, seed: u64) -> Result<Option<Self>, PlanError> {
        let grid = Grid::audio_band();
        let options = ToleranceOptions {
            seed,
            ..ToleranceOptions::default()
        };
        let mut on = |_| ControlFlow::Continue(());
        let (Some(system), Some(check)) = (
            Loudspeaker::new(project, grid.clone())?,
            check(project, &options, &mut on)?,
        ) else {
            return Ok(None);
        };
        let curves = system.curves()?;
        let (load_ohm, load_phase_deg) = load(&curves);
        let reached = check.assessment.as_ref().ok();
        let sum_db = level_db_series(&curves.system);
        Ok(Some(Self {
            ways: ways(&system, &curves, reached),
            off_db: off_db(
                project,
                reached,
                &grid,
                &judged_db(project, reached, &curves, &grid),
            ),
            between_deg: reached
                .map_or_else(Vec::new, |reached| between_deg(reached, &curves, &grid)),
            sum_db,
            epdr_ohm: (curves.load.iter())
                .map(|z| z.map_or(f64::NAN, epdr_ohm))
                .collect(),
            group_delay_ms: group_delay_ms(&grid, &curves.system),
            load_ohm,
            load_phase_deg,
            check,
            notes: (system.notes())
                .map(|(driver, note)| (driver.to_owned(), *note))
                .collect(),
            f_hz: grid.f_hz().to_vec(),
        }))
    }

    /// Highest level of the sum, dB.
    pub(crate) fn highest_db(&self) -> f64 {
        self.sum_db.iter().copied().fold(f64::MIN, f64::max)
    }

    /// Position of the frequency nearest to this.
    pub(crate) fn nearest(&self, f_hz: f64) -> usize {
        nearest(&self.f_hz, f_hz).unwrap_or(0)
    }
}

/// Position of the frequency nearest to this, in octaves; nothing of none.
pub(crate) fn nearest(all_hz: &[f64], f_hz: f64) -> Option<usize> {
    let off = |i: &usize| (all_hz[*i] / f_hz).ln().abs();
    (0..all_hz.len()).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Magnitude and phase; where no current flows they are no numbers.
fn load(curves: &Curves) -> (Vec<f64>, Vec<f64>) {
    (curves.load.iter())
        .map(|z| z.map_or((f64::NAN, f64::NAN), |z| (z.norm(), z.arg().to_degrees())))
        .unzip()
}

fn ways(system: &Loudspeaker, curves: &Curves, reached: Option<&Assessment>) -> Vec<WayCurves> {
    let grid = &system.grid;
    let targets = reached.map(|reached| {
        let job = &reached.job;
        Targets::new(&job.aim, &job.crossovers, &reached.alignments, grid)
    });
    let order: Vec<&str> = match reached {
        Some(reached) => reached.job.ways.iter().map(|way| &*way.name).collect(),
        None => curves.ways.iter().map(|(driver, _)| &**driver).collect(),
    };
    (order.into_iter().enumerate())
        .filter_map(|(number, driver)| {
            let (_, sound) = curves.ways.iter().find(|(name, _)| name == driver)?;
            Some(WayCurves {
                driver: driver.to_owned(),
                level_db: level_db_series(sound),
                transfer_db: transfer_db(&system.network, driver, curves),
                target_db: targets.as_ref().zip(reached).map(|(targets, reached)| {
                    let aim = reached.figures.level_db;
                    let target = targets.ways[number].level_db.iter();
                    target.map(|db| aim + db).collect()
                }),
                match_db: reached.map(|reached| reached.figures.match_db[number]),
            })
        })
        .collect()
}

/// Voltage across a driver against the amplifier's open-circuit voltage.
fn transfer_db(network: &Network, driver: &str, curves: &Curves) -> Vec<f64> {
    let between = network.parts().values().find_map(|part| match &part.kind {
        PartKind::Driver {
            driver: name,
            between,
            ..
        } if name == driver => Some(*between),
        _ => None,
    });
    let points = curves.system.len();
    let Some([plus, minus]) = between else {
        return vec![f64::NAN; points];
    };
    let volts = |node: NodeId, i: usize| {
        let name = network.node_name(node);
        let found = curves.nodes.iter().find(|(node, _)| node == name);
        found.map_or(Complex64::ZERO, |(_, volts)| volts.at(i))
    };
    (0..points)
        .map(|i| {
            let ratio = (volts(plus, i) - volts(minus, i)).norm() / REFERENCE_V;
            (20.0 * ratio.log10()).max(solver::sound::FLOOR_DB)
        })
        .collect()
}

/// Level of the sum where the aim judges it.
fn judged_db(
    project: &Project,
    reached: Option<&Assessment>,
    curves: &Curves,
    grid: &Grid,
) -> Vec<f64> {
    let names: Vec<&str> = curves.ways.iter().map(|(name, _)| &**name).collect();
    // Without an aim that can be reached there is nothing to judge.
    let window = reached.and_then(|_| judged_over(project, &names, grid));
    (0..grid.len())
        .map(|i| {
            let sounds: Vec<Complex64> = curves.ways.iter().map(|(_, way)| way.at(i)).collect();
            Coherence::judged_db(window.as_ref(), i, &sounds)
        })
        .collect()
}

/// The sum against the aim.
fn off_db(
    project: &Project,
    reached: Option<&Assessment>,
    grid: &Grid,
    sum_db: &[f64],
) -> Vec<f64> {
    let over: Vec<f64> = (grid.f_hz().iter().zip(sum_db))
        .map(|(f, db)| db - project.aim.tilt_db(*f))
        .collect();
    let band = project.aim.from.0..=project.aim.to.0;
    let judged: Vec<f64> = (grid.f_hz().iter().zip(&over))
        .filter_map(|(f, db)| band.contains(f).then_some(*db))
        .collect();
    let mean = judged.iter().sum::<f64>() / judged.len().max(1) as f64;
    let aim = reached.map_or(mean, |reached| reached.figures.level_db);
    over.iter().map(|db| db - aim).collect()
}

/// Phase between the two ways of every crossover.
fn between_deg(reached: &Assessment, curves: &Curves, grid: &Grid) -> Vec<Vec<f64>> {
    let job = &reached.job;
    let targets = Targets::new(&job.aim, &job.crossovers, &reached.alignments, grid);
    let sound = |name: &str| curves.ways.iter().find(|(driver, _)| driver == name);
    (job.crossovers.iter().zip(job.ways.windows(2)).enumerate())
        .map(|(c, (crossover, pair))| {
            let none = || vec![f64::NAN; grid.len()];
            let (Some((_, lower)), Some((_, upper))) = (sound(&pair[0].name), sound(&pair[1].name))
            else {
                return none();
            };
            let near: Vec<usize> = (0..grid.len())
                .filter(|&i| (grid.f_hz()[i] / crossover.frequency.0).log2().abs() <= PHASE_OCTAVES)
                .collect();
            let between = |i: usize| lower.at(i) * upper.at(i).conj();
            let reference = &targets.between[c];
            let turn = &reference.turns[reference.nearest(near.iter().copied(), between)];
            let mut phase_deg = none();
            for i in near {
                phase_deg[i] = (between(i) * turn.at(i)).arg().to_degrees();
            }
            phase_deg
        })
        .collect()
}

/// −dφ/dω of a sound, in ms, by differences over [`DELAY_OCTAVES`]; no number where nothing sounds.
fn group_delay_ms(grid: &Grid, sound: &Spectrum) -> Vec<f64> {
    let mut phase = sound.phase_deg();
    unwrap(&mut phase, 360.0);
    let omega = grid.omega();
    let last = grid.len() - 1;
    let octaves = (omega[last] / omega[0]).log2() / last as f64;
    let half = (0.5 * DELAY_OCTAVES / octaves).round() as usize;
    (0..=last)
        .map(|i| {
            if level_db(sound.at(i)) < -100.0 {
                return f64::NAN;
            }
            let (a, b) = (i.saturating_sub(half), (i + half).min(last));
            -(phase[b] - phase[a]).to_radians() / (omega[b] - omega[a]) * 1e3
        })
        .collect()
}

//! The builds themselves: values drawn, network solved, sum held against the design.

use std::ops::ControlFlow;

use netlist::quantity::Quantity;
use num_complex::Complex64;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::super::judged_loudspeaker::JudgedLoudspeaker;
use super::spread::{Varying, VaryingTarget, varying};
use super::{ToleranceError, ToleranceOptions};
use crate::air::REFERENCE_PRESSURE_PA;
use crate::nodal::{Drive, Output, Plan, PlanError, Solution, Values, Workspace};
use crate::spectrum::Spectrum;

/// Builds that one thread makes with one set of rooms.
const BUILDS_AT_A_TIME: usize = 64;
/// Such lots between two reports of progress.
const LOTS_BETWEEN_REPORTS: usize = 16;
/// 0 dB SPL.
const REFERENCE_PA2: f64 = REFERENCE_PRESSURE_PA * REFERENCE_PRESSURE_PA;
/// What silence is given instead, so that its level is a number: −400 dB.
const FLOOR_PA2: f64 = 1e-40 * REFERENCE_PA2;

/// The loudspeaker on the bench, ready for builds.
#[derive(Debug)]
pub(super) struct ToleranceBench<'a> {
    pub(super) speaker: &'a JudgedLoudspeaker,
    pub(super) options: &'a ToleranceOptions,
    pub(super) plan: Plan,
    pub(super) values: Values,
    pub(super) drive: Drive,
    pub(super) varying: Vec<Varying>,
    /// Sound of each driver for one volt, polarity included.
    pub(super) sounds: Vec<Spectrum>,
    pub(super) outputs: Vec<Output>,
    /// Positions of the frequencies in the aim's band.
    pub(super) judged: Vec<usize>,
    /// The design's sum at those, dB SPL.
    nominal_db: Vec<f64>,
    /// The design's least load, ohm.
    pub(super) nominal_ohm: f64,
    /// Its deviation from the aim, dB: from that at its own best level where no level is asked for.
    off_aim_db: Vec<f64>,
}

/// Figures of one build.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Build {
    /// Its level against the design, dB.
    pub(super) level_db: f64,
    /// Largest deviation from the design, dB.
    pub(super) off_design_db: f64,
    /// Largest deviation from the aim, dB.
    pub(super) off_aim_db: f64,
    /// Least |Z| over the grid, ohm.
    pub(super) least_ohm: f64,
}

/// Builds in their order.
#[derive(Debug, Clone, Default)]
pub(super) struct Builds {
    pub(super) figures: Vec<Build>,
    /// Deviation from the design at each judged frequency, build by build; dB.
    pub(super) rows: Vec<f64>,
    /// Deviation of each varying thing, build by build; share or dB.
    pub(super) drawn: Vec<f64>,
}

impl Builds {
    /// Builds made.
    pub(super) fn count(&self) -> usize {
        self.figures.len()
    }
}

/// What a thread works in.
#[derive(Clone)]
struct BuildBuffers {
    workspace: Workspace,
    solution: Solution,
    values: Values,
    gains: Vec<f64>,
    units: Vec<f64>,
    sum: Spectrum,
    /// Sound of each driver at one frequency.
    heard: Vec<Complex64>,
    rng: ChaCha8Rng,
}

impl<'a> ToleranceBench<'a> {
    pub(super) fn new(
        speaker: &'a JudgedLoudspeaker,
        options: &'a ToleranceOptions,
    ) -> Result<Self, ToleranceError> {
        let plan = Plan::compile(&speaker.loudspeaker.network)?;
        let (from_hz, to_hz) = (speaker.aim.from.si(), speaker.aim.to.si());
        let judged = speaker.loudspeaker.grid.within(from_hz, to_hz);
        if judged.is_empty() {
            return Err(ToleranceError::NoBand { from_hz, to_hz });
        }
        let outputs = plan.driver_outputs().map(|(output, _)| output).collect();
        let mut bench = Self {
            values: Values::of(&speaker.loudspeaker.network),
            drive: speaker.loudspeaker.drive.clone(),
            varying: varying(
                &speaker.loudspeaker.network,
                &speaker.stock,
                options.driver_level_db,
            ),
            sounds: speaker.loudspeaker.signed_sounds_pa_per_v(),
            outputs,
            plan,
            nominal_db: Vec::new(),
            nominal_ohm: f64::INFINITY,
            off_aim_db: Vec::new(),
            judged,
            speaker,
            options,
        };
        let mut buffers = bench.buffers()?;
        let mut nominal_db = vec![0.0; bench.judged.len()];
        bench.nominal_ohm = bench.measure(&mut buffers, &mut nominal_db);
        let level_db = speaker.aim.level.map_or(0.0, Quantity::si);
        let mut off_aim_db: Vec<f64> = (nominal_db.iter().zip(&bench.judged))
            .map(|(db, &i)| db - level_db - speaker.aim.tilt_db(speaker.loudspeaker.grid.f_hz()[i]))
            .collect();
        bench.take_level_out(&mut off_aim_db);
        bench.off_aim_db = off_aim_db;
        bench.nominal_db = nominal_db;
        Ok(bench)
    }

    /// Frequencies in the aim's band, Hz.
    pub(super) fn judged_hz(&self) -> Vec<f64> {
        let f_hz = self.speaker.loudspeaker.grid.f_hz();
        self.judged.iter().map(|&i| f_hz[i]).collect()
    }

    /// Whether each build is heard at its own level: where the aim leaves the level open, the volume
    /// control takes out what all frequencies have in common.
    pub(super) fn own_level(&self) -> bool {
        self.speaker.aim.level.is_none()
    }

    /// Gives the level of deviations, dB: that of least rms. Takes it out where each build is heard at
    /// its own.
    fn take_level_out(&self, row: &mut [f64]) -> f64 {
        let mean = row.iter().sum::<f64>() / row.len() as f64;
        if self.own_level() {
            row.iter_mut().for_each(|off| *off -= mean);
        }
        mean
    }

    fn buffers(&self) -> Result<BuildBuffers, PlanError> {
        let workspace = Workspace::new(
            &self.plan,
            &self.speaker.loudspeaker.grid,
            &self.speaker.loudspeaker.loads_z_ohm(),
        )?;
        Ok(BuildBuffers {
            solution: Solution::new(&self.plan, &workspace),
            workspace,
            values: self.values.clone(),
            gains: vec![1.0; self.sounds.len()],
            units: vec![0.0; self.varying.iter().map(|v| v.pieces.len()).sum()],
            sum: Spectrum::zeros(self.speaker.loudspeaker.grid.len()),
            heard: Vec::with_capacity(self.sounds.len()),
            rng: ChaCha8Rng::seed_from_u64(self.options.seed),
        })
    }

    /// Makes `count` builds, with each tolerance times its `scale`. Ends early when `progress`, which
    /// is told how many are done, breaks.
    pub(super) fn make(
        &self,
        scale: &[f64],
        count: usize,
        progress: &mut dyn FnMut(usize) -> ControlFlow<()>,
    ) -> Result<Builds, PlanError> {
        let columns = self.judged.len();
        let things = self.varying.len().max(1);
        let mut builds = Builds {
            figures: vec![Build::default(); count],
            rows: vec![0.0; count * columns],
            drawn: vec![0.0; count * things],
        };
        let ready = self.buffers()?;
        let mut done = 0;
        while done < count && progress(done).is_continue() {
            let end = count.min(done + BUILDS_AT_A_TIME * LOTS_BETWEEN_REPORTS);
            let figures = builds.figures[done..end].par_chunks_mut(BUILDS_AT_A_TIME);
            let rows = builds.rows[done * columns..end * columns]
                .par_chunks_mut(BUILDS_AT_A_TIME * columns);
            let drawn =
                builds.drawn[done * things..end * things].par_chunks_mut(BUILDS_AT_A_TIME * things);
            (figures.zip(rows).zip(drawn).enumerate()).for_each_init(
                || ready.clone(),
                |buffers, (lot, ((figures, rows), drawn))| {
                    let first = done + lot * BUILDS_AT_A_TIME;
                    let rows = rows.chunks_mut(columns);
                    let drawn = drawn.chunks_mut(things);
                    for (i, ((figures, row), drawn)) in
                        figures.iter_mut().zip(rows).zip(drawn).enumerate()
                    {
                        *figures = self.build(first + i, scale, buffers, row, drawn);
                    }
                },
            );
            done = end;
        }
        builds.figures.truncate(done);
        builds.rows.truncate(done * columns);
        builds.drawn.truncate(done * things);
        Ok(builds)
    }

    /// Makes build number `number`: its deviation from the design goes to `row`, those of all that
    /// varies to `drawn`.
    fn build(
        &self,
        number: usize,
        scale: &[f64],
        buffers: &mut BuildBuffers,
        row: &mut [f64],
        drawn: &mut [f64],
    ) -> Build {
        let distribution = self.options.distribution;
        distribution.draw(&mut buffers.rng, number as u64, &mut buffers.units);
        let mut first = 0;
        for ((varying, scale), deviation) in self.varying.iter().zip(scale).zip(drawn) {
            let units = &buffers.units[first..first + varying.pieces.len()];
            first += varying.pieces.len();
            *deviation = varying.deviation(units, *scale);
            varying.put(*deviation, &self.values, &mut buffers.values);
            if let VaryingTarget::Driver { driver } = varying.target {
                buffers.gains[driver] = 10f64.powf(*deviation / 20.0);
            }
        }
        let least_ohm = self.measure(buffers, row);
        for (off, nominal) in row.iter_mut().zip(&self.nominal_db) {
            *off -= nominal;
        }
        let level_db = self.take_level_out(row);
        let largest = |worst: f64, off: f64| worst.max(off.abs());
        let off_aim = row.iter().zip(&self.off_aim_db).map(|(off, aim)| off + aim);
        Build {
            level_db,
            off_design_db: row.iter().copied().fold(0.0, largest),
            off_aim_db: off_aim.fold(0.0, largest),
            least_ohm,
        }
    }

    /// Solves the network with the values in the buffers: the level of the sum at the judged frequencies
    /// goes to `row`, in dB; gives the least load, in ohm.
    fn measure(&self, buffers: &mut BuildBuffers, row: &mut [f64]) -> f64 {
        self.plan.run(
            &buffers.values,
            &self.drive,
            &mut buffers.workspace,
            &mut buffers.solution,
        );
        self.add(buffers);
        for (db, &i) in row.iter_mut().zip(&self.judged) {
            let square = match &self.speaker.window {
                None => buffers.sum.re[i].powi(2) + buffers.sum.im[i].powi(2),
                Some(_) => self.over_window(buffers, i),
            };
            // `f64::max` passes over NaN.
            *db = 10.0 * (square.max(FLOOR_PA2) / REFERENCE_PA2).log10();
        }
        let (g, b) = buffers.solution.input_admittance();
        let most = (g.iter().zip(b)).fold(0.0f64, |most, (g, b)| most.max(g * g + b * b));
        most.sqrt().recip()
    }

    /// The sum on the axis.
    fn add(&self, buffers: &mut BuildBuffers) {
        if self.speaker.window.is_some() {
            return;
        }
        let points = buffers.sum.len();
        buffers.sum.re.fill(0.0);
        buffers.sum.im.fill(0.0);
        for ((output, sound), &gain) in self.outputs.iter().zip(&self.sounds).zip(&buffers.gains) {
            let (plus_re, plus_im) = buffers.solution.node(output.positive);
            let (minus_re, minus_im) = buffers.solution.node(output.negative);
            for i in 0..points {
                let re = gain * (plus_re[i] - minus_re[i]);
                let im = gain * (plus_im[i] - minus_im[i]);
                buffers.sum.re[i] += re * sound.re[i] - im * sound.im[i];
                buffers.sum.im[i] += re * sound.im[i] + im * sound.re[i];
            }
        }
    }

    /// Mean square of the sum over the window.
    fn over_window(&self, buffers: &mut BuildBuffers, i: usize) -> f64 {
        buffers.heard.clear();
        for ((output, sound), &gain) in self.outputs.iter().zip(&self.sounds).zip(&buffers.gains) {
            (buffers.heard).push(gain * buffers.solution.output_at(*output, i) * sound.at(i));
        }
        self.speaker.judged_square(i, &buffers.heard)
    }
}

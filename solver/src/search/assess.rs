//! Figures of merit of a network of a job.

use netlist::network::Network;

use super::job::Job;
use crate::goal::{Figures, LoadFigures, Targets, figures};
use crate::grid::Grid;
use crate::load::{Conditions, driver_load};
use crate::nodal::{Closer, Plan, STIFF, Values};
use crate::spectrum::Spectrum;
use crate::wiring::lead_ohm;

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
    let ways = sounds(job, network)?;
    let level_db = job.aim.level.map(|level| level.0);
    let figures = figures(job.grid.f_hz(), &ways, targets, level_db);
    let closer = Closer {
        plan: &Plan::compile(network).ok()?,
        values: &Values::of(network),
        // The load is the same whatever drives it.
        drive: &STIFF,
        grid: &audio.grid,
        loads: &audio.z_ohm.iter().collect::<Vec<_>>(),
    };
    let load = LoadFigures::of(&closer, job.cable_ohm).ok().flatten()?;
    Some((figures, load))
}

/// Sound of every way at the listener, polarity included, pascal; `None` where the network cannot be solved.
pub(crate) fn sounds(job: &Job, network: &Network) -> Option<Vec<Spectrum>> {
    let plan = Plan::compile(network).ok()?;
    let closer = Closer {
        plan: &plan,
        values: &Values::of(network),
        drive: &job.drive,
        grid: &job.grid,
        loads: &job.ways.iter().map(|way| &way.z_ohm).collect::<Vec<_>>(),
    };
    let solution = closer.on_grid().ok()?;
    let ways = plan
        .driver_outputs()
        .zip(&job.ways)
        .map(|((output, inverted), way)| {
            let sign = if inverted { -1.0 } else { 1.0 };
            Spectrum::from_fn(job.grid.len(), |i| {
                solution.output_at(output, i) * way.sound.at(i) * sign
            })
        });
    Some(ways.collect())
}

/// Impedances of the ways over the audio band.
#[derive(Debug, Clone)]
pub struct AudioLoads {
    /// 20 Hz to 20 kHz.
    pub grid: Grid,
    /// One a way, ohm.
    pub z_ohm: Vec<Spectrum>,
}

/// Impedances of the ways of a project over the audio band, leads included, for the load.
#[must_use]
pub fn audio_loads(project: &netlist::project::Project, job: &Job) -> AudioLoads {
    let grid = Grid::audio_band();
    let z_ohm = (job.ways.iter())
        .map(|way| {
            let driver = &project.drivers[way.name.as_str()];
            driver_load(driver, &grid, &Conditions::default())
                .behind_lead(lead_ohm(project, &way.name))
                .z_ohm
        })
        .collect();
    AudioLoads { grid, z_ohm }
}

//! Where a network is solved, allocated once.

use super::chunk::Chunk;
use super::lanes::{LANES, Lanes, Real};
use super::plan::{Plan, PlanError};
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// What belongs to one plan on one grid with given loads, and the room in which it runs.
#[derive(Debug, Clone)]
pub struct Workspace {
    /// Angular frequencies; the last chunk is filled up with the last frequency.
    pub(crate) omega: Vec<Real>,
    pub(crate) inverse_omega: Vec<Real>,
    /// Admittance of each driver, chunk by chunk: `driver · chunks + chunk`.
    pub(crate) load_admittance: Vec<Lanes>,
    pub(crate) points: usize,
    pub(crate) chunk: Chunk,
}

/// How a run went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RunReport {
    /// Frequencies that lost accuracy without pivoting and were solved by dense LU with pivoting.
    pub dense: usize,
    /// Frequencies at which the network is a resonance without any loss, so that its voltages have
    /// no bound; solved a billionth beside.
    pub lossless: usize,
}

impl Workspace {
    /// Room to run `plan` on `grid`, with the impedance of each driver in the order of
    /// [`Plan::drivers`], in ohm.
    ///
    /// # Errors
    /// If there is not one load a driver, with one value a frequency.
    pub fn new(plan: &Plan, grid: &Grid, loads_z_ohm: &[&Spectrum]) -> Result<Self, PlanError> {
        let points = grid.len();
        let drivers = plan.drivers().len();
        let misfit = loads_z_ohm.iter().find(|z_ohm| z_ohm.len() != points);
        if loads_z_ohm.len() != drivers || misfit.is_some() {
            return Err(PlanError::WrongLoads {
                given: loads_z_ohm.len(),
                drivers,
                points: misfit.map_or(points, |z_ohm| z_ohm.len()),
                expected: points,
            });
        }
        let chunks = points.div_ceil(LANES);
        let at = |chunk: usize, lane: usize| (chunk * LANES + lane).min(points - 1);
        let omega: Vec<Real> = (0..chunks)
            .map(|chunk| std::array::from_fn(|lane| grid.omega()[at(chunk, lane)]))
            .collect();
        let inverse_omega = omega.iter().map(|omega| omega.map(f64::recip)).collect();
        let mut load_admittance = Vec::with_capacity(drivers * chunks);
        for z_ohm in loads_z_ohm {
            for chunk in 0..chunks {
                let mut lanes = Lanes::ZERO;
                for lane in 0..LANES {
                    lanes.set_lane(lane, z_ohm.at(at(chunk, lane)).inv());
                }
                load_admittance.push(lanes);
            }
        }
        Ok(Self {
            omega,
            inverse_omega,
            load_admittance,
            points,
            chunk: Chunk::new(plan),
        })
    }

    pub(crate) fn chunks(&self) -> usize {
        self.omega.len()
    }
}

//! A closer look at a network between the frequencies of its grid, where a sharp resonance may lie.

use super::{Drive, Plan, PlanError, RunReport, Solution, Values, Workspace};
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Frequencies of one closer look.
const POINTS: usize = 33;
/// Closer looks: each narrows the interval by a factor of 16.
const LOOKS: usize = 3;

/// A compiled network with its loads over a grid, between whose frequencies the loads are smooth.
#[derive(Debug, Clone, Copy)]
pub struct Closer<'a> {
    /// The network.
    pub plan: &'a Plan,
    /// Its values.
    pub values: &'a Values,
    /// The amplifier.
    pub drive: &'a Drive,
    /// The grid.
    pub grid: &'a Grid,
    /// Impedance of each driver of the network over the grid, ohm.
    pub loads: &'a [&'a Spectrum],
}

/// The network at frequencies within a short interval.
#[derive(Debug)]
pub struct Look {
    /// The frequencies.
    pub grid: Grid,
    /// The network at these.
    pub solution: Solution,
    /// Position of what was looked for.
    pub at: usize,
}

impl Closer<'_> {
    /// The network at the frequencies of the grid.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn on_grid(&self) -> Result<Solution, PlanError> {
        self.run().map(|(solution, _)| solution)
    }

    /// The same, and how the run went.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn run(&self) -> Result<(Solution, RunReport), PlanError> {
        let mut workspace = Workspace::new(self.plan, self.grid, self.loads)?;
        let mut solution = Solution::new(self.plan, &workspace);
        let report = (self.plan).run(self.values, self.drive, &mut workspace, &mut solution);
        Ok((solution, report))
    }

    /// Looks closer and closer for the most of something near position `at` of the grid, between its two
    /// neighbours; the lowest frequency among equals.
    ///
    /// # Errors
    /// If the network cannot be solved.
    ///
    /// # Panics
    /// If `at` is no position of the grid.
    pub fn look(
        &self,
        at: usize,
        most: impl Fn(&Solution, usize) -> f64,
    ) -> Result<Look, PlanError> {
        let f_hz = self.grid.f_hz();
        let mut look = self.solve(Grid::new(vec![f_hz[at]]).expect("of a grid"), &most)?;
        let last = f_hz.len() - 1;
        let mut ends = [at.saturating_sub(1), (at + 1).min(last)].map(|i| f_hz[i]);
        for _ in 0..LOOKS {
            let Ok(closer) = Grid::log_spaced(ends[0], ends[1], POINTS) else {
                break;
            };
            look = self.solve(closer, &most)?;
            let beside = [look.at.saturating_sub(1), (look.at + 1).min(POINTS - 1)];
            ends = beside.map(|i| look.grid.f_hz()[i]);
        }
        Ok(look)
    }

    fn solve(&self, grid: Grid, most: impl Fn(&Solution, usize) -> f64) -> Result<Look, PlanError> {
        let loads: Vec<Spectrum> = (self.loads.iter())
            .map(|load| between(self.grid, load, &grid))
            .collect();
        let loads: Vec<&Spectrum> = loads.iter().collect();
        let drive = Drive {
            output_impedance_ohm: (self.drive.output_impedance_ohm)
                .on(|z_ohm| between(self.grid, z_ohm, &grid)),
            ..*self.drive
        };
        let closer = Closer {
            drive: &drive,
            grid: &grid,
            loads: &loads,
            ..*self
        };
        let solution = closer.on_grid()?;
        let most = |i: usize| most(&solution, i);
        let at = (0..grid.len())
            .max_by(|&a, &b| most(a).total_cmp(&most(b)).then(b.cmp(&a)))
            .unwrap_or(0);
        Ok(Look { grid, solution, at })
    }
}

/// A smooth spectrum at other frequencies within its grid: linear in log-frequency.
fn between(grid: &Grid, spectrum: &Spectrum, closer: &Grid) -> Spectrum {
    let f_hz = grid.f_hz();
    Spectrum::from_fn(closer.len(), |i| {
        let f = closer.f_hz()[i];
        let above = f_hz.partition_point(|g| *g <= f);
        if above == 0 || above == f_hz.len() {
            return spectrum.at(above.min(f_hz.len() - 1));
        }
        let below = above - 1;
        let along = (f / f_hz[below]).ln() / (f_hz[above] / f_hz[below]).ln();
        spectrum.at(below) * (1.0 - along) + spectrum.at(above) * along
    })
}

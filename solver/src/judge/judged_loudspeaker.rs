//! A loudspeaker with what it is judged by.

use netlist::network::Network;
use netlist::project::{Aim, Project, Stock};
use netlist::quantity::Quantity;
use num_complex::Complex64;

use crate::directions::judged_over;
use crate::grid::{Grid, GridError};
use crate::loudspeaker::{Circumstances, Loudspeaker};
use crate::nodal::PlanError;
use crate::search::least_load_ohm;
use crate::sound::{Coherence, aim_at_listener};

/// A loudspeaker with what it is judged by.
#[derive(Debug, Clone)]
pub struct JudgedLoudspeaker {
    /// The loudspeaker.
    pub loudspeaker: Loudspeaker,
    /// The least load that is held, ohm; `None` where nothing limits it.
    pub least_load_ohm: Option<f64>,
    /// What is asked for, its level at the listener.
    pub aim: Aim,
    /// How the drivers add where that judges their sum; `None` on the axis.
    pub window: Option<Coherence>,
    /// What can be bought.
    pub stock: Stock,
}

impl JudgedLoudspeaker {
    /// Makes `network` ready, with the drivers and the amplifier of `project`, over `grid`.
    ///
    /// The network is given apart so that it may differ from the project's, by the resistance of its
    /// wiring for example.
    ///
    /// # Errors
    /// If the network feeds a driver that the project has not, or cannot be solved.
    pub fn new(project: &Project, network: Network, grid: Grid) -> Result<Self, PlanError> {
        let circumstances = Circumstances::default();
        let loudspeaker = Loudspeaker::of(project, network, grid, &circumstances)?;
        let least_load_ohm = least_load_ohm(project);
        Ok(Self::by(
            project,
            loudspeaker,
            least_load_ohm,
            aim_at_listener(project),
        ))
    }

    /// A loudspeaker of `project` judged by a least load and an aim that are known already.
    #[must_use]
    pub fn by(
        project: &Project,
        loudspeaker: Loudspeaker,
        least_load_ohm: Option<f64>,
        aim: Aim,
    ) -> Self {
        let fed: Vec<&str> = loudspeaker.network.driver_names().collect();
        Self {
            window: judged_over(project, &fed, &loudspeaker.grid),
            loudspeaker,
            least_load_ohm,
            aim,
            stock: project.stock.clone(),
        }
    }

    /// Mean square of the sum where it is judged, at a frequency of the grid, pascal²; `sounds` are those of the drivers at
    /// the listener, in their order.
    #[must_use]
    pub fn judged_square(&self, i: usize, sounds: &[Complex64]) -> f64 {
        Coherence::judged(self.window.as_ref(), i, sounds)
    }

    /// The same over another grid.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn over(&self, project: &Project, grid: Grid) -> Result<Self, PlanError> {
        let network = self.loudspeaker.network.clone();
        let loudspeaker = Loudspeaker::of(project, network, grid, &Circumstances::default())?;
        let aim = self.aim.clone();
        Ok(Self::by(project, loudspeaker, self.least_load_ohm, aim))
    }

    /// The grid on which the sum and the load are judged: 200 points over the aim's band, and the rest
    /// of the audio band more thinly.
    ///
    /// # Errors
    /// If the aim's band is no band.
    pub fn aim_grid(aim: &Aim) -> Result<Grid, GridError> {
        crate::search::aim_grid(aim.from.si(), aim.to.si())
    }
}

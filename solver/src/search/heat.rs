//! Resistors that burn, as the search counts them.

use netlist::network::{Network, PartKind};
use netlist::project::Project;
use netlist::quantity::Quantity;

use super::worth::PART_WORTH;
use crate::amplifier::nominal_output_ohm;
use crate::goal::Objective;
use crate::grid::Grid;
use crate::load::REFERENCE_V;
use crate::programme::{Loudness, power_weights};

/// What a resistor adds to the goal with each doubling of its heat beyond what it is rated for: as much as two parts
/// more. A larger one can be bought, so that it is not worth much error.
const A_DOUBLING: f64 = 2.0 * PART_WORTH;

/// What resistors must stand: programme noise at the amplifier's rated power.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// Share of the programme's power at every frequency of the grid.
    weights: Vec<f64>,
    /// Square of the amplifier's voltage over the reference.
    gain_square: f64,
    /// Power for which the stock's resistors are rated, W.
    rated_w: Option<f64>,
}

impl Heat {
    /// For the amplifier and the stock of a project; `None` where the amplifier's power is not stated.
    #[must_use]
    pub fn new(project: &Project, grid: &Grid) -> Option<Self> {
        let loudness = Loudness::of(&project.amplifier);
        let output_ohm = nominal_output_ohm(&project.amplifier);
        let gain = loudness.open_circuit_v(output_ohm) / REFERENCE_V;
        let stock = project.stock.resistors.as_ref();
        loudness.stated.then(|| Self {
            weights: power_weights(grid),
            gain_square: gain * gain,
            rated_w: stock.and_then(|range| range.power).map(Quantity::si),
        })
    }

    /// The same on another grid.
    #[must_use]
    pub fn on(&self, grid: &Grid) -> Self {
        Self {
            weights: power_weights(grid),
            ..self.clone()
        }
    }

    /// What the resistors of `network` add to the goal, solved at the point that `objective` was last asked
    /// about.
    #[must_use]
    pub fn cost(&self, network: &Network, objective: &Objective) -> f64 {
        let parts = network.parts().values();
        let costs = parts.map(|part| {
            let PartKind::Resistor {
                resistance,
                between,
            } = &part.kind
            else {
                return 0.0;
            };
            let Some(rated_w) = part.power.map(Quantity::si).or(self.rated_w) else {
                return 0.0;
            };
            let square_v = self.gain_square * objective.mean_square(*between, &self.weights);
            let power_w = square_v / resistance.si();
            A_DOUBLING * (power_w / rated_w).log2().max(0.0)
        });
        costs.sum()
    }
}

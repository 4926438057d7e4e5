//! How loud programme and sine are: what an amplifier is rated for.

use netlist::project::Amplifier;
use netlist::quantity::Quantity;
use num_complex::Complex64;
use serde::Serialize;

use crate::amplifier::open_circuit_v;

/// Load to which a power refers where the amplifier states none, ohm: the usual rated load.
const USUAL_LOAD_OHM: f64 = 8.0;

/// How loud the two signals are.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Loudness {
    /// Power into `load_ohm`, W.
    pub power_w: f64,
    /// The load to which the power refers, ohm.
    pub load_ohm: f64,
    /// Whether the project states the power. Where it does not, 1 W is taken: powers grow with the
    /// amplifier's, voltages and currents with its root.
    pub stated: bool,
}

impl Loudness {
    /// The amplifier's rated power into its rated load.
    #[must_use]
    pub fn of(amplifier: &Amplifier) -> Self {
        Self {
            power_w: amplifier.rated_power.map_or(1.0, Quantity::si),
            load_ohm: amplifier.rated_load.map_or(USUAL_LOAD_OHM, Quantity::si),
            stated: amplifier.rated_power.is_some(),
        }
    }

    /// Open-circuit voltage, rms, of an amplifier that gives this power to this load through its own
    /// output impedance, ohm.
    #[must_use]
    pub fn open_circuit_v(&self, output_ohm: Complex64) -> f64 {
        open_circuit_v(self.power_w, self.load_ohm, output_ohm)
    }
}

//! Part values in the form that the plan runs on.

use netlist::network::{Network, PartKind};
use netlist::quantity::Quantity;

/// Values of all parts of a network, by position of the part.
///
/// What the two numbers of a part mean:
///
/// | part | `value` | `loss` |
/// |---|---|---|
/// | resistor | resistance, Ω | – |
/// | inductor | inductance, H | coil resistance, Ω |
/// | capacitor | capacitance, F | equivalent series resistance, Ω |
/// | autoformer | inductance of the whole winding, H | its resistance, Ω |
/// | coupling | coupling factor | – |
/// | driver | – | – |
///
/// Where there is nothing to say the number is 1 (value) or 0 (loss).
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    /// The value of each part.
    pub value: Vec<f64>,
    /// The loss of each part.
    pub loss: Vec<f64>,
}

impl Values {
    /// The values that the network states.
    #[must_use]
    pub fn of(network: &Network) -> Self {
        let (value, loss) = network
            .parts()
            .values()
            .map(|part| match &part.kind {
                PartKind::Resistor { resistance, .. } => (resistance.si(), 0.0),
                PartKind::Inductor {
                    inductance, dcr, ..
                }
                | PartKind::Autoformer {
                    inductance, dcr, ..
                } => (inductance.si(), dcr.si()),
                PartKind::Capacitor {
                    capacitance, esr, ..
                } => (capacitance.si(), esr.si()),
                PartKind::Coupling { factor, .. } => (*factor, 0.0),
                PartKind::Driver { .. } => (1.0, 0.0),
            })
            .unzip();
        Self { value, loss }
    }
}

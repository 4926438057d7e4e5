//! The values of a network that a search may move: which, within what, and with what losses.

use netlist::network::{Network, PartKind};
use netlist::project::StockKind;
use netlist::quantity::{Farads, Henries, Ohms};

use super::job::Job;
use crate::goal::Variable;
use crate::nodal::Values;
use crate::stock::{loss_law, stated, stock_kind, value_bounds};

/// The variables of a network, with bounds of their logarithms.
pub(crate) fn variables(job: &Job, network: &Network) -> (Vec<Variable>, Vec<f64>, Vec<f64>) {
    let mut variables = Vec::new();
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    for (index, part) in network.parts().values().enumerate() {
        let Some(kind) = stock_kind(&part.kind) else {
            continue;
        };
        if part.fixed {
            continue;
        }
        let (least, most) = value_bounds(&job.stock, kind);
        variables.push(Variable {
            part: index,
            law: loss_law(&job.stock, kind),
        });
        lower.push(least.ln());
        upper.push(most.ln());
    }
    (variables, lower, upper)
}

/// Gives every part the loss that its kind of stock has at its value.
pub(crate) fn set_losses(job: &Job, network: &mut Network) {
    let esr = job
        .stock
        .range(StockKind::Capacitor)
        .esr
        .unwrap_or(Ohms(0.0));
    let law = loss_law(&job.stock, StockKind::Inductor);
    for part in network.parts_mut().values_mut() {
        match &mut part.kind {
            PartKind::Capacitor { esr: own, .. } => *own = esr,
            PartKind::Inductor {
                inductance, dcr, ..
            } => *dcr = Ohms(law.loss(inductance.0, dcr.0)),
            _ => {}
        }
    }
}

/// Puts a value into a part.
pub(crate) fn set_value(kind: &mut PartKind, value: f64, loss: f64) {
    match kind {
        PartKind::Resistor { resistance, .. } => *resistance = Ohms(value),
        PartKind::Inductor {
            inductance, dcr, ..
        }
        | PartKind::Autoformer {
            inductance, dcr, ..
        } => {
            *inductance = Henries(value);
            *dcr = Ohms(loss);
        }
        PartKind::Capacitor {
            capacitance, esr, ..
        } => {
            *capacitance = Farads(value);
            *esr = Ohms(loss);
        }
        PartKind::Coupling { factor, .. } => *factor = value,
        PartKind::Driver { .. } => {}
    }
}

/// Puts values and losses into all parts.
pub(crate) fn put_values(network: &mut Network, values: &Values) {
    let parts = network.parts_mut().values_mut();
    for (part, (&value, &loss)) in parts.zip(values.value.iter().zip(&values.loss)) {
        set_value(&mut part.kind, value, loss);
    }
}

/// Rounds the values and losses of all parts that a search has moved.
pub(crate) fn round_parts(network: &mut Network) {
    for part in network.parts_mut().values_mut().filter(|part| !part.fixed) {
        // An autoformer is as it was bought.
        if let (Some(_), Some(value_si)) = (stock_kind(&part.kind), part.value_si()) {
            let loss_ohm = part.loss_ohm().unwrap_or(0.0);
            set_value(
                &mut part.kind,
                stated::value(value_si),
                stated::loss(loss_ohm),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Parts of every kind.
    const PARTS: &str = r#"
[drivers.low]
modelled = { re = "6 ohm", level = "90 dB", horn = { cutoff = "300 Hz" } }
[parts]
R1 = { resistor = "1 ohm", between = ["in", "a"] }
L1 = { inductor = "1 mH", between = ["a", "b"], dcr = "0.2 ohm" }
L2 = { inductor = "2 mH", between = ["a", "gnd"], dcr = "0.3 ohm" }
K1 = { coupling = ["L1", "L2"], factor = 0.02 }
C1 = { capacitor = "10 uF", between = ["b", "gnd"], esr = "20 mohm" }
T1 = { autoformer = "40 mH", between = ["b", "gnd"], taps = { c = 0.5 }, coupling = 0.999, dcr = "0.4 ohm" }
LOW = { driver = "low", between = ["c", "gnd"] }
"#;

    /// What varies from build to build is put in here: what is not taken does not vary.
    #[test]
    fn values_of_every_kind_of_part_are_taken() {
        let read = |_: &std::path::Path| Ok(PARTS.as_bytes().to_vec());
        let loaded = netlist::project::load_from(&read, std::path::Path::new("all.toml"));
        let mut network = loaded.unwrap().project.network.unwrap();
        let mut values = Values::of(&network);
        for (part, number) in network.parts().values().zip(0..) {
            if !matches!(part.kind, PartKind::Driver { .. }) {
                values.value[number] *= 1.25;
                values.loss[number] *= 1.5;
            }
        }
        put_values(&mut network, &values);
        assert_eq!(Values::of(&network), values);
    }
}

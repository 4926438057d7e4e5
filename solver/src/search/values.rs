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
        _ => {}
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
        if let Some(value_si) = part.value_si() {
            let loss_ohm = part.loss_ohm().unwrap_or(0.0);
            set_value(
                &mut part.kind,
                stated::value(value_si),
                stated::loss(loss_ohm),
            );
        }
    }
}

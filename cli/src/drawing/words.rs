//! The picture in words, for those who do not see it.

use crate::words::tap_words;
use netlist::network::{Network, PartKind};

/// Every part in a sentence, in the builder's order.
pub(super) fn description(network: &Network) -> String {
    let mut sentences = Vec::with_capacity(network.parts().len());
    for (name, part) in network.parts() {
        let value = (part.kind.dimension().zip(part.value_si()))
            .map_or(String::new(), |(dimension, si)| dimension.show(si));
        let what = match &part.kind {
            PartKind::Resistor { .. } => format!("resistor {value}"),
            PartKind::Inductor { .. } => format!("coil {value}"),
            PartKind::Capacitor { .. } => format!("capacitor {value}"),
            PartKind::Autoformer { taps, .. } => {
                let taps: Vec<String> = (taps.iter())
                    .map(|tap| {
                        format!(
                            "{} at {}",
                            network.node_name(tap.node),
                            tap_words(tap.ratio)
                        )
                    })
                    .collect();
                format!("autoformer {value} with taps {}", taps.join(", "))
            }
            PartKind::Coupling { inductors, factor } => {
                let [one, two] = inductors;
                sentences.push(format!(
                    "{name}: coupling of {one} and {two}, k = {factor}."
                ));
                continue;
            }
            PartKind::Driver {
                driver,
                between,
                inverted,
            } => {
                let plus = network.node_name(between[usize::from(*inverted)]);
                format!("driver {driver} with its + at {plus}")
            }
        };
        let between = part.kind.between().unwrap_or_default();
        let [from, to] = between.map(|node| network.node_name(node));
        sentences.push(format!("{name}: {what}, from {from} to {to}."));
    }
    sentences.join(" ")
}

//! What of a network can be moved onto a stock, and how a choice is put into it.

use netlist::network::{Network, PartKind};
use netlist::project::StockKind;
use netlist::quantity::{Amperes, Volts, Watts};

use crate::nodal::Values;
use crate::search::job::Job;
use crate::search::values::set_value;
use crate::stock::{Choice, PartChoices, part_choices, stock_kind};

/// Parts that can be moved, those that keep their values, and the network with coils that are coupled
/// on their nearest values: coupled coils are not exchanged one by one.
pub(super) fn movable(
    job: &Job,
    network: &Network,
    window: usize,
    joined: bool,
) -> (Vec<PartChoices>, Vec<usize>, Network) {
    let values = Values::of(network);
    let coupled: Vec<&String> = (network.parts().values())
        .filter_map(|part| match &part.kind {
            PartKind::Coupling { inductors, .. } => Some(inductors),
            _ => None,
        })
        .flatten()
        .collect();
    let mut moved = network.clone();
    let (mut parts, mut kept) = (Vec::new(), Vec::new());
    for (index, (name, part)) in network.parts().iter().enumerate() {
        let Some(kind) = stock_kind(&part.kind) else {
            continue;
        };
        let (value, loss) = (values.value[index], values.loss[index]);
        let choices = (!part.fixed)
            .then(|| part_choices(&job.stock, index, kind, value, loss, window))
            .flatten();
        let choices = choices.map(|all| if joined { all } else { all.singles() });
        match choices {
            None => kept.push(index),
            Some(choices) if coupled.contains(&name) => {
                put(job, &mut moved, index, &choices.choices[choices.nearest]);
                kept.push(index);
            }
            Some(choices) => parts.push(choices),
        }
    }
    (parts, kept, moved)
}

/// Puts a choice into a network.
pub(super) fn put(job: &Job, network: &mut Network, part: usize, choice: &Choice) {
    let part = &mut network.parts_mut()[part];
    set_value(&mut part.kind, choice.value_si, choice.loss_ohm);
    part.made_of.clone_from(&choice.made_of);
    // What a line of the catalogue says goes with its part; a series speaks for itself in the stock.
    let [(line, _)] = choice.items[..] else {
        (part.tolerance, part.power, part.voltage, part.current) = (None, None, None, None);
        return;
    };
    let item = &job.stock.catalogue[line];
    let single = choice.made_of.is_none();
    part.tolerance = item.tolerance.filter(|_| single);
    let rating = item.rating.filter(|_| single);
    match item.kind {
        StockKind::Resistor => part.power = rating.map(Watts),
        StockKind::Capacitor => part.voltage = rating.map(Volts),
        StockKind::Inductor => part.current = rating.map(Amperes),
    }
}

//! The drawn network with a mistake in it, as a network of its own.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::quantity::Ohms;

use super::bench::Bench;
use super::hypothesis::BuiltChange;
use crate::nodal::Values;

/// What does not conduct still has this, ohm.
pub(super) const OPEN_OHM: f64 = 1e8;
/// What bridges has this, ohm: a drop of solder or a short wire.
pub(super) const SHORT_OHM: f64 = 5e-3;

/// What is at a driver's place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Load {
    /// The driver that is there; none where nothing conducts.
    pub(super) driver: Option<usize>,
    /// How many times as high its impedance is.
    pub(super) factor: f64,
    /// How many times as high its box is tuned.
    pub(super) tuning: f64,
}

/// The drawn network with changes, as a network of its own, its values, and its loads.
pub(super) fn changed(
    network: &Network,
    values: &Values,
    drivers: &[Option<usize>],
    changes: &[BuiltChange],
) -> (Network, Values, Vec<Load>) {
    let mut network = network.clone();
    let mut values = values.clone();
    let mut loads: Vec<Load> = (drivers.iter().flatten())
        .map(|&driver| Load {
            driver: Some(driver),
            factor: 1.0,
            tuning: 1.0,
        })
        .collect();
    for &change in changes {
        match change {
            BuiltChange::Open(part) => match drivers[part] {
                Some(driver) => loads[driver].driver = None,
                None => open(&network.parts()[part].kind, part, &mut values),
            },
            BuiltChange::Short(part) => {
                let between = network.parts()[part].kind.between().unwrap_or_default();
                let mut name = format!(
                    "bridge over {}",
                    network.parts().get_index(part).map_or("", |p| p.0)
                );
                while network.parts().contains_key(&name) {
                    name.push('\'');
                }
                network.insert(
                    name,
                    Part::new(PartKind::Resistor {
                        resistance: Ohms(SHORT_OHM),
                        between,
                    }),
                );
                values.value.push(SHORT_OHM);
                values.loss.push(0.0);
            }
            BuiltChange::Value(part, value) => values.value[part] = value,
            BuiltChange::Loss(part, ohm) => values.loss[part] = ohm,
            BuiltChange::Impedance(part, factor) => {
                if let Some(driver) = drivers[part] {
                    loads[driver].factor *= factor;
                }
            }
            BuiltChange::Tuning(part, factor) => {
                if let Some(driver) = drivers[part] {
                    loads[driver].tuning *= factor;
                }
            }
            BuiltChange::Exchange(one, other) => match (drivers[one], drivers[other]) {
                (Some(one), Some(other)) => loads.swap(one, other),
                _ => {
                    values.value.swap(one, other);
                    values.loss.swap(one, other);
                }
            },
            BuiltChange::Move(part, to) => move_to(&mut network.parts_mut()[part].kind, to),
        }
    }
    (network, values, loads)
}

fn open(kind: &PartKind, part: usize, values: &mut Values) {
    match kind {
        PartKind::Resistor { .. } => values.value[part] = OPEN_OHM,
        _ => values.loss[part] = OPEN_OHM,
    }
}

fn move_to(kind: &mut PartKind, to: [usize; 2]) {
    match kind {
        PartKind::Resistor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Autoformer { between, .. }
        | PartKind::Driver { between, .. } => *between = to.map(NodeId),
        PartKind::Coupling { .. } => {}
    }
}

/// The drawn network with changes as a builder would write it: without the drivers that nothing reaches.
pub(super) fn as_written(bench: &Bench, changes: &[BuiltChange]) -> Network {
    let (mut network, values, loads) =
        changed(&bench.network, &bench.values, &bench.driver_of, changes);
    let names: Vec<String> = bench.plan.drivers().to_vec();
    let mut place = 0;
    let mut gone = Vec::new();
    let numbers = values.value.iter().zip(&values.loss);
    for ((name, part), (value, loss)) in network.parts_mut().iter_mut().zip(numbers) {
        match &mut part.kind {
            PartKind::Resistor { resistance, .. } => resistance.0 = *value,
            PartKind::Inductor {
                inductance, dcr, ..
            }
            | PartKind::Autoformer {
                inductance, dcr, ..
            } => {
                (inductance.0, dcr.0) = (*value, *loss);
            }
            PartKind::Capacitor {
                capacitance, esr, ..
            } => {
                (capacitance.0, esr.0) = (*value, *loss);
            }
            PartKind::Coupling { .. } => {}
            PartKind::Driver { driver, .. } => {
                match loads[place].driver {
                    Some(number) => *driver = names[number].clone(),
                    None => gone.push(name.clone()),
                }
                place += 1;
            }
        }
    }
    for name in gone {
        network.parts_mut().shift_remove(&name);
    }
    network
}

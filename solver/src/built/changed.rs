//! The drawn network with a mistake in it, as a network of its own.

use netlist::network::{Network, NodeId, Part, PartKind, primed_name};
use netlist::quantity::Ohms;

use super::bench::Bench;
use super::hypothesis::BuiltChange;
use crate::nodal::Values;
use crate::search::put_values;

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
                let part = network.parts().get_index(part).map_or("", |p| p.0);
                let name = primed_name(&format!("bridge over {part}"), |name| {
                    network.parts().contains_key(name)
                });
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
            BuiltChange::Move(part, to) => {
                let ends = network.parts_mut()[part].kind.nodes_mut().into_iter();
                // Taps come after the ends and stay.
                ends.zip(to).for_each(|(node, to)| *node = NodeId(to));
            }
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

/// The drawn network with changes as a builder would write it: without the drivers that nothing reaches.
pub(super) fn as_written(bench: &Bench, changes: &[BuiltChange]) -> Network {
    let (mut network, values, loads) =
        changed(&bench.network, &bench.values, &bench.driver_of, changes);
    put_values(&mut network, &values);
    let names = bench.plan.drivers();
    let mut gone = Vec::new();
    let drivers =
        (network.parts_mut().iter_mut()).filter_map(|(name, part)| match &mut part.kind {
            PartKind::Driver { driver, .. } => Some((name, driver)),
            _ => None,
        });
    for ((name, driver), load) in drivers.zip(&loads) {
        match load.driver {
            Some(number) => driver.clone_from(&names[number]),
            None => gone.push(name.clone()),
        }
    }
    for name in gone {
        network.parts_mut().shift_remove(&name);
    }
    network
}

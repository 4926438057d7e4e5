//! Changes of a build, made in its network and its loads by hand.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::quantity::Ohms;
use num_complex::Complex64;
use solver::built::BuiltChange;

use crate::planted::{set_loss, set_value};

/// What `changes` make of a network and its loads.
///
/// # Panics
/// Where a change is none of the network.
pub fn by_hand(network: &mut Network, loads: &mut [Vec<Complex64>], changes: &[BuiltChange]) {
    for change in changes {
        let driver = |network: &Network, part: usize| {
            let parts = network.parts().values().take(part + 1);
            let drivers = parts
                .filter(|p| matches!(p.kind, PartKind::Driver { .. }))
                .count();
            matches!(network.parts()[part].kind, PartKind::Driver { .. }).then(|| drivers - 1)
        };
        match *change {
            BuiltChange::Open(part) => match driver(network, part) {
                Some(driver) => loads[driver].fill(Complex64::new(1e9, 0.0)),
                None if network.parts()[part].loss_ohm().is_some() => {
                    set_loss(&mut network.parts_mut()[part], 1e9);
                }
                None => {
                    let between = network.parts()[part].kind.between().unwrap();
                    network.parts_mut()[part].kind = PartKind::Resistor {
                        resistance: Ohms(1e9),
                        between,
                    };
                }
            },
            BuiltChange::Short(part) => {
                let between = network.parts()[part].kind.between().unwrap();
                let resistance = Ohms(5e-3);
                network.insert(
                    "wire",
                    Part::new(PartKind::Resistor {
                        resistance,
                        between,
                    }),
                );
            }
            BuiltChange::Value(part, value) => set_value(&mut network.parts_mut()[part], value),
            BuiltChange::Loss(part, ohm) => set_loss(&mut network.parts_mut()[part], ohm),
            BuiltChange::Impedance(part, factor) => {
                let driver = driver(network, part).unwrap();
                loads[driver].iter_mut().for_each(|z| *z *= factor);
            }
            BuiltChange::Tuning(..) => unreachable!("not of the network"),
            BuiltChange::Exchange(one, other) => {
                match (driver(network, one), driver(network, other)) {
                    (Some(one), Some(other)) => loads.swap(one, other),
                    _ => {
                        let numbers = [one, other].map(|p| {
                            let part = &network.parts()[p];
                            (part.value_si().unwrap(), part.loss_ohm())
                        });
                        for (part, (value, loss)) in [(one, numbers[1]), (other, numbers[0])] {
                            set_value(&mut network.parts_mut()[part], value);
                            if let Some(loss) = loss {
                                set_loss(&mut network.parts_mut()[part], loss);
                            }
                        }
                    }
                }
            }
            BuiltChange::Move(part, to) => match &mut network.parts_mut()[part].kind {
                PartKind::Resistor { between, .. }
                | PartKind::Inductor { between, .. }
                | PartKind::Capacitor { between, .. }
                | PartKind::Driver { between, .. } => *between = to.map(NodeId),
                _ => unreachable!("not moved here"),
            },
        }
    }
}

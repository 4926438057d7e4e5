//! What varies from build to build, and by how much.

use netlist::network::{Network, Part, PartKind};
use netlist::project::Stock;
use serde::Serialize;

use crate::coil::DCR_EXPONENT;
use crate::nodal::Values;
use crate::stock::{Origin, tolerance};

/// How much something varies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// A part's value, by ± this share of it.
    Share(f64),
    /// A driver's level, by ± this many dB.
    LevelDb(f64),
}

/// One thing that varies, independently of the others.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Varying {
    /// Name of the part or of the driver.
    pub(crate) name: String,
    /// Its tolerance; the greatest of its pieces' where it is made of several.
    pub(crate) amount: Amount,
    pub(crate) origin: Origin,
    pub(crate) target: VaryingTarget,
    /// What is drawn at random for it, one number each.
    pub(crate) pieces: Vec<VaryingPiece>,
}

/// What a [`Varying`] moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum VaryingTarget {
    /// A part's value.
    Part {
        /// Position in the network.
        part: usize,
        /// Whether its loss follows its value: a coil that stands alone.
        loss_follows: bool,
        /// Whether the inverses of its pieces add up, not they themselves.
        harmonic: bool,
    },
    /// A driver's level.
    Driver {
        /// Position among the drivers.
        driver: usize,
    },
}

/// One bought piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct VaryingPiece {
    /// Share of the whole: of the value, or of its inverse where inverses add up. All add up to 1.
    pub(crate) share: f64,
    /// Tolerance: a share of its value, or dB for a driver.
    pub(crate) tolerance: f64,
}

impl Varying {
    /// The deviation of the whole for deviations of its pieces in units of their tolerance: a share of
    /// the value, or dB for a driver.
    pub(crate) fn deviation(&self, units: &[f64], scale: f64) -> f64 {
        let pieces = self.pieces.iter().zip(units);
        match self.target {
            VaryingTarget::Driver { .. } => pieces.map(|(p, u)| scale * p.tolerance * u).sum(),
            VaryingTarget::Part {
                harmonic: false, ..
            } => pieces.map(|(p, u)| p.share * scale * p.tolerance * u).sum(),
            VaryingTarget::Part { harmonic: true, .. } => {
                let inverse: f64 = pieces
                    .map(|(p, u)| p.share / (1.0 + scale * p.tolerance * u))
                    .sum();
                1.0 / inverse - 1.0
            }
        }
    }

    /// Puts a deviation of a part into values: its value as drawn, and its loss where that follows.
    pub(crate) fn put(&self, deviation: f64, drawn: &Values, into: &mut Values) {
        if let VaryingTarget::Part {
            part, loss_follows, ..
        } = self.target
        {
            let factor = 1.0 + deviation;
            into.value[part] = drawn.value[part] * factor;
            if loss_follows {
                into.loss[part] = drawn.loss[part] * factor.powf(DCR_EXPONENT);
            }
        }
    }

    /// Variance of the whole to first order, for a variance of `unit` of every piece in units of its
    /// tolerance.
    pub(super) fn variance(&self, unit: f64) -> f64 {
        let part = matches!(self.target, VaryingTarget::Part { .. });
        let squares = self.pieces.iter().map(|piece| {
            let share = if part { piece.share } else { 1.0 };
            (share * piece.tolerance).powi(2)
        });
        unit * squares.sum::<f64>()
    }
}

/// Everything that varies: parts in their order, then drivers.
pub(crate) fn varying(network: &Network, stock: &Stock, driver_level_db: f64) -> Vec<Varying> {
    let mut list: Vec<Varying> = (network.parts().iter().enumerate())
        .filter_map(|(index, (name, part))| {
            let loss_follows =
                matches!(part.kind, PartKind::Inductor { .. }) && !network.is_coupled(name);
            let (pieces, harmonic) = pieces(part, stock)?;
            let (amount, origin) = (pieces.iter().copied())
                .map(|(piece, origin)| (piece.tolerance, origin))
                .max_by(|a, b| a.0.total_cmp(&b.0))?;
            Some(Varying {
                name: name.clone(),
                amount: Amount::Share(amount),
                origin,
                target: VaryingTarget::Part {
                    part: index,
                    loss_follows,
                    harmonic,
                },
                pieces: pieces.into_iter().map(|(piece, _)| piece).collect(),
            })
        })
        .collect();
    let drivers = network.driver_names().enumerate();
    list.extend(drivers.map(|(driver, name)| Varying {
        name: name.to_owned(),
        amount: Amount::LevelDb(driver_level_db),
        origin: Origin::Setting,
        target: VaryingTarget::Driver { driver },
        pieces: vec![VaryingPiece {
            share: 1.0,
            tolerance: driver_level_db,
        }],
    }));
    list
}

/// The pieces that a part is bought as, each with where its tolerance is from, and whether their inverses add up;
/// `None` of what has no value.
fn pieces(part: &Part, stock: &Stock) -> Option<(Vec<(VaryingPiece, Origin)>, bool)> {
    let capacitor = matches!(part.kind, PartKind::Capacitor { .. });
    let made_of = part.pieces();
    let harmonic = made_of.is_some_and(|m| !m.joined.adds_up(capacitor));
    let shares = made_of.map_or(vec![1.0], |m| m.shares(capacitor));
    let pieces: Vec<_> = (part.pieces_si().into_iter().zip(shares))
        .map(|(value_si, share)| {
            let (tolerance, origin) = tolerance(part, value_si, stock);
            (VaryingPiece { share, tolerance }, origin)
        })
        .collect();
    (!pieces.is_empty()).then_some((pieces, harmonic))
}

#[cfg(test)]
mod tests {
    use netlist::network::{Joined, MadeOf, NodeId};
    use netlist::project::{CatalogueItem, StockKind};
    use netlist::quantity::{Farads, Fraction, Ohms};

    use super::*;

    /// Joined pieces of unlike tolerance, against the value of the circuit with each piece at its own.
    #[test]
    fn joined_pieces_vary_as_their_circuit_does() {
        let between = [NodeId(1), NodeId(0)];
        let capacitor = PartKind::Capacitor {
            capacitance: Farads(0.0),
            esr: Ohms(0.0),
            between,
        };
        let resistor = PartKind::Resistor {
            resistance: Ohms(0.0),
            between,
        };
        for (kind, stocked, joined, adds) in [
            (&capacitor, StockKind::Capacitor, Joined::Parallel, true),
            (&capacitor, StockKind::Capacitor, Joined::Series, false),
            (&resistor, StockKind::Resistor, Joined::Series, true),
            (&resistor, StockKind::Resistor, Joined::Parallel, false),
        ] {
            let (values, tolerances) = ([9e-6, 1e-6], [0.1, 0.01]);
            let whole = |values: [f64; 2]| match adds {
                true => values[0] + values[1],
                false => values[0] * values[1] / (values[0] + values[1]),
            };
            let line = |i: usize| CatalogueItem {
                tolerance: Some(Fraction(tolerances[i])),
                ..CatalogueItem::of(stocked, values[i], None)
            };
            let stock = Stock {
                catalogue: vec![line(0), line(1)],
                ..Stock::default()
            };
            let part = Part {
                made_of: Some(MadeOf {
                    joined,
                    values: values.to_vec(),
                }),
                ..Part::new(kind.clone())
            };
            let (pieces, harmonic) = pieces(&part, &stock).unwrap();
            let varying = Varying {
                name: String::new(),
                amount: Amount::Share(0.1),
                origin: Origin::Catalogue,
                target: VaryingTarget::Part {
                    part: 0,
                    loss_follows: false,
                    harmonic,
                },
                pieces: pieces.into_iter().map(|(piece, _)| piece).collect(),
            };
            for units in [[1.0, 0.0], [0.0, -1.0], [0.7, 0.4]] {
                let moved = [0, 1].map(|i| values[i] * (1.0 + tolerances[i] * units[i]));
                let deviation = whole(moved) / whole(values) - 1.0;
                let found = varying.deviation(&units, 1.0);
                assert!(
                    (found - deviation).abs() < 1e-12,
                    "{joined:?} {units:?}: {found} {deviation}"
                );
            }
        }
    }
}

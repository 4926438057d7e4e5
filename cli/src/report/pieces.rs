//! Names of the pieces that a part is made of, as they are soldered and labelled.

use netlist::network::{Joined, Part, PartKind};
use solver::stock::stock_kind;

/// A piece that is bought: `R1`, or `C3a` of a part that is made of several.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Piece {
    pub(crate) name: String,
    pub(crate) value: String,
    /// DCR or ESR of a part that is one piece, ohm.
    pub(crate) loss_ohm: Option<f64>,
}

/// How the pieces of a part are called and joined.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Pieces {
    One,
    SideBySide(Vec<String>),
    InARow(Vec<String>),
}

/// Names of the pieces of a part.
pub(crate) fn pieces_named(name: &str, part: &Part) -> Pieces {
    let Some(made_of) = part
        .made_of
        .as_ref()
        .filter(|made_of| made_of.values.len() > 1)
    else {
        return Pieces::One;
    };
    let names = (0..made_of.values.len()).map(|i| format!("{name}{}", letter(i)));
    match made_of.joined {
        Joined::Parallel => Pieces::SideBySide(names.collect()),
        Joined::Series => Pieces::InARow(names.collect()),
    }
}

/// The pieces that a part is bought as; none for a driver or a coupling.
pub(crate) fn pieces_of(name: &str, part: &Part) -> Vec<Piece> {
    let kind = stock_kind(&part.kind);
    match (pieces_named(name, part), &part.made_of, kind) {
        (Pieces::SideBySide(names) | Pieces::InARow(names), Some(made_of), Some(kind)) => {
            (names.into_iter().zip(&made_of.values))
                .map(|(name, &value)| Piece {
                    name,
                    value: kind.show(value),
                    loss_ohm: None,
                })
                .collect()
        }
        _ => {
            let value = match (&part.kind, kind) {
                (PartKind::Autoformer { inductance, .. }, _) => Some(inductance.to_string()),
                (_, Some(kind)) => part.value_si().map(|value| kind.show(value)),
                _ => None,
            };
            (value.into_iter())
                .map(|value| Piece {
                    name: name.to_owned(),
                    value,
                    loss_ohm: part.loss_ohm(),
                })
                .collect()
        }
    }
}

/// What tells the pieces of a part apart: `a`, `b`.
pub(super) fn letter(i: usize) -> char {
    char::from(b'a' + (i % 26) as u8)
}

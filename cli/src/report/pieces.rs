//! Names of the pieces that a part is made of, as they are soldered and labelled.

use netlist::network::{Joined, Network, Part};

/// A piece that is bought: `R1`, or `C3a` of a part that is made of several.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Piece {
    pub(crate) name: String,
    pub(crate) value: String,
    /// Ohm, henry or farad.
    pub(crate) value_si: f64,
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
    let Some(made_of) = part.several() else {
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
    let Some(dimension) = part.kind.dimension() else {
        return Vec::new();
    };
    let (names, loss_ohm) = match pieces_named(name, part) {
        Pieces::One => (vec![name.to_owned()], part.loss_ohm()),
        Pieces::SideBySide(names) | Pieces::InARow(names) => (names, None),
    };
    (names.into_iter().zip(part.pieces_si()))
        .map(|(name, value_si)| Piece {
            name,
            value: dimension.show(value_si),
            value_si,
            loss_ohm,
        })
        .collect()
}

/// All pieces of a network, each with the part that it belongs to.
pub(crate) fn all(network: &Network) -> Vec<(&str, Piece)> {
    let of = |(name, part): (&'_ String, &Part)| pieces_of(name, part);
    (network.parts().iter())
        .flat_map(|part| of(part).into_iter().map(|piece| (part.0.as_str(), piece)))
        .collect()
}

/// What tells the pieces of a part apart: `a`, `b`.
pub(super) fn letter(i: usize) -> char {
    char::from(b'a' + (i % 26) as u8)
}

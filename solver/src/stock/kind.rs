//! The kind of stock of a part, within what its values lie, and what its loss does when they move.

use netlist::network::PartKind;
use netlist::project::{Stock, StockKind};
use netlist::quantity::Quantity;

use crate::coil::{DCR_EXPONENT, air_coil_dcr_ohm};
use crate::goal::ValueLaw;

/// Bare diameter of the wire of air-core coils where the brief says nothing of coils (common
/// practice for loudspeakers).
const USUAL_WIRE_M: f64 = 1.25e-3;

/// Kind of stock that a part is bought from; `None` for drivers, couplings and autoformers.
#[must_use]
pub fn stock_kind(kind: &PartKind) -> Option<StockKind> {
    match kind {
        PartKind::Resistor { .. } => Some(StockKind::Resistor),
        PartKind::Inductor { .. } => Some(StockKind::Inductor),
        PartKind::Capacitor { .. } => Some(StockKind::Capacitor),
        _ => None,
    }
}

/// Bounds within which a kind of part can be bought, in SI.
#[must_use]
pub fn value_bounds(stock: &Stock, kind: StockKind) -> (f64, f64) {
    let range = stock.range(kind);
    let listed = stock.items(kind).map(|item| item.value_si);
    let (least, most) = listed.fold((f64::INFINITY, 0.0f64), |(a, b), v| (a.min(v), b.max(v)));
    if most > 0.0 {
        return (least, most);
    }
    // A range nobody stated is wider than what is ever wound or sold for a loudspeaker.
    let usual = match kind {
        StockKind::Capacitor => (0.1e-6, 470e-6),
        StockKind::Inductor => (30e-6, 20e-3),
        StockKind::Resistor => (0.3, 150.0),
    };
    (range.from_si.max(usual.0), range.to_si.min(usual.1))
}

/// What the loss of a kind of part does when its value moves, and the loss of capacitors.
#[must_use]
pub fn loss_law(stock: &Stock, kind: StockKind) -> ValueLaw {
    let range = stock.range(kind);
    match kind {
        StockKind::Inductor => match (range.wire, range.dcr_at_1_mh) {
            (Some(wire), _) => ValueLaw::Power {
                scale: air_coil_dcr_ohm(1.0, wire.si()),
                exponent: DCR_EXPONENT,
            },
            (None, Some(dcr)) => ValueLaw::Power {
                scale: dcr.si() / 1e-3f64.sqrt(),
                exponent: 0.5,
            },
            // A stock that states its coils and no loss means coils without; where nothing is
            // said at all, no coil is that good.
            (None, None) if stock.inductors.is_some() => ValueLaw::FixedLoss,
            (None, None) => ValueLaw::Power {
                scale: air_coil_dcr_ohm(1.0, USUAL_WIRE_M),
                exponent: DCR_EXPONENT,
            },
        },
        StockKind::Capacitor | StockKind::Resistor => ValueLaw::FixedLoss,
    }
}

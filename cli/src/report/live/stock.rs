//! The values that can be stepped through: what the stock holds, each with the loss that belongs to it.

use netlist::project::{Stock, StockKind};
use netlist::quantity::Quantity;
use serde_json::{Value, json};
use solver::goal::ValueLaw;
use solver::stock::{SingleValue, loss_law, singles, stock_kind};

use crate::report::Report;

/// Values farther from any part than this, as a ratio, are left out: nobody steps there.
const FARTHEST: f64 = 40.0;

/// For each kind the single pieces of the stock, `[value, loss, price, rating, name]`, lowest value first, and the law
/// of the loss, `[scale, exponent]`. A loss that is null is that of the part that is changed.
pub(super) fn stock(report: &Report<'_>) -> Value {
    let mut kinds = serde_json::Map::new();
    for kind in [
        StockKind::Resistor,
        StockKind::Inductor,
        StockKind::Capacitor,
    ] {
        let present: Vec<f64> = (report.network.parts().values())
            .filter(|part| stock_kind(&part.kind) == Some(kind))
            .filter_map(|part| part.value_si())
            .collect();
        if present.is_empty() {
            continue;
        }
        let least = present.iter().copied().fold(f64::INFINITY, f64::min) / FARTHEST;
        let most = present.iter().copied().fold(0.0, f64::max) * FARTHEST;
        let stock = &report.project.stock;
        let law = match loss_law(stock, kind) {
            ValueLaw::Power { scale, exponent } => json!([scale, exponent]),
            ValueLaw::FixedLoss => Value::Null,
        };
        let pieces: Vec<Value> = (singles(stock, kind, f64::NAN).iter())
            .filter(|single| (least..=most).contains(&single.value_si))
            .map(|single| piece(stock, single))
            .collect();
        kinds.insert(
            kind.word().to_owned(),
            json!({
                "pieces": pieces, "law": law,
                // What a piece of the stock stands where it says nothing itself.
                "power": report.project.stock.range(kind).power.map(Quantity::si),
                "tolerance": report.project.stock.range(kind).tolerance.map(|t| t.to_string()),
            }),
        );
    }
    Value::Object(kinds)
}

fn piece(stock: &Stock, single: &SingleValue) -> Value {
    let item = single.line.map(|line| &stock.catalogue[line]);
    let loss = single.loss_ohm.is_finite().then_some(single.loss_ohm);
    json!([
        single.value_si,
        loss,
        single.price,
        item.and_then(|item| item.rating),
        item.map(|item| &item.name)
    ])
}

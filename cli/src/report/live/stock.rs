//! The values that can be stepped through: what the stock holds, each with the loss that belongs to it.

use std::collections::BTreeMap;

use netlist::project::{Stock, StockKind};
use netlist::quantity::Quantity;
use serde::Serialize;
use solver::goal::ValueLaw;
use solver::stock::{SingleValue, loss_law, singles, stock_kind};

use crate::report::Report;

/// Values farther from any part than this, as a ratio, are left out: nobody steps there.
const FARTHEST: f64 = 40.0;

/// What there is of a kind.
#[derive(Debug, Serialize)]
pub(super) struct PageStock {
    /// Lowest value first.
    pieces: Vec<PagePiece>,
    /// Scale and exponent of the law of the loss; nothing where it stays.
    law: Option<[f64; 2]>,
    /// What a piece stands where it says nothing itself.
    power: Option<f64>,
    tolerance: Option<String>,
}

/// Value, loss, price, rating, name of a piece. A loss that is null is that of the part that is changed.
type PagePiece = (f64, Option<f64>, Option<f64>, Option<f64>, Option<String>);

/// The single pieces of each kind that is in the network.
pub(super) fn stock(report: &Report<'_>) -> BTreeMap<&'static str, PageStock> {
    let kinds = [
        StockKind::Resistor,
        StockKind::Inductor,
        StockKind::Capacitor,
    ];
    (kinds.into_iter())
        .filter_map(|kind| Some((kind.word(), of_kind(report, kind)?)))
        .collect()
}

fn of_kind(report: &Report<'_>, kind: StockKind) -> Option<PageStock> {
    let present: Vec<f64> = (report.network.parts().values())
        .filter(|part| stock_kind(&part.kind) == Some(kind))
        .filter_map(|part| part.value_si())
        .collect();
    let least = present.iter().copied().reduce(f64::min)? / FARTHEST;
    let most = present.iter().copied().reduce(f64::max)? * FARTHEST;
    let stock = &report.project.stock;
    let range = stock.range(kind);
    Some(PageStock {
        pieces: (singles(stock, kind, f64::NAN).iter())
            .filter(|single| (least..=most).contains(&single.value_si))
            .map(|single| piece(stock, single))
            .collect(),
        law: match loss_law(stock, kind) {
            ValueLaw::Power { scale, exponent } => Some([scale, exponent]),
            ValueLaw::FixedLoss => None,
        },
        power: range.power.map(Quantity::si),
        tolerance: range.tolerance.map(|tolerance| tolerance.to_string()),
    })
}

fn piece(stock: &Stock, single: &SingleValue) -> PagePiece {
    let item = single.line.map(|line| &stock.catalogue[line]);
    let loss = single.loss_ohm.is_finite().then_some(single.loss_ohm);
    (
        single.value_si,
        loss,
        single.price,
        item.and_then(|item| item.rating),
        item.map(|item| item.name.clone()),
    )
}

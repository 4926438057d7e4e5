//! The values that can be stepped through: what the stock holds, each with the loss that belongs to it.

use netlist::project::{Stock, StockKind};
use netlist::quantity::{Ohms, Quantity};
use serde_json::{Value, json};
use solver::goal::ValueLaw;
use solver::search::{Job, part_choices, stock_kind};

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
        let Some(&first) = present.first() else {
            continue;
        };
        let least = present.iter().copied().fold(f64::INFINITY, f64::min) / FARTHEST;
        let most = present.iter().copied().fold(0.0, f64::max) * FARTHEST;
        let (pieces, law) = match &report.facts.check.assessment {
            Ok(reached) => of_job(&reached.job, kind, first),
            // Too little is said to make a job of it.
            Err(_) => (plain(&report.project.stock, kind), Value::Null),
        };
        let near = |piece: &Value| {
            piece[0]
                .as_f64()
                .is_some_and(|v| (least..=most).contains(&v))
        };
        let pieces: Vec<Value> = pieces.into_iter().filter(near).collect();
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

/// The pieces that snapping would choose from, and its law.
fn of_job(job: &Job, kind: StockKind, first: f64) -> (Vec<Value>, Value) {
    let law = match job.law(kind) {
        ValueLaw::Power { scale, exponent } => json!([scale, exponent]),
        ValueLaw::FixedLoss => Value::Null,
    };
    let choices = part_choices(job, 0, kind, first, f64::NAN, usize::from(u16::MAX));
    let singles = choices.map(|choices| choices.singles().choices);
    let pieces = singles.into_iter().flatten().map(|choice| {
        let item = (choice.items.first()).map(|&(item, _)| &job.stock.catalogue[item]);
        let loss = choice.loss_ohm.is_finite().then_some(choice.loss_ohm);
        let rating = item.and_then(|item| item.rating);
        json!([
            choice.value_si,
            loss,
            choice.price,
            rating,
            item.map(|item| &item.name)
        ])
    });
    (pieces.collect(), law)
}

/// The list of the stock, or its series where it lists none of the kind.
fn plain(stock: &Stock, kind: StockKind) -> Vec<Value> {
    let range = stock.range(kind);
    let loss = |stated: Option<Ohms>| match kind {
        StockKind::Resistor => Some(0.0),
        StockKind::Capacitor => stated.or(range.esr).map(|ohm| ohm.0),
        StockKind::Inductor => stated.map(|ohm| ohm.0),
    };
    let mut pieces: Vec<(f64, Value)> = (stock.items(kind))
        .map(|item| {
            let piece = json!([
                item.value_si,
                loss(item.loss),
                item.price,
                item.rating,
                item.name
            ]);
            (item.value_si, piece)
        })
        .collect();
    if pieces.is_empty() {
        pieces = (range.series.within(range.from_si, range.to_si).into_iter())
            .map(|value| (value, json!([value, loss(None), null, null, null])))
            .collect();
    }
    pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
    pieces.into_iter().map(|(_, piece)| piece).collect()
}

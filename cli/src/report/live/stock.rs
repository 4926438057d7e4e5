//! The values that can be stepped through: what the stock holds, each with the loss that belongs to it.

use netlist::project::StockKind;
use serde_json::{Value, json};
use solver::goal::ValueLaw;
use solver::search::part_choices;

use crate::report::Report;

/// Values farther from any part than this, as a ratio, are left out: nobody steps there.
const FARTHEST: f64 = 40.0;

/// For each kind the single pieces of the stock, `[value, loss, price, rating, name]`, lowest value first, and the law
/// of the loss, `[scale, exponent]`. Where the project says too little to be judged there is nothing to step through,
/// and values are typed.
pub(super) fn stock(report: &Report<'_>) -> Value {
    let Ok(reached) = &report.facts.check.assessment else {
        return json!({});
    };
    let job = &reached.job;
    let mut kinds = serde_json::Map::new();
    for kind in [
        StockKind::Resistor,
        StockKind::Inductor,
        StockKind::Capacitor,
    ] {
        let present: Vec<f64> = (report.network.parts().values())
            .filter(|part| solver::search::stock_kind(&part.kind) == Some(kind))
            .filter_map(|part| part.value_si())
            .collect();
        let Some(&first) = present.first() else {
            continue;
        };
        let least = present.iter().copied().fold(f64::INFINITY, f64::min) / FARTHEST;
        let most = present.iter().copied().fold(0.0, f64::max) * FARTHEST;
        // A loss that follows no law is that of the part that is changed: the page puts it in.
        let law = job.law(kind);
        let choices = part_choices(job, 0, kind, first, f64::NAN, usize::from(u16::MAX));
        let singles = choices.map(|choices| choices.singles().choices);
        let pieces: Vec<Value> = (singles.into_iter().flatten())
            .filter(|choice| (least..=most).contains(&choice.value_si))
            .map(|choice| {
                let item = choice
                    .items
                    .first()
                    .map(|&(item, _)| &job.stock.catalogue[item]);
                let loss = choice.loss_ohm.is_finite().then_some(choice.loss_ohm);
                let rating = item.and_then(|item| item.rating);
                json!([
                    choice.value_si,
                    loss,
                    choice.price,
                    rating,
                    item.map(|item| &item.name)
                ])
            })
            .collect();
        let law = match law {
            ValueLaw::Power { scale, exponent } => json!([scale, exponent]),
            ValueLaw::FixedLoss => Value::Null,
        };
        kinds.insert(
            kind.word().to_owned(),
            json!({ "pieces": pieces, "law": law }),
        );
    }
    Value::Object(kinds)
}

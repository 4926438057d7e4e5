//! Single values that can be bought.

use netlist::project::{Stock, StockKind};
use netlist::quantity::Quantity;

use super::kind::loss_law;
use super::stated;
use crate::goal::ValueLaw;

/// A single part that can be had.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SingleValue {
    /// Value in SI.
    pub value_si: f64,
    /// Coil resistance or equivalent series resistance, ohm.
    pub loss_ohm: f64,
    /// Line of the catalogue; `None` of a series.
    pub line: Option<usize>,
    /// Price, where it is known.
    pub price: Option<f64>,
    /// Tolerance, 0 to 1, where it is known.
    pub tolerance: Option<f64>,
    /// Power of a resistor, voltage of a capacitor or current of a coil that it stands, SI, where it is known.
    pub rating: Option<f64>,
    /// How many there are, where that is known.
    pub count: Option<u32>,
}

impl SingleValue {
    /// Whether there are so many of it.
    #[must_use]
    pub fn lasts_for(&self, many: usize) -> bool {
        self.count.is_none_or(|count| many <= count as usize)
    }
}

/// Single parts of a kind, lowest value first: the lines of the catalogue of which there are some, or the series
/// where it lists none of the kind. A part keeps `present_loss_ohm` where the stock says nothing of its loss.
#[must_use]
pub fn singles(stock: &Stock, kind: StockKind, present_loss_ohm: f64) -> Vec<SingleValue> {
    let range = stock.range(kind);
    let law = loss_law(stock, kind);
    let usual_loss = |value: f64| match kind {
        StockKind::Inductor if law == ValueLaw::FixedLoss => present_loss_ohm,
        StockKind::Inductor => stated::loss(law.loss(value, present_loss_ohm)),
        StockKind::Capacitor => range.esr.map_or(present_loss_ohm, Quantity::si),
        StockKind::Resistor => 0.0,
    };
    let usual_tolerance = range.tolerance.map(Quantity::si);
    let usual_power = range.power.map(Quantity::si);
    if stock.items(kind).next().is_none() {
        return (range.series.within(range.from_si, range.to_si).into_iter())
            .map(|value_si| SingleValue {
                value_si,
                loss_ohm: usual_loss(value_si),
                line: None,
                price: None,
                tolerance: usual_tolerance,
                rating: usual_power,
                count: None,
            })
            .collect();
    }
    let mut singles: Vec<SingleValue> = (stock.catalogue.iter().enumerate())
        .filter(|(_, item)| item.kind == kind && item.count != Some(0))
        .map(|(line, item)| SingleValue {
            value_si: item.value_si,
            loss_ohm: item.loss.map_or(usual_loss(item.value_si), Quantity::si),
            line: Some(line),
            price: item.price,
            tolerance: item.tolerance.map(Quantity::si).or(usual_tolerance),
            rating: item.rating.or(usual_power),
            count: item.count,
        })
        .collect();
    singles.sort_by(|a, b| a.value_si.total_cmp(&b.value_si));
    singles
}

//! The line of a stock that a part of a network was bought from: its tolerance and its rating.

use netlist::network::{Part, PartKind};
use netlist::project::{CatalogueItem, Stock, StockKind};
use netlist::quantity::{Fraction, Quantity};
use serde::Serialize;

use super::kind::stock_kind;
use super::stated;
use super::stated::off;

/// Tolerance of a part of which nothing is said: film capacitors, air-core coils and wire-wound
/// resistors are mostly sold with this (common practice).
pub(super) const USUAL: f64 = 0.05;
/// The same for a winding on an iron or ferrite core (common practice).
const USUAL_WITH_CORE: f64 = 0.10;
/// Greatest tolerance that is followed: a part with more could have no value at all.
const GREATEST: f64 = 0.9;

/// Where the figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// The part itself.
    Part,
    /// The catalogue's line for its value.
    Catalogue,
    /// The stock's series for its kind.
    Stock,
    /// Nothing is said; common practice.
    Usual,
    /// [`ToleranceOptions::driver_level_db`](crate::judge::tolerance::ToleranceOptions::driver_level_db).
    Setting,
}

/// Whether a line is of this kind and value.
fn is_line(item: &CatalogueItem, kind: StockKind, value_si: f64) -> bool {
    item.kind == kind && stated::is_same(item.value_si, value_si)
}

/// The lines of a kind that have this value, any of which may be the one that was bought.
pub(super) fn lines(
    stock: &Stock,
    kind: StockKind,
    value_si: f64,
) -> impl Iterator<Item = &CatalogueItem> {
    (stock.items(kind)).filter(move |item| is_line(item, kind, value_si))
}

/// The line that a piece was bought from: of its value, and of its loss where there are several.
#[must_use]
pub fn bought_line(
    stock: &Stock,
    kind: StockKind,
    value_si: f64,
    loss_ohm: Option<f64>,
) -> Option<&CatalogueItem> {
    line_of(stock, kind, value_si, loss_ohm, |_| true).map(|place| &stock.catalogue[place])
}

/// Place of that line in the catalogue, among those that are there.
pub(super) fn line_of(
    stock: &Stock,
    kind: StockKind,
    value_si: f64,
    loss_ohm: Option<f64>,
    is_there: impl Fn(&CatalogueItem) -> bool,
) -> Option<usize> {
    let mut places = (0..stock.catalogue.len()).filter(|&place| {
        let item = &stock.catalogue[place];
        is_line(item, kind, value_si) && is_there(item)
    });
    let of_loss = |place: &usize| {
        let losses = stock.catalogue[*place].loss.zip(loss_ohm);
        losses.is_some_and(|(loss, loss_ohm)| stated::is_same(loss.si(), loss_ohm))
    };
    (places.clone().find(of_loss)).or_else(|| places.next())
}

/// The least rating of the lines of this value, SI.
pub(crate) fn listed_rating(stock: &Stock, kind: StockKind, value_si: f64) -> Option<f64> {
    lines(stock, kind, value_si)
        .filter_map(|item| item.rating)
        .min_by(f64::total_cmp)
}

/// What several stand as a whole, of the rating and the share of each: the one that is nearest to its rating decides.
/// `None` where nothing is known of one.
pub(crate) fn whole_rating(parts: impl Iterator<Item = (Option<f64>, f64)>) -> Option<f64> {
    let stands = parts.map(|(rating, share)| Some(rating? / share));
    stands.reduce(|a, b| Some(a?.min(b?))).flatten()
}

/// Power that a resistor of this value stands, W: the least of the catalogue's lines, or what the stock says of all.
pub(crate) fn resistor_power_w(stock: &Stock, ohm: f64) -> Option<f64> {
    let usual = stock.resistors.as_ref().and_then(|range| range.power);
    listed_rating(stock, StockKind::Resistor, ohm).or(usual.map(Quantity::si))
}

/// Tolerance of one bought piece of a part, and where the figure comes from.
#[must_use]
pub fn tolerance(part: &Part, value_si: f64, stock: &Stock) -> (f64, Origin) {
    asked(part, stock, |kind| {
        lines(stock, kind, value_si)
            .filter_map(|item| item.tolerance)
            .max_by(|a, b| a.si().total_cmp(&b.si()))
    })
}

/// Tolerance of a part before it is bought, where its line is the one nearest to its value.
pub(crate) fn tolerance_near(part: &Part, stock: &Stock) -> f64 {
    let (found, _) = asked(part, stock, |kind| {
        let value_si = part.value_si()?;
        let away = |item: &&CatalogueItem| off(item.value_si, value_si);
        let nearest = (stock.items(kind)).min_by(|a, b| away(a).total_cmp(&away(b)));
        nearest?.tolerance
    });
    found
}

/// Asks in turn who knows the tolerance of a part: itself, the line that `listed` takes it to be from, the range of its
/// kind.
fn asked(
    part: &Part,
    stock: &Stock,
    listed: impl FnOnce(StockKind) -> Option<Fraction>,
) -> (f64, Origin) {
    let kind = stock_kind(&part.kind);
    let usual = match (&part.kind, kind) {
        (_, Some(_)) => USUAL,
        (PartKind::Autoformer { .. }, None) => USUAL_WITH_CORE,
        _ => 0.0,
    };
    let own = part.tolerance.map(|own| (own, Origin::Part));
    let (found, origin) = own
        .or_else(|| Some((listed(kind?)?, Origin::Catalogue)))
        .or_else(|| Some((stock.range(kind?).tolerance?, Origin::Stock)))
        .map_or((usual, Origin::Usual), |(found, origin)| {
            (found.si(), origin)
        });
    (found.clamp(0.0, GREATEST), origin)
}

#[cfg(test)]
mod tests {
    use netlist::network::NodeId;
    use netlist::quantity::{Farads, Ohms};

    use super::*;

    /// What a search takes for granted before it has bought a part is what the part it then buys has.
    #[test]
    fn a_part_is_as_exact_as_the_line_nearest_to_it() {
        let line = |value_si: f64, tolerance: Option<f64>| CatalogueItem {
            tolerance: tolerance.map(Fraction),
            ..CatalogueItem::of(StockKind::Capacitor, value_si, None)
        };
        let stock = Stock {
            catalogue: vec![
                line(1e-6, Some(0.1)),
                line(10e-6, Some(0.02)),
                line(47e-6, None),
            ],
            ..Stock::default()
        };
        let capacitor = |value_si: f64| {
            Part::new(PartKind::Capacitor {
                capacitance: Farads(value_si),
                esr: Ohms(0.0),
                between: [NodeId(1), NodeId(0)],
            })
        };
        let near = [0.8e-6, 3e-6, 4e-6, 12e-6, 40e-6]
            .map(|value_si| tolerance_near(&capacitor(value_si), &stock));
        assert_eq!(
            near.map(f64::to_bits),
            [0.1, 0.1, 0.02, 0.02, USUAL].map(f64::to_bits)
        );
        for (value_si, found) in [
            (1e-6, (0.1, Origin::Catalogue)),
            (47e-6, (USUAL, Origin::Usual)),
        ] {
            assert_eq!(tolerance(&capacitor(value_si), value_si, &stock), found);
        }
        let own = Part {
            tolerance: Some(Fraction(0.01)),
            ..capacitor(10e-6)
        };
        assert!((tolerance_near(&own, &stock) - 0.01).abs() < 1e-12);
        assert_eq!(tolerance(&own, 10e-6, &stock).1, Origin::Part);
    }
}

//! What is to be bought, piece by piece.

use netlist::network::{Joined, Network, Part, PartKind};
use netlist::project::{Stock, StockKind};
use netlist::quantity::{Ohms, Quantity};
use serde::Serialize;
use solver::judge::{PartStress, Rating};
use solver::stock::{bought_line, stock_kind};

use super::pieces::{Piece, pieces_of};
use crate::words::tap_words;

/// Pieces of one sort.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PurchaseLine {
    /// Names in the drawing: `C2, C6`; a part made of several is followed by a letter a piece.
    pub(crate) parts: Vec<String>,
    /// `None` for an autoformer, which is wound to order.
    kind: Option<StockKind>,
    pub(crate) value: String,
    value_si: f64,
    pub(crate) tolerance: Option<String>,
    /// DCR or ESR.
    pub(crate) loss: Option<String>,
    /// What it must be rated for, in the unit of its kind.
    pub(crate) needed: Option<Needed>,
    /// Name in the builder's list.
    pub(crate) item: Option<String>,
    /// Price of one piece.
    pub(crate) price: Option<f64>,
}

/// A line for the page's script, which makes the lists anew when a value is changed.
#[derive(Debug, Serialize)]
pub(super) struct PageLine {
    parts: Vec<String>,
    what: &'static str,
    value: String,
    si: f64,
    tolerance: Option<String>,
    loss: Option<String>,
    item: Option<String>,
    price: Option<f64>,
    sold: Option<f64>,
}

impl PageLine {
    pub(super) fn new(line: &PurchaseLine) -> Self {
        Self {
            parts: line.parts.clone(),
            what: line.what(),
            value: line.value.clone(),
            si: line.value_si,
            tolerance: line.tolerance.clone(),
            loss: line.loss.clone(),
            item: line.item.clone(),
            price: line.price,
            sold: line.needed.and_then(|needed| needed.sold),
        }
    }
}

/// A word for what is bought.
fn what(kind: Option<StockKind>) -> &'static str {
    kind.map_or("autoformer", StockKind::word)
}

impl PurchaseLine {
    pub(crate) fn what(&self) -> &'static str {
        what(self.kind)
    }

    /// Whether the pieces of two lines are one and the same to buy.
    fn is_like(&self, other: &PurchaseLine) -> bool {
        // What is said of the rating counts, not how much of it is needed.
        let sort = |line: &PurchaseLine| PurchaseLine {
            parts: Vec::new(),
            needed: None,
            ..line.clone()
        };
        let said = |line: &PurchaseLine| line.needed.map(Needed::words);
        sort(self) == sort(other) && said(self) == said(other)
    }
}

/// A rating that is needed, and the one that the stock's part has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Needed {
    kind: StockKind,
    least: Option<f64>,
    sold: Option<f64>,
}

impl Needed {
    /// `20 W` where the stock's part is enough, `30 W` with a word where it is not.
    pub(crate) fn words(self) -> String {
        match (self.least, self.sold) {
            (Some(least), Some(sold)) if sold < least => {
                format!(
                    "{}, not the stock's {}",
                    rated(self.kind, least),
                    rated(self.kind, sold)
                )
            }
            (_, Some(sold)) => rated(self.kind, sold),
            (Some(least), None) => match self.kind {
                // Without a core a coil bears any current that is played through it.
                StockKind::Inductor => format!("{} if cored", rated(self.kind, least)),
                _ => rated(self.kind, least),
            },
            (None, None) => String::new(),
        }
    }

    fn with(self, other: Self) -> Self {
        let most = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => Some(a.max(b)),
            (a, b) => a.or(b),
        };
        Self {
            kind: self.kind,
            least: most(self.least, other.least),
            sold: most(self.sold, other.sold),
        }
    }
}

/// What two places of one thing to buy need.
fn both(a: Option<Needed>, b: Option<Needed>) -> Option<Needed> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.with(b)),
        (a, b) => a.or(b),
    }
}

/// One thing to ask for: all pieces of one kind, value and name.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ShoppingItem {
    /// `None` for an autoformer, which is wound to order.
    kind: Option<StockKind>,
    pub(crate) value: String,
    value_si: f64,
    pub(crate) name: Option<String>,
    pub(crate) needed: Option<Needed>,
    /// For one loudspeaker.
    pub(crate) count: usize,
    pub(crate) price: Option<f64>,
}

impl ShoppingItem {
    pub(crate) fn what(&self) -> &'static str {
        what(self.kind)
    }
}

/// The pieces of one loudspeaker, and how parts are made of several.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Purchase {
    pub(crate) lines: Vec<PurchaseLine>,
    /// Lines of `lines` that are one thing to ask for at the counter.
    pub(crate) shopping: Vec<ShoppingItem>,
    /// `C1 is 22 µF and 4.7 µF side by side`.
    pub(crate) together: Vec<String>,
    /// Price of all pieces with a price, and how many have none.
    pub(crate) price: f64,
    pub(crate) without_price: usize,
}

impl Purchase {
    /// Pieces of a network; `stressed` says what its parts must survive, where that was worked out.
    pub(crate) fn new(network: &Network, stock: &Stock, stressed: &[PartStress]) -> Self {
        let mut purchase = Self::default();
        for (name, part) in network.parts() {
            let stress = stressed.iter().find(|stress| stress.part == *name);
            let least = stress.and_then(|stress| stress.buy).map(Rating::size);
            purchase.add(name, part, stock, least);
        }
        purchase.merge();
        for line in &purchase.lines {
            match line.price {
                Some(price) => purchase.price += price * line.parts.len() as f64,
                None => purchase.without_price += line.parts.len(),
            }
        }
        purchase
    }

    /// The lines of one part alone.
    pub(crate) fn of_part(name: &str, part: &Part, stock: &Stock) -> Vec<PurchaseLine> {
        let mut purchase = Self::default();
        purchase.add(name, part, stock, None);
        purchase.lines
    }

    /// Puts together what is one thing to buy, whatever each of its places asks of it.
    fn merge(&mut self) {
        for line in &self.lines {
            let alike = self.shopping.iter_mut().find(|item| {
                (item.kind, &item.value, &item.name) == (line.kind, &line.value, &line.item)
            });
            match alike {
                Some(item) => {
                    item.count += line.parts.len();
                    item.needed = both(item.needed, line.needed);
                }
                None => self.shopping.push(ShoppingItem {
                    kind: line.kind,
                    value: line.value.clone(),
                    value_si: line.value_si,
                    name: line.item.clone(),
                    needed: line.needed,
                    count: line.parts.len(),
                    price: line.price,
                }),
            }
        }
        // As it lies in the shop.
        let place = |kind: Option<StockKind>| {
            use StockKind::{Capacitor, Inductor, Resistor};
            let order = [Resistor, Capacitor, Inductor];
            kind.map(|kind| order.into_iter().position(|one| one == kind))
        };
        (self.shopping).sort_by(|a, b| {
            (place(a.kind).cmp(&place(b.kind))).then(a.value_si.total_cmp(&b.value_si))
        });
    }

    fn add(&mut self, name: &str, part: &Part, stock: &Stock, least: Option<f64>) {
        let Some(kind) = stock_kind(&part.kind) else {
            self.lines.extend(autoformer(name, part, least));
            return;
        };
        if let Some(made_of) = part.several() {
            let shown: Vec<String> = made_of.values.iter().map(|v| kind.show(*v)).collect();
            let joined = match made_of.joined {
                Joined::Parallel => "side by side",
                Joined::Series => "one after the other",
            };
            self.together.push(format!(
                "{name} is {} {joined}: {} together",
                shown.join(" and "),
                part.value_si().map(|v| kind.show(v)).unwrap_or_default()
            ));
        }
        let several = part.several().is_some();
        for Piece { name, value_si, .. } in pieces_of(name, part) {
            let mut line = piece((kind, value_si), part, stock, least, several);
            line.parts = vec![name];
            let alike = self.lines.iter_mut().find(|other| other.is_like(&line));
            match alike {
                Some(other) => {
                    other.parts.extend(line.parts);
                    other.needed = both(other.needed, line.needed);
                }
                None => self.lines.push(line),
            }
        }
    }

    /// Pieces of one loudspeaker.
    pub(crate) fn pieces(&self) -> usize {
        self.lines.iter().map(|line| line.parts.len()).sum()
    }
}

/// The line of an autoformer; none for what is no such.
fn autoformer(name: &str, part: &Part, least: Option<f64>) -> Option<PurchaseLine> {
    let PartKind::Autoformer {
        inductance,
        dcr,
        taps,
        ..
    } = &part.kind
    else {
        return None;
    };
    let taps: Vec<String> = taps.iter().map(|tap| tap_words(tap.ratio)).collect();
    Some(PurchaseLine {
        parts: vec![name.to_owned()],
        kind: None,
        value_si: inductance.0,
        value: format!("{inductance}, taps at {}", taps.join(", ")),
        tolerance: part.tolerance.map(|t| t.to_string()),
        loss: Some(ohm(*dcr)),
        needed: least.map(|least| Needed {
            kind: StockKind::Inductor,
            least: Some(least),
            sold: part.current.map(Quantity::si),
        }),
        item: None,
        price: None,
    })
}

/// A piece of a part, alone or one of `several`; without its name.
fn piece(
    (kind, value): (StockKind, f64),
    part: &Part,
    stock: &Stock,
    least: Option<f64>,
    several: bool,
) -> PurchaseLine {
    let loss_ohm = if several { None } else { part.loss_ohm() };
    let item = bought_line(stock, kind, value, loss_ohm);
    let tolerance = (part.tolerance)
        .or(item.and_then(|item| item.tolerance))
        .or(stock.range(kind).tolerance);
    let own = match kind {
        StockKind::Resistor => part.power.map(Quantity::si),
        StockKind::Capacitor => part.voltage.map(Quantity::si),
        StockKind::Inductor => part.current.map(Quantity::si),
    };
    let usual = (stock.range(kind).power.map(Quantity::si)).filter(|_| kind == StockKind::Resistor);
    let sold = own.or(item.and_then(|item| item.rating)).or(usual);
    let loss = match kind {
        StockKind::Resistor => None,
        _ if several => item.and_then(|item| item.loss),
        _ => part.loss_ohm().map(Ohms),
    };
    PurchaseLine {
        parts: Vec::new(),
        kind: Some(kind),
        value: kind.show(value),
        value_si: value,
        tolerance: tolerance.map(|t| t.to_string()),
        loss: loss.filter(|loss| loss.0 > 0.0).map(ohm),
        needed: (least.is_some() || sold.is_some()).then_some(Needed { kind, least, sold }),
        item: item.map(|item| item.name.clone()),
        price: item.and_then(|item| item.price),
    }
}

/// Losses are compared with each other, so they are all in ohm.
fn ohm(loss: Ohms) -> String {
    let digits = if loss.0 < 10.0 { 2 } else { 1 };
    format!("{:.digits$} Ω", loss.0)
}

fn rated(kind: StockKind, rating: f64) -> String {
    kind.rating_dimension().show(rating)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn purchase(parts: &str, stock: &str) -> Purchase {
        let text = format!(
            "[drivers.low]\nmodelled = {{ re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, \
             vas = \"100 L\", sd = \"500 cm2\" }}\n[stock]\n{stock}\n[parts]\n{parts}\n\
             LOW = {{ driver = \"low\", between = [\"a\", \"gnd\"] }}\n"
        );
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("p.toml");
        std::fs::write(&file, text).unwrap();
        std::fs::write(
            folder.path().join("list.csv"),
            "kind,value,tolerance,dcr_or_esr,rating,price,name\n\
             resistor,10 ohm,5 %,,20 W,1.25,wire-wound ten\n",
        )
        .unwrap();
        let project = netlist::project::load(&file).unwrap().project;
        let network = project.network.clone().unwrap();
        Purchase::new(&network, &project.stock, &[])
    }

    #[test]
    fn like_pieces_are_bought_together_and_priced_from_the_list() {
        let found = purchase(
            "R1 = { resistor = \"10 ohm\", between = [\"in\", \"a\"] }\n\
             R2 = { resistor = \"10 ohm\", between = [\"a\", \"gnd\"] }\n\
             C1 = { capacitor = \"10 uF\", between = [\"in\", \"a\"], esr = \"20 mohm\" }",
            "catalogue = \"list.csv\"\ncapacitors = { series = \"E12\", tolerance = \"5 %\" }",
        );
        assert_eq!(found.lines.len(), 2, "{found:#?}");
        let resistors = &found.lines[0];
        assert_eq!(resistors.parts, ["R1", "R2"]);
        assert_eq!(resistors.needed.unwrap().words(), "20 W");
        assert_eq!(resistors.item.as_deref(), Some("wire-wound ten"));
        assert!((found.price - 2.5).abs() < 1e-9);
        assert_eq!((found.without_price, found.pieces()), (1, 3));
        assert_eq!(found.lines[1].tolerance.as_deref(), Some("5 %"));
        assert_eq!(found.lines[1].loss.as_deref(), Some("0.02 Ω"));
    }

    #[test]
    fn the_shopping_list_has_one_line_for_one_thing_and_the_rating_that_is_needed() {
        let found = purchase(
            "R1 = { resistor = \"10 ohm\", between = [\"in\", \"a\"] }\n\
             R2 = { resistor = \"10 ohm\", between = [\"a\", \"gnd\"], power = \"50 W\" }\n\
             C1 = { capacitor = \"20 uF\", between = [\"in\", \"a\"], made_of = { parallel = [\"10 uF\", \"10 uF\"] } }\n\
             C2 = { capacitor = \"10 uF\", between = [\"a\", \"gnd\"], esr = \"20 mohm\" }",
            "catalogue = \"list.csv\"\ncapacitors = { series = \"E12\" }",
        );
        let listed: Vec<(&str, &str, usize)> = (found.shopping.iter())
            .map(|item| (item.what(), item.value.as_str(), item.count))
            .collect();
        assert_eq!(listed, [("resistor", "10 Ω", 2), ("capacitor", "10 µF", 3)]);
        assert!(found.lines.len() > found.shopping.len(), "{found:#?}");
        let kind = StockKind::Resistor;
        for (least, sold, words) in [
            (Some(5.0), Some(20.0), "20 W"),
            (Some(30.0), Some(20.0), "30 W, not the stock's 20 W"),
            (Some(10.0), None, "10 W"),
            (None, Some(20.0), "20 W"),
        ] {
            assert_eq!(Needed { kind, least, sold }.words(), words);
        }
    }

    #[test]
    fn a_list_of_one_is_one_piece() {
        let found = purchase(
            "C1 = { capacitor = \"10 uF\", made_of = { parallel = [\"10 uF\"] }, between = [\"in\", \"a\"] }",
            "capacitors = { series = \"E12\" }",
        );
        assert_eq!(found.lines[0].parts, ["C1"]);
        assert!(found.together.is_empty(), "{:?}", found.together);
    }

    #[test]
    fn a_part_made_of_two_is_two_pieces() {
        let found = purchase(
            "C1 = { capacitor = \"14.7 uF\", made_of = { parallel = [\"10 uF\", \"4.7 uF\"] }, \
             between = [\"in\", \"a\"] }",
            "capacitors = { series = \"E12\" }",
        );
        let names: Vec<&String> = found.lines.iter().flat_map(|line| &line.parts).collect();
        assert_eq!(names, ["C1a", "C1b"]);
        assert_eq!(found.together.len(), 1);
        assert!(
            found.together[0].contains("side by side: 14.7 µF"),
            "{found:?}"
        );
    }
}

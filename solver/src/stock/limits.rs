//! What the stock and the purse allow.

use netlist::network::Part;
use netlist::project::{CatalogueItem, Stock, StockKind};

use super::choice::Choice;
use super::kind::stock_kind;
use super::line::{line_of, lines};
use super::single::singles;
use super::stated;

/// What one part that is not there costs in the goal: more than any loudspeaker.
const SHORT: f64 = 1e6;

/// How much of the stock may be taken.
#[derive(Debug, Clone)]
pub(crate) struct StockLimits {
    /// For each line of the catalogue how many are left; `None` without limit.
    left: Vec<Option<u32>>,
    /// What may still be spent.
    budget: Option<f64>,
}

impl StockLimits {
    pub(crate) fn new(stock: &Stock, budget: Option<f64>) -> Self {
        let left: Vec<Option<u32>> = stock.catalogue.iter().map(|item| item.count).collect();
        Self {
            left: if left.iter().all(Option::is_none) {
                Vec::new()
            } else {
                left
            },
            budget,
        }
    }

    pub(crate) fn are_none(&self) -> bool {
        self.left.is_empty() && self.budget.is_none()
    }

    /// What is left when others take theirs.
    pub(crate) fn less<'a>(&self, taken: impl Iterator<Item = &'a Choice>) -> Self {
        let mut rest = self.clone();
        for choice in taken {
            for &(item, count) in &choice.items {
                if let Some(Some(left)) = rest.left.get_mut(item) {
                    *left = left.saturating_sub(count);
                }
            }
            if let Some(budget) = &mut rest.budget {
                *budget -= choice.price.unwrap_or(0.0);
            }
        }
        rest
    }

    /// 0 where the choices keep to the limits, and much where they do not.
    pub(crate) fn shortage<'a>(&self, choices: impl Iterator<Item = &'a Choice>) -> f64 {
        let mut taken = vec![0u32; self.left.len()];
        let mut price = 0.0;
        for choice in choices {
            for &(item, count) in &choice.items {
                if let Some(taken) = taken.get_mut(item) {
                    *taken += count;
                }
            }
            price += choice.price.unwrap_or(0.0);
        }
        let missing: u32 = (taken.iter().zip(&self.left))
            .map(|(taken, left)| left.map_or(0, |left| taken.saturating_sub(left)))
            .sum();
        // Sums of prices differ by rounding.
        let over = self.budget.map_or(0.0, |budget| {
            let over = price - budget;
            if over > 1e-9 { 1.0 + over } else { 0.0 }
        });
        SHORT * (f64::from(missing) + over)
    }
}

/// Whether a stock has nothing of a kind.
pub(crate) fn lacks(stock: &Stock, kind: StockKind) -> bool {
    singles(stock, kind, 0.0).is_empty()
}

/// Whether a stock has these values all at once; of what the catalogue does not list there is enough.
pub(crate) fn enough(stock: &Stock, wanted: &[(StockKind, f64)]) -> bool {
    wanted.iter().all(|&(kind, value_si)| {
        let same =
            |other: &&(StockKind, f64)| other.0 == kind && stated::is_same(other.1, value_si);
        let many = wanted.iter().filter(same).count();
        let mut lines = lines(stock, kind, value_si).peekable();
        let none = lines.peek().is_none();
        // Without a count there is no end of them.
        let there = lines.map(|line| line.count).sum::<Option<u32>>();
        none || there.is_none_or(|there| many <= there as usize)
    })
}

/// What is left of a stock when these parts are bought from it.
pub(crate) fn left_by<'a>(stock: &Stock, parts: impl Iterator<Item = &'a Part>) -> Stock {
    let mut left = stock.clone();
    for part in parts {
        let Some(kind) = stock_kind(&part.kind) else {
            continue;
        };
        // The loss of a whole says nothing of its pieces.
        let loss_ohm = part.loss_ohm().filter(|_| part.pieces().is_none());
        for value_si in part.pieces_si() {
            let is_there = |item: &CatalogueItem| item.count != Some(0);
            let line = line_of(&left, kind, value_si, loss_ohm, is_there);
            if let Some(count) = line.and_then(|line| left.catalogue[line].count.as_mut()) {
                *count -= 1;
            }
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use netlist::network::{Joined, MadeOf, NodeId, PartKind};
    use netlist::quantity::{Henries, Ohms};

    use super::*;

    #[test]
    fn what_a_network_takes_is_taken() {
        let line = |value_si: f64, count: Option<u32>| CatalogueItem {
            count,
            ..CatalogueItem::of(StockKind::Resistor, value_si, None)
        };
        let stock = Stock {
            catalogue: vec![
                line(4.7, Some(1)),
                line(4.7, Some(2)),
                line(6.8, Some(1)),
                line(10.0, None),
            ],
            ..Stock::default()
        };
        let part = |ohm: f64, values: &[f64]| Part {
            made_of: (!values.is_empty()).then(|| MadeOf {
                joined: Joined::Series,
                values: values.to_vec(),
            }),
            ..Part::new(PartKind::Resistor {
                resistance: Ohms(ohm),
                between: [NodeId(1), NodeId(0)],
            })
        };
        let parts = [part(4.7, &[]), part(11.5, &[4.7, 6.8]), part(10.0, &[])];
        let left = left_by(&stock, parts.iter());
        let counts: Vec<Option<u32>> = left.catalogue.iter().map(|line| line.count).collect();
        assert_eq!(counts, [Some(0), Some(1), Some(0), None]);
        // More than there is takes all there is.
        let parts = [part(6.8, &[]), part(6.8, &[])];
        assert_eq!(left_by(&stock, parts.iter()).catalogue[2].count, Some(0));
    }

    /// Two coils of one inductance: the one of thick wire is taken, not the one listed first.
    #[test]
    fn the_line_of_its_loss_is_taken() {
        let line = |dcr: f64| CatalogueItem {
            count: Some(1),
            loss: Some(Ohms(dcr)),
            ..CatalogueItem::of(StockKind::Inductor, 2.7e-3, None)
        };
        let stock = Stock {
            catalogue: vec![line(0.6), line(0.3)],
            ..Stock::default()
        };
        let coil = Part::new(PartKind::Inductor {
            inductance: Henries(2.7e-3),
            dcr: Ohms(0.3),
            between: [NodeId(1), NodeId(0)],
        });
        let counts = |parts: &[Part]| -> Vec<Option<u32>> {
            let left = left_by(&stock, parts.iter());
            left.catalogue.iter().map(|line| line.count).collect()
        };
        assert_eq!(counts(std::slice::from_ref(&coil)), [Some(1), Some(0)]);
        // Where none of its own is left it is another of that value.
        assert_eq!(counts(&[coil.clone(), coil]), [Some(0), Some(0)]);
    }
}

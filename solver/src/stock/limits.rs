//! What the stock and the purse allow.

use netlist::project::{Stock, StockKind};

use super::choice::Choice;
use super::single::singles;

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

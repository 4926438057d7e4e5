//! What can be had for one part: the values of the stock around its ideal value.

use netlist::project::{Stock, StockKind};

use super::choice::Choice;
use super::joined::joined_choices;
use super::single::singles;
use super::stated::off;

/// The choices of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartChoices {
    /// Position of the part in the network.
    pub part: usize,
    /// Kind of stock.
    pub kind: StockKind,
    /// Value before.
    pub ideal_si: f64,
    /// Choices, lowest value first.
    pub choices: Vec<Choice>,
    /// The single part nearest to the ideal value, among `choices`.
    pub nearest: usize,
}

impl PartChoices {
    /// The same without joined parts.
    #[must_use]
    pub fn singles(&self) -> Self {
        let choices: Vec<Choice> = (self.choices.iter())
            .filter(|choice| choice.made_of.is_none())
            .cloned()
            .collect();
        let before = &self.choices[..self.nearest];
        let nearest = before
            .iter()
            .filter(|choice| choice.made_of.is_none())
            .count();
        Self {
            choices,
            nearest,
            ..*self
        }
    }

    /// Places of the choices within so many steps of value, of at most so many parts.
    #[must_use]
    pub fn within(&self, steps: usize, parts: u32) -> Vec<usize> {
        let near = |&i: &usize| {
            let choice = &self.choices[i];
            choice.steps <= steps && choice.count() <= parts
        };
        (0..self.choices.len()).filter(near).collect()
    }
}

/// Choices for a part of `kind` with an ideal value: single parts up to `window` steps of value on
/// each side of the nearest, and the nearest joined ones where the stock allows them.
///
/// A step is from one value that can be had to the next; lines of a catalogue with the same value
/// are one step. `None` when the stock holds nothing of the kind.
#[must_use]
pub fn part_choices(
    stock: &Stock,
    part: usize,
    kind: StockKind,
    ideal_si: f64,
    present_loss_ohm: f64,
    window: usize,
) -> Option<PartChoices> {
    let singles = singles(stock, kind, present_loss_ohm);
    let mut steps: Vec<f64> = singles.iter().map(|single| single.value_si).collect();
    steps.dedup_by(|a, b| a.total_cmp(b).is_eq());
    let nearest = (0..steps.len())
        .min_by(|&a, &b| off(steps[a], ideal_si).total_cmp(&off(steps[b], ideal_si)))?;
    let away = |value: f64| {
        steps
            .partition_point(|&step| step < value)
            .abs_diff(nearest)
    };
    let low = steps[nearest.saturating_sub(window)];
    let high = steps[(nearest + window).min(steps.len() - 1)];
    let mut choices: Vec<Choice> = (singles.iter())
        .filter(|single| (low..=high).contains(&single.value_si))
        .map(|single| Choice {
            steps: away(single.value_si),
            ..Choice::single(single)
        })
        .collect();
    // Coils are not joined: their fields would meet.
    if kind != StockKind::Inductor && window > 0 {
        choices.extend(joined_choices(stock, kind, &singles, ideal_si));
    }
    choices.sort_by(|a, b| (a.value_si.total_cmp(&b.value_si)).then(a.count().cmp(&b.count())));
    let nearest = (0..choices.len())
        .filter(|&i| choices[i].made_of.is_none())
        .min_by(|&a, &b| {
            off(choices[a].value_si, ideal_si).total_cmp(&off(choices[b].value_si, ideal_si))
        })?;
    Some(PartChoices {
        part,
        kind,
        ideal_si,
        choices,
        nearest,
    })
}

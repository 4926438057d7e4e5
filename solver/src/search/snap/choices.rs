//! What can be had for one part: the values of the stock around its ideal value.

use netlist::network::{Joined, MadeOf};
use netlist::project::StockKind;

use crate::goal::ValueLaw;
use crate::search::grow::USUAL_TOLERANCE;
use crate::search::job::Job;
use crate::search::stated;

/// Joined values of each number of parts that are looked at on each side of the ideal one.
const JOINED_EACH_SIDE: usize = 2;

/// How far from the ideal value a joined one may lie, as a ratio less 1; farther away single parts are as near.
const JOINED_WITHIN: f64 = 0.06;

/// What a part more must gain to be worth it at least, in the unit of the goal.
pub const JOINED_PART: f64 = 0.03;

/// A value that can be had, and what it is bought as.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Value in SI.
    pub value_si: f64,
    /// Coil resistance or equivalent series resistance, ohm.
    pub loss_ohm: f64,
    /// The parts joined, when there are several.
    pub made_of: Option<MadeOf>,
    /// Lines of the catalogue, each with how many are taken; empty for parts of a series.
    pub items: Vec<(usize, u32)>,
    /// Price of all together; `None` where one of them has none.
    pub price: Option<f64>,
    /// Tolerance of the value as one part, 0 to 1; of joined parts that are independent.
    pub tolerance: Option<f64>,
    /// Steps of value from the nearest; 0 for joined parts.
    pub steps: usize,
}

impl Choice {
    /// Number of parts that are bought.
    #[must_use]
    pub fn count(&self) -> u32 {
        (self.made_of.as_ref()).map_or(1, |made_of| made_of.values.len() as u32)
    }

    /// Tolerance, stated or usual.
    pub(super) fn tolerance(&self) -> f64 {
        self.tolerance.unwrap_or(USUAL_TOLERANCE)
    }

    /// What the parts beyond the first cost in the goal; `blur` is what the goal rises by where the part
    /// stands at an end of its tolerance: what gains less cannot be told from a single part.
    #[must_use]
    pub fn penalty(&self, blur: f64) -> f64 {
        JOINED_PART.max(blur) * f64::from(self.count() - 1)
    }
}

/// A single part that can be had.
#[derive(Debug, Clone, Copy)]
struct SingleValue {
    value_si: f64,
    loss_ohm: f64,
    item: Option<usize>,
    price: Option<f64>,
    tolerance: Option<f64>,
}

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

fn off(value: f64, ideal: f64) -> f64 {
    (value / ideal).ln().abs()
}

/// Single parts of a kind, lowest value first.
fn singles(job: &Job, kind: StockKind, present_loss_ohm: f64) -> Vec<SingleValue> {
    let range = job.stock.range(kind);
    let law = job.law(kind);
    let usual_loss = |value: f64| match kind {
        StockKind::Inductor if law == ValueLaw::FixedLoss => present_loss_ohm,
        StockKind::Inductor => stated::loss(law.loss(value, present_loss_ohm)),
        StockKind::Capacitor => range.esr.map_or(present_loss_ohm, |esr| esr.0),
        StockKind::Resistor => 0.0,
    };
    let usual_tolerance = range.tolerance.map(|tolerance| tolerance.0);
    let mut singles: Vec<SingleValue> = (job.stock.catalogue.iter().enumerate())
        .filter(|(_, item)| item.kind == kind)
        .map(|(index, item)| SingleValue {
            value_si: item.value_si,
            loss_ohm: item.loss.map_or(usual_loss(item.value_si), |loss| loss.0),
            item: Some(index),
            price: item.price,
            tolerance: item.tolerance.map(|t| t.0).or(usual_tolerance),
        })
        .collect();
    if singles.is_empty() {
        singles = (range.series.within(range.from_si, range.to_si).into_iter())
            .map(|value_si| SingleValue {
                value_si,
                loss_ohm: usual_loss(value_si),
                item: None,
                price: None,
                tolerance: usual_tolerance,
            })
            .collect();
    } else {
        let counts = &job.stock.catalogue;
        singles.retain(|single| single.item.is_none_or(|item| counts[item].count != Some(0)));
    }
    singles.sort_by(|a, b| a.value_si.total_cmp(&b.value_si));
    singles
}

/// Choices for a part of `kind` with an ideal value: single parts up to `window` steps of value on
/// each side of the nearest, and the nearest joined ones where the stock allows them.
///
/// A step is from one value that can be had to the next; lines of a catalogue with the same value
/// are one step. `None` when the stock holds nothing of the kind.
#[must_use]
pub fn part_choices(
    job: &Job,
    part: usize,
    kind: StockKind,
    ideal_si: f64,
    present_loss_ohm: f64,
    window: usize,
) -> Option<PartChoices> {
    let singles = singles(job, kind, present_loss_ohm);
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
            value_si: single.value_si,
            loss_ohm: single.loss_ohm,
            made_of: None,
            items: single.item.map(|item| (item, 1)).into_iter().collect(),
            price: single.price,
            tolerance: single.tolerance,
            steps: away(single.value_si),
        })
        .collect();
    // Coils are not joined: their fields would meet.
    if kind != StockKind::Inductor && window > 0 {
        choices.extend(joined_choices(job, kind, &singles, ideal_si));
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

/// Whether the values of joined parts add up, and not their inverses.
fn adds_up(kind: StockKind, joined: Joined) -> bool {
    joined.adds_up(kind == StockKind::Capacitor)
}

/// The joined values nearest to the ideal one, as few parts as will do.
fn joined_choices(
    job: &Job,
    kind: StockKind,
    singles: &[SingleValue],
    ideal_si: f64,
) -> Vec<Choice> {
    let together = usize::from(job.stock.range(kind).together);
    if together < 2 {
        return Vec::new();
    }
    // What adds up when joined: capacitance side by side, resistance one after the other; and what
    // adds its inverse the other way round.
    let ways: &[(Joined, bool)] = match kind {
        StockKind::Capacitor => &[(Joined::Parallel, false), (Joined::Series, true)],
        _ => &[(Joined::Series, false), (Joined::Parallel, true)],
    };
    let mut found: Vec<Choice> = Vec::new();
    for &(joined, inverse) in ways {
        let adds = |value: f64| if inverse { value.recip() } else { value };
        let mut values: Vec<(f64, usize)> = (singles.iter().enumerate())
            .map(|(i, single)| (adds(single.value_si), i))
            .collect();
        values.sort_by(|a, b| b.0.total_cmp(&a.0));
        let goal = adds(ideal_si);
        let mut picked = Vec::new();
        collect(
            &values,
            goal,
            together,
            0,
            &mut picked,
            &mut |picked: &[usize]| {
                let parts: Vec<&SingleValue> =
                    picked.iter().map(|&at| &singles[values[at].1]).collect();
                found.extend(join(job, kind, joined, &parts, ideal_si));
            },
        );
    }
    // What a single part gives within its own tolerance needs no second one.
    let single_gives = |choice: &Choice| {
        singles.iter().any(|single| {
            off(single.value_si, choice.value_si) <= single.tolerance.unwrap_or(USUAL_TOLERANCE)
        })
    };
    found.retain(|choice| !single_gives(choice));
    // The usual difference between two builds of a part is 1 %: nearer is no nearer. Capacitors in series and
    // resistors side by side take far more than they give.
    let rank = |c: &Choice| {
        let wasteful = c.made_of.as_ref().is_some_and(|m| !adds_up(kind, m.joined));
        let pieces = f64::from(c.count()) * if wasteful { 2.0 } else { 1.0 };
        off(c.value_si, ideal_si).max(0.01) * pieces
    };
    found.sort_by(|a, b| {
        (rank(a).total_cmp(&rank(b)))
            .then(off(a.value_si, ideal_si).total_cmp(&off(b.value_si, ideal_si)))
    });
    let mut kept: Vec<Choice> = Vec::new();
    for below in [true, false] {
        let mut best = f64::INFINITY;
        for count in 2..=together as u32 {
            // A part more must bring the value nearer.
            let side = (found.iter()).filter(|choice| {
                choice.count() == count
                    && (choice.value_si < ideal_si) == below
                    && rank(choice) < best
            });
            let side: Vec<Choice> = side.take(JOINED_EACH_SIDE).cloned().collect();
            best = side.first().map_or(best, &rank);
            kept.extend(side);
        }
    }
    kept
}

/// Calls `found` with all sets of two to `left` values (greatest first, by place) that add up to
/// about `goal`.
fn collect(
    values: &[(f64, usize)],
    goal: f64,
    left: usize,
    from: usize,
    picked: &mut Vec<usize>,
    found: &mut dyn FnMut(&[usize]),
) {
    let sum: f64 = picked.iter().map(|&at| values[at].0).sum();
    let (least, most) = (goal / (1.0 + JOINED_WITHIN), goal * (1.0 + JOINED_WITHIN));
    if left == 0 {
        return;
    }
    // Greatest first: the rest can add no more than `left` times the next one.
    let start = from + values[from..].partition_point(|(value, _)| sum + value > most);
    for at in start..values.len() {
        let value = values[at].0;
        if sum + value * left as f64 <= least {
            break;
        }
        picked.push(at);
        if picked.len() >= 2 && sum + value >= least {
            found(picked);
        }
        collect(values, goal, left - 1, at, picked, found);
        picked.pop();
    }
}

/// Several parts as one; `None` when there are not that many on hand.
fn join(
    job: &Job,
    kind: StockKind,
    joined: Joined,
    parts: &[&SingleValue],
    ideal_si: f64,
) -> Option<Choice> {
    let mut items: Vec<(usize, u32)> = Vec::new();
    for item in parts.iter().filter_map(|part| part.item) {
        match items.iter_mut().find(|(known, _)| *known == item) {
            Some((_, count)) => *count += 1,
            None => items.push((item, 1)),
        }
    }
    let on_hand = |&(item, count): &(usize, u32)| {
        job.stock.catalogue[item]
            .count
            .is_none_or(|there| there >= count)
    };
    if !items.iter().all(on_hand) {
        return None;
    }
    let adds = adds_up(kind, joined);
    let total: f64 = parts
        .iter()
        .map(|part| {
            if adds {
                part.value_si
            } else {
                part.value_si.recip()
            }
        })
        .sum();
    let value_si = stated::value(if adds { total } else { total.recip() });
    if off(value_si, ideal_si) > JOINED_WITHIN {
        return None;
    }
    // Of capacitors side by side the loss of each counts by the square of its share of the current.
    let loss_ohm = match (kind, joined) {
        (StockKind::Capacitor, Joined::Parallel) => {
            let share = |part: &&SingleValue| (part.value_si / value_si).powi(2) * part.loss_ohm;
            parts.iter().map(share).sum()
        }
        (StockKind::Capacitor, Joined::Series) => parts.iter().map(|part| part.loss_ohm).sum(),
        _ => 0.0,
    };
    let tolerance: Option<f64> = (parts.iter())
        .map(|part| {
            let share = if adds {
                part.value_si / value_si
            } else {
                value_si / part.value_si
            };
            part.tolerance.map(|tolerance| (share * tolerance).powi(2))
        })
        .sum::<Option<f64>>()
        .map(f64::sqrt);
    Some(Choice {
        value_si,
        loss_ohm: stated::loss(loss_ohm),
        made_of: Some(MadeOf {
            joined,
            values: parts.iter().map(|part| part.value_si).collect(),
        }),
        items,
        price: parts.iter().map(|part| part.price).sum(),
        tolerance,
        steps: 0,
    })
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    /// Capacitors side by side: the real part of the impedance of both branches together, well below the
    /// frequency at which the losses decide, by complex arithmetic and nothing else.
    #[test]
    fn the_loss_of_capacitors_side_by_side_is_that_of_the_circuit() {
        let single = |value_si: f64, loss_ohm: f64| SingleValue {
            value_si,
            loss_ohm,
            item: None,
            price: None,
            tolerance: None,
        };
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/brief.toml");
        let Ok(loaded) = netlist::project::load(&file) else {
            panic!("the demo's brief is sound");
        };
        let job = Job::new(&loaded.project).unwrap();
        let omega = 2.0 * std::f64::consts::PI * 1000.0;
        for pair in [
            [single(10e-6, 0.02), single(10e-6, 0.02)],
            [single(10e-6, 0.02), single(22e-6, 0.05)],
            [single(1e-6, 0.3), single(4.7e-6, 0.01)],
        ] {
            let branch =
                |one: &SingleValue| Complex64::new(one.loss_ohm, -1.0 / (omega * one.value_si));
            let [a, b] = [&pair[0], &pair[1]];
            let beside = (branch(a).inv() + branch(b).inv()).inv();
            let after = branch(a) + branch(b);
            for (joined, whole) in [(Joined::Parallel, beside), (Joined::Series, after)] {
                let value_si = -1.0 / (omega * whole.im);
                let kind = StockKind::Capacitor;
                let found = join(&job, kind, joined, &[a, b], value_si).expect("in reach");
                assert!((found.value_si / value_si - 1.0).abs() < 1e-3);
                assert!(
                    (found.loss_ohm / whole.re - 1.0).abs() < 2e-3,
                    "{joined:?} {found:?} {whole}"
                );
            }
        }
    }
}

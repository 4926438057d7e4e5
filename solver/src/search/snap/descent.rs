//! From ideal values to the values of the stock, so that the loudspeaker changes least.
//!
//! Starts at the nearest value of every part and moves one part at a time, then two at a time, as
//! long as the goal gains.

use netlist::network::{Joined, MadeOf};
use netlist::project::StockKind;

use super::choices::rounded;
use crate::goal::Targets;
use crate::search::job::Job;
use crate::search::joint::{Candidate, objective, set_value};
use crate::search::least_squares::Residuals;
use crate::search::way_fit::stock_kind;

/// Neighbours looked at on each side of a value.
const WINDOW: usize = 3;

/// What a part that is made of two must gain to be worth it, in the unit of the goal.
const JOINED_PART: f64 = 0.03;

/// A value that can be had, and what it is made of when it is not one part.
#[derive(Debug, Clone, PartialEq)]
pub struct StockValue {
    /// Value in SI.
    pub value_si: f64,
    /// Loss in ohm.
    pub loss_ohm: f64,
    /// The parts joined, when there are several.
    pub made_of: Option<MadeOf>,
}

/// Values of the stock around an ideal one, lowest first: single parts within `WINDOW` steps, and
/// the nearest joined ones where the stock allows them.
#[must_use]
pub fn stock_values(job: &Job, kind: StockKind, ideal_si: f64) -> Vec<StockValue> {
    let range = job.stock.range(kind);
    let listed: Vec<(f64, Option<f64>)> = (job.stock.items(kind))
        .map(|item| (item.value_si, item.loss.map(|loss| loss.0)))
        .collect();
    let law = job.law(kind);
    let series_loss = |value: f64| match kind {
        StockKind::Inductor => law.loss(value, 0.0),
        StockKind::Capacitor => range.esr.map_or(0.0, |esr| esr.0),
        StockKind::Resistor => 0.0,
    };
    let mut singles: Vec<(f64, f64)> = if listed.is_empty() {
        let values = range.series.within(range.from_si, range.to_si);
        values.into_iter().map(|v| (v, series_loss(v))).collect()
    } else {
        listed
            .iter()
            .map(|&(v, loss)| (v, loss.unwrap_or_else(|| series_loss(v))))
            .collect()
    };
    singles.sort_by(|a, b| a.0.total_cmp(&b.0));
    singles.dedup();
    let single = |&(value_si, loss_ohm): &(f64, f64)| StockValue {
        value_si,
        loss_ohm,
        made_of: None,
    };
    let at = singles.partition_point(|(v, _)| *v < ideal_si);
    let window = at.saturating_sub(WINDOW)..(at + WINDOW).min(singles.len());
    let mut values: Vec<StockValue> = singles[window].iter().map(single).collect();
    // Coils are not joined: their fields would meet.
    if range.together >= 2 && kind != StockKind::Inductor {
        let mut joined: Vec<StockValue> = Vec::new();
        for (i, a) in singles.iter().enumerate() {
            for b in &singles[i..] {
                let sum = a.0 + b.0;
                let close = |v: f64| (v / ideal_si).ln().abs() < 0.05;
                let joined_as = match kind {
                    StockKind::Capacitor => Joined::Parallel,
                    _ => Joined::Series,
                };
                if close(sum) {
                    let loss_ohm = match kind {
                        StockKind::Capacitor => a.1 * b.1 / (a.1 + b.1).max(f64::MIN_POSITIVE),
                        _ => 0.0,
                    };
                    joined.push(StockValue {
                        value_si: rounded(sum),
                        loss_ohm,
                        made_of: Some(MadeOf {
                            joined: joined_as,
                            values: vec![b.0, a.0],
                        }),
                    });
                }
            }
        }
        joined.sort_by(|a, b| {
            let off = |v: &StockValue| (v.value_si / ideal_si).ln().abs();
            off(a).total_cmp(&off(b))
        });
        joined.truncate(2);
        values.extend(joined);
        values.sort_by(|a, b| a.value_si.total_cmp(&b.value_si));
    }
    values
}

/// Moves every value of a candidate onto the stock; `None` where the stock holds no part of a kind
/// that is needed.
#[must_use]
pub fn snap(job: &Job, targets: &Targets, ideal: &Candidate) -> Option<Candidate> {
    let (mut goal, ..) = objective(job, &ideal.network, &ideal.fitted, targets)?;
    let parts: Vec<usize> = (ideal.network.parts().values().enumerate())
        .filter(|(_, part)| !part.fixed && stock_kind(&part.kind).is_some())
        .map(|(i, _)| i)
        .collect();
    let mut choices: Vec<Vec<StockValue>> = Vec::new();
    let mut chosen: Vec<usize> = Vec::new();
    for &part in &parts {
        let part = &ideal.network.parts()[part];
        let value = part.value_si()?;
        let values = stock_values(job, stock_kind(&part.kind)?, value);
        let nearest = (0..values.len()).min_by(|&a, &b| {
            let off = |i: usize| (values[i].value_si / value).ln().abs();
            off(a).total_cmp(&off(b))
        })?;
        choices.push(values);
        chosen.push(nearest);
    }
    let mut judge = Judge::new(&mut goal, ideal.level_db);
    let mut best = judge.cost(&choices, &chosen);
    loop {
        let before = best;
        for i in 0..parts.len() {
            for choice in 0..choices[i].len() {
                let old = std::mem::replace(&mut chosen[i], choice);
                let cost = judge.cost(&choices, &chosen);
                if cost < best {
                    best = cost;
                } else {
                    chosen[i] = old;
                }
            }
        }
        for i in 0..parts.len() {
            for j in 0..i {
                for (di, dj) in [(-1, -1), (-1, 1), (1, -1), (1, 1)] {
                    let moved = |k: usize, d: isize| {
                        chosen[k]
                            .checked_add_signed(d)
                            .filter(|c| *c < choices[k].len())
                    };
                    let (Some(to_i), Some(to_j)) = (moved(i, di), moved(j, dj)) else {
                        continue;
                    };
                    let old = (chosen[i], chosen[j]);
                    (chosen[i], chosen[j]) = (to_i, to_j);
                    let cost = judge.cost(&choices, &chosen);
                    if cost < best {
                        best = cost;
                    } else {
                        (chosen[i], chosen[j]) = old;
                    }
                }
            }
        }
        if before - best <= 1e-9 * before {
            break;
        }
    }
    // Leaves the level of the best choice behind.
    judge.cost(&choices, &chosen);
    let mut network = ideal.network.clone();
    for (i, &part) in parts.iter().enumerate() {
        let choice = &choices[i][chosen[i]];
        let part = &mut network.parts_mut()[part];
        set_value(&mut part.kind, choice.value_si, choice.loss_ohm);
        part.made_of.clone_from(&choice.made_of);
    }
    let level_db = judge.level_db;
    Some(Candidate {
        network,
        cost: best,
        level_db,
        ..ideal.clone()
    })
}

/// The goal for chosen stock values, at the level that suits them best.
struct Judge<'a> {
    goal: &'a mut crate::goal::Objective,
    level_db: f64,
    room: Vec<f64>,
    x: Vec<f64>,
    /// How each residual moves with the level.
    level_column: Option<Vec<f64>>,
}

impl<'a> Judge<'a> {
    fn new(goal: &'a mut crate::goal::Objective, level_db: f64) -> Self {
        let x = goal.start(level_db);
        let (rows, columns) = (goal.residuals(), goal.variables());
        let mut room = vec![0.0; rows];
        let mut jacobian = vec![0.0; rows * columns];
        goal.evaluate(&x, &mut room, true);
        goal.slopes(&mut jacobian);
        let free = columns > goal.variable_count();
        let level_column = free.then(|| jacobian[rows * (columns - 1)..].to_vec());
        Self {
            goal,
            level_db,
            room,
            x,
            level_column,
        }
    }

    fn cost(&mut self, choices: &[Vec<StockValue>], chosen: &[usize]) -> f64 {
        for (i, &choice) in chosen.iter().enumerate() {
            self.x[i] = choices[i][choice].value_si.ln();
        }
        let joined = (chosen.iter().zip(choices))
            .filter(|&(&choice, choices)| choices[choice].made_of.is_some())
            .count();
        let cost = self.goal.cost(&self.x, &mut self.room) + JOINED_PART * joined as f64;
        let Some(column) = &self.level_column else {
            return cost;
        };
        let along: f64 = column.iter().zip(&self.room).map(|(c, r)| c * r).sum();
        let square: f64 = column.iter().map(|c| c * c).sum();
        let last = self.x.len() - 1;
        let step = -along / square;
        let level_db = (self.x[last] + step) * 20.0 / std::f64::consts::LN_10;
        self.level_db = level_db;
        cost - along * along / square
    }
}

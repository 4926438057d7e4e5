//! From ideal values to the values of the stock, so that the loudspeaker changes least.
//!
//! Starts at the nearest value of every part and moves one part at a time, then two at a time, as
//! long as the goal gains.

use super::choices::{Choice, part_choices};
use crate::nodal::Values;
use crate::search::grow::{Fitted, Problem};
use crate::search::least_squares::Residuals;
use crate::search::values::{set_value, stock_kind};

/// Neighbours looked at on each side of a value.
const WINDOW: usize = 3;

/// Moves every value of a candidate onto the stock; `None` where the stock holds no part of a kind
/// that is needed.
#[must_use]
pub fn snap(problem: &Problem<'_>, ideal: &Fitted) -> Option<Fitted> {
    let job = problem.job;
    let mut goal = problem.objective(&ideal.network)?.objective;
    let parts: Vec<usize> = (ideal.network.parts().values().enumerate())
        .filter(|(_, part)| !part.fixed && stock_kind(&part.kind).is_some())
        .map(|(i, _)| i)
        .collect();
    let values = Values::of(&ideal.network);
    let mut choices: Vec<Vec<Choice>> = Vec::new();
    let mut chosen: Vec<usize> = Vec::new();
    for &part in &parts {
        let kind = &ideal.network.parts()[part].kind;
        let (value, loss) = (values.value[part], values.loss[part]);
        let all = part_choices(job, part, stock_kind(kind)?, value, loss, WINDOW)?;
        chosen.push(all.nearest);
        choices.push(all.choices);
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
    Some(Fitted {
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

    fn cost(&mut self, choices: &[Vec<Choice>], chosen: &[usize]) -> f64 {
        for (i, &choice) in chosen.iter().enumerate() {
            self.x[i] = choices[i][choice].value_si.ln();
        }
        let pieces: f64 = (chosen.iter().zip(choices))
            .map(|(&choice, choices)| choices[choice].penalty())
            .sum();
        let cost = self.goal.cost(&self.x, &mut self.room) + pieces;
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

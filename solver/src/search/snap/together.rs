//! All blocks together, combination by combination, where there are few enough.

use rayon::prelude::*;

use super::block::Response;
use super::goal::GoalTables;
use super::search::Search;

/// Combinations of everything that are looked at one by one, and those of single blocks that are
/// kept for it with what they do.
const MOST_TOGETHER: f64 = 6e6;
const MOST_KEPT: f64 = 8000.0;

impl Search<'_> {
    /// Looks at every combination of all choices, after which `chosen` is the best there is; `false` where
    /// they are too many.
    pub(super) fn exhaust(&mut self, chosen: &mut Vec<usize>) -> bool {
        if !self.is_small() {
            return false;
        }
        let cost = self.cost(chosen).0;
        let lists: Vec<Vec<Vec<usize>>> = (0..self.blocks.len())
            .map(|block| self.all_of_block(block, chosen))
            .collect();
        if let Some((_, better)) = self.best_of_lists(&lists, cost) {
            *chosen = better;
        }
        true
    }

    /// All combinations of a block, the rest as chosen.
    fn all_of_block(&self, block: usize, chosen: &[usize]) -> Vec<Vec<usize>> {
        let mut all = vec![chosen.to_vec()];
        for &part in &self.blocks[block].parts {
            all = (all.into_iter())
                .flat_map(|choice| {
                    (0..self.movable[part].choices.len()).map(move |digit| {
                        let mut choice = choice.clone();
                        choice[part] = digit;
                        choice
                    })
                })
                .collect();
        }
        all
    }

    /// Combinations of all choices of all parts.
    fn combinations(&self) -> f64 {
        self.blocks
            .iter()
            .map(|block| block.combinations(self.movable))
            .product()
    }

    /// Whether every combination of everything can be looked at.
    fn is_small(&self) -> bool {
        let kept: f64 = self
            .blocks
            .iter()
            .map(|block| block.combinations(self.movable))
            .sum();
        kept <= MOST_KEPT && self.combinations() <= MOST_TOGETHER
    }

    /// The best of all combinations of the lists, one member a block, where it is better than `cost`.
    fn best_of_lists(&mut self, lists: &[Vec<Vec<usize>>], cost: f64) -> Option<(f64, Vec<usize>)> {
        let together: f64 = lists.iter().map(|list| list.len() as f64).product();
        self.looked_at += together as u64;
        let this = &*self;
        let responses: Vec<Vec<Response>> = (lists.iter().enumerate())
            .map(|(block, list)| {
                list.par_iter()
                    .map(|choice| this.response(block, choice))
                    .collect()
            })
            .collect();
        let penalties: Vec<Vec<f64>> = (lists.iter().enumerate())
            .map(|(block, list)| {
                list.iter()
                    .map(|choice| this.penalty(block, choice))
                    .collect()
            })
            .collect();
        let outer = (0..lists.len()).max_by_key(|&block| lists[block].len())?;
        let found: Vec<Option<(f64, Vec<usize>)>> = (0..lists[outer].len())
            .into_par_iter()
            .map(|first| {
                let mut best: Option<(f64, Vec<usize>)> = None;
                let mut limit = cost - 1e-9 * cost.max(1.0);
                let mut at = vec![0; lists.len()];
                at[outer] = first;
                loop {
                    let penalty: f64 = at.iter().zip(&penalties).map(|(&i, list)| list[i]).sum();
                    let members: Vec<(&[usize], &Response)> = (this.blocks.iter().zip(&responses))
                        .zip(&at)
                        .map(|((block, list), &i)| (block.ways.as_slice(), &list[i]))
                        .collect();
                    let cost = penalty + evaluate(&this.tables, &members, limit - penalty);
                    if cost < limit {
                        let mut choice = vec![0; this.movable.len()];
                        for (block, &i) in at.iter().enumerate() {
                            for &part in &this.blocks[block].parts {
                                choice[part] = lists[block][i][part];
                            }
                        }
                        let all = (0..choice.len()).map(|number| this.choice(number, &choice));
                        let cost = cost + this.limits.shortage(all);
                        if cost < limit {
                            limit = cost;
                            best = Some((cost, choice));
                        }
                    }
                    // The next one, like an odometer.
                    let mut block = 0;
                    loop {
                        if block == lists.len() {
                            return best;
                        }
                        if block != outer {
                            at[block] += 1;
                            if at[block] < lists[block].len() {
                                break;
                            }
                            at[block] = 0;
                        }
                        block += 1;
                    }
                }
            })
            .collect();
        (found.into_iter().flatten()).min_by(|a, b| a.0.total_cmp(&b.0))
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn evaluate(tables: &GoalTables, members: &[(&[usize], &Response)], limit: f64) -> f64 {
    tables.evaluate_below(members, limit).0
}

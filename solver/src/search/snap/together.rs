//! All blocks together, combination by combination, where there are few enough.

use rayon::prelude::*;

use super::block_search::SearchEnd;
use super::goal::GoalTables;
use super::model::Picks;
use super::response::BlockResponse;
use super::search::Search;

/// Combinations of everything that are looked at one by one, and those of single blocks that are
/// kept for it with what they do.
const MOST_TOGETHER: f64 = 2e6;
const MOST_KEPT: f64 = 8000.0;

/// One combination of a block: its choices, what it does, and what it adds by itself.
struct MemberTogether {
    chosen: Vec<usize>,
    response: BlockResponse,
    extra: f64,
}

impl Search<'_> {
    /// Looks at every combination of all choices: the best `keep` with their costs. `None` where they are too
    /// many, or where it is stopped.
    pub(super) fn exhaust(
        &self,
        allowed: &[Vec<usize>],
        keep: usize,
        stop: SearchEnd<'_>,
    ) -> Option<Picks> {
        let sizes: Vec<f64> = (0..self.blocks.len())
            .map(|block| self.combinations(block, allowed))
            .collect();
        let all: f64 = sizes.iter().product();
        if sizes.iter().sum::<f64>() > MOST_KEPT || all > MOST_TOGETHER {
            return None;
        }
        let lists: Vec<Vec<MemberTogether>> = (0..self.blocks.len())
            .map(|block| self.members(block, allowed))
            .collect();
        let outer = (0..lists.len()).max_by_key(|&block| lists[block].len())?;
        let found: Option<Vec<Picks>> = (0..lists[outer].len())
            .into_par_iter()
            .map(|first| match stop() {
                true => None,
                false => Some(self.best_with(&lists, outer, first, keep)),
            })
            .collect();
        let mut best = Picks::new(keep);
        for (cost, chosen) in found?.into_iter().flat_map(|picks| picks.entries) {
            best.offer(cost, &chosen);
        }
        Some(best)
    }

    /// All combinations of a block.
    fn members(&self, block: usize, allowed: &[Vec<usize>]) -> Vec<MemberTogether> {
        let parts = &self.blocks[block].parts;
        let mut all = vec![vec![0; self.movable.len()]];
        for &part in parts {
            all = (all.into_iter())
                .flat_map(|choice| {
                    allowed[part].iter().map(move |&at| {
                        let mut choice = choice.clone();
                        choice[part] = at;
                        choice
                    })
                })
                .collect();
        }
        (all.into_par_iter())
            .map(|chosen| MemberTogether {
                response: self.response(block, &chosen),
                extra: parts
                    .iter()
                    .map(|&part| self.extras[part][chosen[part]])
                    .sum(),
                chosen,
            })
            .collect()
    }

    /// The best combinations of the lists that have member number `first` of the list `outer`.
    fn best_with(
        &self,
        lists: &[Vec<MemberTogether>],
        outer: usize,
        first: usize,
        keep: usize,
    ) -> Picks {
        let mut best = Picks::new(keep);
        let mut at = vec![0; lists.len()];
        at[outer] = first;
        let mut chosen = vec![0; self.movable.len()];
        loop {
            let members = || lists.iter().zip(&at).map(|(list, &i)| &list[i]);
            let extra: f64 = members().map(|member| member.extra).sum();
            let whole: Vec<(&[usize], &BlockResponse)> = (self.blocks.iter().zip(members()))
                .map(|(block, member)| (block.ways.as_slice(), &member.response))
                .collect();
            let cost = extra + evaluate(&self.tables, &whole, best.limit() - extra);
            if cost < best.limit() {
                for (block, member) in self.blocks.iter().zip(members()) {
                    for &part in &block.parts {
                        chosen[part] = member.chosen[part];
                    }
                }
                best.offer(cost + self.shortage(&chosen), &chosen);
            }
            // The next one, like an odometer.
            let mut others = (0..lists.len()).filter(|&block| block != outer);
            let next = others.find(|&block| {
                at[block] = (at[block] + 1) % lists[block].len();
                at[block] > 0
            });
            if next.is_none() {
                return best;
            }
        }
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn evaluate(tables: &GoalTables, members: &[(&[usize], &BlockResponse)], limit: f64) -> f64 {
    tables.evaluate_below(members, limit).0
}

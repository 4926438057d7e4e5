//! Other choices that are worth a look.

use super::block_search::SearchEnd;
use super::effort::THOROUGH;
use super::network::{Explorations, Selection, SnapMerit, Task};
use super::search::Search;
use crate::nodal::PlanError;

/// Alternatives that are offered.
const ALTERNATIVES: usize = 4;
/// Steps towards a lower price, and what each takes off.
const CHEAPER: usize = 8;
const CHEAPER_BY: f64 = 0.93;
/// How much worse the cheapest choice may be, in the unit of the goal: about 0.2 dB of a curve that is
/// flat within 0.5 dB.
const AS_GOOD: f64 = 1.0;

impl Task<'_> {
    /// Choices that are not among those `seen`, of which the first is the best.
    pub(super) fn alternatives(
        &self,
        search: &Search<'_>,
        explorations: &Explorations,
        seen: &[Selection],
        stop: SearchEnd<'_>,
    ) -> Result<Vec<(SnapMerit, Selection)>, PlanError> {
        let best = &seen[0];
        let mut seen: Vec<Vec<usize>> = seen.iter().map(|one| one.chosen.clone()).collect();
        let mut offered: Vec<(SnapMerit, Selection)> = Vec::new();
        let mut offer = |merit: SnapMerit, other: Selection| {
            let new = !seen.contains(&other.chosen) && other.cost.is_finite();
            if new && offered.len() < ALTERNATIVES {
                seen.push(other.chosen.clone());
                offered.push((merit, other));
            }
        };
        if let Some(cheapest) = self.cheapest(best, stop)? {
            offer(SnapMerit::Cheapest, cheapest);
        }
        if best.pieces as usize > self.parts.len() {
            offer(
                SnapMerit::SinglesOnly,
                self.selection(search, explorations.best(1)),
            );
        }
        let last = explorations.list.last();
        for next in last.iter().flat_map(|(.., found)| &found.ranked) {
            offer(SnapMerit::RunnerUp, self.selection(search, next));
        }
        Ok(offered)
    }

    /// A step at a time cheaper, as long as the loudspeaker bears it.
    fn cheapest(
        &self,
        best: &Selection,
        stop: SearchEnd<'_>,
    ) -> Result<Option<Selection>, PlanError> {
        let mut found: Option<Selection> = None;
        for _ in 0..CHEAPER {
            let known = found.as_ref().unwrap_or(best);
            let Some(price) = known.price else {
                break;
            };
            if stop() {
                break;
            }
            let search = self.search(Some(CHEAPER_BY * price))?;
            let everything = search.everything();
            let starts = [known.chosen.clone()];
            let explored = self.explore(&search, &everything, &starts, THOROUGH.shorter(), stop);
            let other = self.selection(&search, &explored.ranked[0]);
            if other.cost > best.cost + AS_GOOD {
                break;
            }
            found = Some(other);
        }
        Ok(found)
    }
}

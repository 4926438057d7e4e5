//! Growing upwards and pruning downwards, until nothing changes.

use rayon::prelude::*;

use super::pace::Effort;
use super::population::Population;
use super::problem::Fitted;
use super::recombine::recombine;
use super::step::{Growth, GrowthDirection};

/// A network is not grown further when so much error and parts together stand against the best.
const HOPELESS: f64 = 1.2;

/// Told of the networks and of the effort after every size.
pub type GrowthWatch<'a> = &'a mut dyn FnMut(&Population, Effort);

impl Growth<'_> {
    /// Grows and prunes `population` until nothing changes.
    pub fn evolve(&self, population: &mut Population, watch: GrowthWatch<'_>) -> Effort {
        let mut effort = Effort::default();
        for _ in 0..self.pace.rounds {
            let mut pass = |direction, effort: Effort| {
                let mut watch = |population: &Population, spent: Effort| {
                    let mut all = effort;
                    all += spent;
                    watch(population, all);
                };
                self.pass(population, direction, &mut watch)
            };
            let up = pass(GrowthDirection::Up, effort);
            effort += up;
            let down = pass(GrowthDirection::Down, effort);
            effort += down;
            effort += recombine(self, population);
            if up.fits + down.fits == 0 || (self.stop)() {
                break;
            }
        }
        effort
    }

    /// Once through all sizes.
    pub fn pass(
        &self,
        population: &mut Population,
        direction: GrowthDirection,
        watch: GrowthWatch<'_>,
    ) -> Effort {
        let mut effort = Effort::default();
        let mut next = match direction {
            GrowthDirection::Up => population.sizes().next(),
            GrowthDirection::Down => population.sizes().next_back(),
        };
        while let Some(size) = next {
            if (self.stop)() {
                break;
            }
            let parents = self.parents(population, size, direction);
            let bars: Vec<f64> = (0..=size + 3).map(|size| population.bar(size)).collect();
            let children: Vec<(Vec<Fitted>, Effort)> = parents
                .par_iter()
                .map(|parent| self.children(parent, direction, &bars))
                .collect();
            for (children, spent) in children {
                effort += spent;
                for child in children {
                    population.offer(child);
                }
            }
            watch(population, effort);
            next = match direction {
                GrowthDirection::Up => population.sizes().find(|&other| other > size),
                GrowthDirection::Down => population.sizes().rev().find(|&other| other < size),
            };
        }
        effort
    }

    /// The networks of a size that a step is taken from, none twice.
    fn parents(
        &self,
        population: &mut Population,
        size: usize,
        direction: GrowthDirection,
    ) -> Vec<Fitted> {
        let pace = &self.pace;
        let best = population.best().map_or(f64::INFINITY, Fitted::rank);
        let best_size = population.best().map_or(0, Fitted::part_count);
        let asked_for = pace.asked.is_some_and(|asked| size <= asked);
        let worth = size < pace.most_parts && (size <= best_size + pace.beyond || asked_for);
        let breadth = pace.breadth_at(size, best_size);
        (population.of_size_mut(size).iter_mut().take(breadth))
            .filter_map(|member| {
                let (seen, hopeful) = match direction {
                    GrowthDirection::Up => {
                        let near = member.fitted.rank() <= best + HOPELESS;
                        let hopeful = worth && (size < best_size || asked_for || near);
                        (&mut member.grown, hopeful)
                    }
                    GrowthDirection::Down => (&mut member.reduced, true),
                };
                (hopeful && !std::mem::replace(seen, true)).then(|| member.fitted.clone())
            })
            .collect()
    }
}

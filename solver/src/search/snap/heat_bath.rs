//! Annealing on the goal itself, where the model about a point no longer tells the last few choices apart.
//!
//! A part at random takes one of its choices by their Boltzmann weights, the others standing as they are (a
//! heat bath: Geman and Geman 1984), while it grows colder.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::block_search::SearchEnd;
use super::model::Picks;
use super::point::SnapPoint;
use super::search::Search;

/// Limits of the first temperature, and how much colder it ends.
const HEAT: (f64, f64) = (0.01, 1.0);
const COLDER: f64 = 0.01;

/// Choices whose goal is more temperatures above the least than this are never taken.
const NEVER: f64 = 25.0;

/// Steps after which the numbers of the point are worked out anew, before their rounding adds up.
const ANEW: usize = 200;

impl Search<'_> {
    /// Anneals from a choice, whose goal times `share` is the first temperature; the best few of what it comes by.
    pub(super) fn heat_bath(
        &self,
        allowed: &[Vec<usize>],
        start: &[usize],
        (share, steps): (f64, usize),
        rng: &mut ChaCha8Rng,
        stop: SearchEnd<'_>,
    ) -> Picks {
        let mut best = Picks::new(4);
        let mut chosen = start.to_vec();
        let mut point = SnapPoint::at(self, &chosen);
        let mut cost = point.cost().0 + self.extra(&chosen) + self.shortage(&chosen);
        let first = (share * cost).clamp(HEAT.0, HEAT.1);
        let free: Vec<usize> = (0..chosen.len())
            .filter(|&part| allowed[part].len() > 1)
            .collect();
        for step in 0..steps {
            if free.is_empty() || step % 16 == 0 && stop() {
                break;
            }
            if step % ANEW == ANEW - 1 {
                point = SnapPoint::at(self, &chosen);
            }
            let heat = first * COLDER.powf(step as f64 / steps as f64);
            let part = free[rng.random_range(0..free.len())];
            // One number a step, whatever happens.
            let luck: f64 = rng.random_range(0.0..1.0);
            let costs = self.costs(&point, allowed, &chosen, part, cost + NEVER * heat);
            let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
            if !least.is_finite() {
                continue;
            }
            let weight = |cost: &f64| ((least - cost) / heat).exp();
            let mut left = luck * costs.iter().map(weight).sum::<f64>();
            let taken = costs.iter().position(|cost| {
                left -= weight(cost);
                left <= 0.0
            });
            let place = taken.unwrap_or(0);
            let at = allowed[part][place];
            cost = costs[place];
            if at != chosen[part] {
                chosen[part] = at;
                point.put(part, self.value(part, &chosen));
                best.offer(cost, &chosen);
            }
        }
        best
    }

    /// Goals with each choice of a part, infinite where they reach `limit`.
    fn costs(
        &self,
        point: &SnapPoint<'_>,
        allowed: &[Vec<usize>],
        chosen: &[usize],
        part: usize,
        limit: f64,
    ) -> Vec<f64> {
        let free = point.free(part);
        let mut other = chosen.to_vec();
        let rest = self.extra(chosen) - self.extras[part][chosen[part]];
        (allowed[part].iter())
            .map(|&at| {
                other[part] = at;
                let extra = rest + self.extras[part][at] + self.shortage(&other);
                free.cost(self.value(part, &other), limit - extra) + extra
            })
            .collect()
    }
}

//! A model of the goal about one point, in which a choice costs a few additions.
//!
//! The goal is a sum of squares of residuals. Each choice of each part moves them by a vector that is worked
//! out exactly, the others standing as they are; of several changes the model adds the vectors up, so that
//! the goal is that of a least-squares problem in which one vector is picked for each part,
//!
//! ```text
//! ‖r + Σ_k d_k‖² = ‖r‖² + Σ_k (2 r·d_k + d_k·d_k) + 2 Σ_{k<j} d_k·d_j
//! ```
//!
//! and all that is needed of the vectors is their scalar products. The picks are searched by annealing
//! (Kirkpatrick, Gelatt and Vecchi 1983), a step of which costs some nanoseconds; what is found is then worked
//! out exactly.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::point::SnapPoint;
use super::search::{Costed, Search};
use crate::least_squares::dots;

/// Temperatures of the annealing, in the unit of the goal: from where everything moves to where nothing does.
const HOT: f64 = 1.0;
const COLD: f64 = 2e-3;

/// Share of the steps that change two parts.
const TWO_AT_ONCE: f64 = 0.4;

/// The model of a search about a point.
pub(super) struct Model<'s> {
    search: &'s Search<'s>,
    /// For each part the choices that are looked at.
    allowed: &'s [Vec<usize>],
    /// Number of the first choice of each part.
    first: Vec<usize>,
    count: usize,
    base: f64,
    /// What a choice adds by itself.
    own: Vec<f64>,
    /// Twice the scalar products, row by row; 0 between choices of one part.
    twice: Vec<f64>,
}

/// The best picks, best first, each once.
pub(super) struct Picks {
    keep: usize,
    pub(super) entries: Costed,
}

impl Picks {
    pub(super) fn new(keep: usize) -> Self {
        Self {
            keep,
            entries: Vec::new(),
        }
    }

    /// What a cost must be below of to get in.
    pub(super) fn limit(&self) -> f64 {
        match self.entries.len() < self.keep {
            true => f64::INFINITY,
            false => self.entries[self.keep - 1].0,
        }
    }

    pub(super) fn offer(&mut self, cost: f64, pick: &[usize]) {
        if cost >= self.limit() {
            return;
        }
        // Costs that were reached by different ways differ by rounding.
        let near = 1e-7 * cost.abs().max(1.0);
        let from = self
            .entries
            .partition_point(|(known, _)| *known < cost - near);
        let mut alike = self.entries[from..].iter();
        if (alike.by_ref())
            .take_while(|(known, _)| *known <= cost + near)
            .any(|(_, known)| known == pick)
        {
            return;
        }
        let at = (self.entries).partition_point(|(c, p)| {
            c.total_cmp(&cost)
                .then_with(|| p.as_slice().cmp(pick))
                .is_lt()
        });
        self.entries.insert(at, (cost, pick.to_vec()));
        self.entries.truncate(self.keep);
    }
}

impl<'s> Model<'s> {
    pub(super) fn new(
        search: &'s Search<'s>,
        point: &SnapPoint<'_>,
        allowed: &'s [Vec<usize>],
    ) -> Self {
        let mut first = Vec::new();
        let mut count = 0;
        for part in allowed {
            first.push(count);
            count += part.len();
        }
        let direction = search.tables.level_direction();
        let level = |rows: &mut [f64]| {
            if !direction.is_empty() {
                let along = dots(&direction, [&*rows])[0];
                (rows.iter_mut().zip(&direction)).for_each(|(r, d)| *r -= along * d);
            }
        };
        let mut here = Vec::new();
        point.free(0).residuals(point.values[0], &mut here);
        level(&mut here);
        let rows = here.len();
        let mut moved: Vec<f64> = Vec::with_capacity(count * rows);
        let mut own = Vec::with_capacity(count);
        for (number, choices) in allowed.iter().enumerate() {
            let free = point.free(number);
            for &at in choices {
                let choice = &search.movable[number].choices[at];
                let from = moved.len();
                free.residuals((choice.value_si, choice.loss_ohm), &mut moved);
                let own_rows = &mut moved[from..];
                level(own_rows);
                (own_rows.iter_mut().zip(&here)).for_each(|(r, h)| *r -= h);
                let [along, square] = dots(own_rows, [&here, &*own_rows]);
                own.push(2.0 * along + square + search.extras[number][at]);
            }
        }
        let twice = products(&moved, rows, &first, count);
        Self {
            search,
            allowed,
            first,
            count,
            base: dots(&here, [&here])[0],
            own,
            twice,
        }
    }

    fn row(&self, choice: usize) -> &[f64] {
        &self.twice[choice * self.count..][..self.count]
    }

    /// Anneals from a pick (places among the allowed choices) and offers what is good to `best`.
    pub(super) fn anneal(
        &self,
        start: &[usize],
        steps: usize,
        rng: &mut ChaCha8Rng,
        best: &mut Picks,
    ) {
        let free: Vec<usize> = (0..start.len())
            .filter(|&part| self.allowed[part].len() > 1)
            .collect();
        if free.is_empty() {
            best.offer(self.cost(start), &self.chosen(start));
            return;
        }
        let mut at = ModelPlace::new(self, start);
        let cooling = (COLD / HOT).powf(1.0 / steps as f64);
        let mut heat = HOT;
        for _ in 0..steps {
            heat *= cooling;
            let pick = |rng: &mut ChaCha8Rng| {
                let part = free[rng.random_range(0..free.len())];
                (part, rng.random_range(0..self.allowed[part].len()))
            };
            let one = pick(rng);
            let mut two = None;
            if free.len() > 1 && rng.random_range(0.0..1.0) < TWO_AT_ONCE {
                two = Some(pick(rng)).filter(|two| two.0 != one.0);
            }
            let change = at.change(one, two);
            // One number a step, whether it is needed or not.
            let luck: f64 = rng.random_range(0.0..1.0);
            if change <= 0.0 || luck < (-change / heat).exp() {
                at.take(one, two, best);
            }
        }
        at.settle(&free, best);
    }

    /// A pick at random.
    pub(super) fn random(&self, rng: &mut ChaCha8Rng) -> Vec<usize> {
        (self.allowed.iter())
            .map(|choices| rng.random_range(0..choices.len()))
            .collect()
    }

    /// The choices that a pick stands for.
    fn chosen(&self, pick: &[usize]) -> Vec<usize> {
        (self.allowed.iter().zip(pick))
            .map(|(choices, &place)| choices[place])
            .collect()
    }

    /// The goal of a pick.
    pub(super) fn cost(&self, pick: &[usize]) -> f64 {
        let numbers: Vec<usize> = self.first.iter().zip(pick).map(|(f, p)| f + p).collect();
        let mut cost = self.base;
        for (i, &a) in numbers.iter().enumerate() {
            cost += self.own[a];
            cost += numbers[..i].iter().map(|&b| self.row(a)[b]).sum::<f64>();
        }
        cost
    }
}

/// Twice the scalar products of all choices of different parts.
fn products(moved: &[f64], rows: usize, first: &[usize], count: usize) -> Vec<f64> {
    let column = |choice: usize| &moved[choice * rows..][..rows];
    let mut twice = vec![0.0; count * count];
    for (part, &begin) in first.iter().enumerate() {
        let end = first.get(part + 1).copied().unwrap_or(count);
        for a in begin..end {
            // Those of the parts before, four at a time, so that a column is read once for four products.
            let fours = begin / 4 * 4;
            for b in (0..fours).step_by(4) {
                let four = [column(b), column(b + 1), column(b + 2), column(b + 3)];
                for (q, product) in dots(column(a), four).into_iter().enumerate() {
                    twice[a * count + b + q] = 2.0 * product;
                }
            }
            for b in fours..begin {
                twice[a * count + b] = 2.0 * dots(column(a), [column(b)])[0];
            }
            for b in 0..begin {
                twice[b * count + a] = twice[a * count + b];
            }
        }
    }
    twice
}

/// Where an annealing stands.
struct ModelPlace<'m> {
    model: &'m Model<'m>,
    pick: Vec<usize>,
    cost: f64,
    shortage: f64,
    /// What each choice would add beside those that are picked for the other parts.
    field: Vec<f64>,
}

impl<'m> ModelPlace<'m> {
    fn new(model: &'m Model<'m>, pick: &[usize]) -> Self {
        let mut field = model.own.clone();
        for (part, &place) in pick.iter().enumerate() {
            let row = model.row(model.first[part] + place);
            field.iter_mut().zip(row).for_each(|(f, r)| *f += r);
        }
        Self {
            pick: pick.to_vec(),
            cost: model.cost(pick),
            shortage: model.search.shortage(&model.chosen(pick)),
            field,
            model,
        }
    }

    fn numbers(&self, (part, to): (usize, usize)) -> (usize, usize) {
        let first = self.model.first[part];
        (first + self.pick[part], first + to)
    }

    /// What one change, or two, would add.
    fn change(&self, one: (usize, usize), two: Option<(usize, usize)>) -> f64 {
        let (from, to) = self.numbers(one);
        let change = self.field[to] - self.field[from];
        let Some(two) = two else {
            return change;
        };
        let (from_two, to_two) = self.numbers(two);
        let (was, is) = (self.model.row(from), self.model.row(to));
        change + self.field[to_two] - self.field[from_two]
            + (is[to_two] - is[from_two] - was[to_two] + was[from_two])
    }

    /// Makes the changes, unless they pass the limits of the stock by more than before.
    fn take(&mut self, one: (usize, usize), two: Option<(usize, usize)>, best: &mut Picks) {
        let change = self.change(one, two);
        let before: [Option<(usize, usize)>; 2] =
            [Some(one), two].map(|change| change.map(|(part, _)| (part, self.pick[part])));
        let numbers = [Some(one), two].map(|change| change.map(|change| self.numbers(change)));
        for (part, to) in [Some(one), two].into_iter().flatten() {
            self.pick[part] = to;
        }
        if !self.model.search.limits.are_none() {
            let shortage = self.model.search.shortage(&self.model.chosen(&self.pick));
            if shortage > self.shortage {
                for (part, back) in before.into_iter().flatten() {
                    self.pick[part] = back;
                }
                return;
            }
            self.shortage = shortage;
        }
        self.cost += change;
        for (from, to) in numbers.into_iter().flatten() {
            let (was, is) = (self.model.row(from), self.model.row(to));
            for ((field, was), is) in self.field.iter_mut().zip(was).zip(is) {
                *field += is - was;
            }
        }
        let cost = self.cost + self.shortage;
        if change < 0.0 && cost < best.limit() {
            best.offer(cost, &self.model.chosen(&self.pick));
        }
    }

    /// Exchanges one part, then two, as long as that gains.
    fn settle(&mut self, free: &[usize], best: &mut Picks) {
        loop {
            let before = self.cost + self.shortage;
            for (i, &a) in free.iter().enumerate() {
                for to in 0..self.model.allowed[a].len() {
                    if self.change((a, to), None) < -1e-9 {
                        self.take((a, to), None, best);
                    }
                }
                for &b in &free[..i] {
                    for to_a in 0..self.model.allowed[a].len() {
                        for to_b in 0..self.model.allowed[b].len() {
                            if self.change((a, to_a), Some((b, to_b))) < -1e-9 {
                                self.take((a, to_a), Some((b, to_b)), best);
                            }
                        }
                    }
                }
            }
            if self.cost + self.shortage >= before - 1e-9 {
                return;
            }
        }
    }
}

/// Random numbers of one exploration.
pub(super) fn random_numbers(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(seed)
}

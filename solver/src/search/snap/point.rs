//! The loudspeaker at one set of values, and what it does when one part or two of it change.

use super::block_search::{Others, leaf_cost};
use super::goal::WAYS;
use super::response::BlockResponse;
use super::search::Search;
use crate::nodal::Standing;
use crate::nodal::lanes::Lanes;

/// Node of the three-point rule for an even spread from −1 to 1, and the weights of its ends and its middle
/// (Gauss and Legendre; Abramowitz and Stegun 1964, table 25.4).
const NODE: f64 = 0.774_596_669_241_483_4;
const END_WEIGHT: f64 = 5.0 / 18.0;

/// A loudspeaker at chosen values.
pub(super) struct SnapPoint<'s> {
    search: &'s Search<'s>,
    pub(super) values: Vec<(f64, f64)>,
    standings: Vec<Standing<'s>>,
    responses: Vec<BlockResponse>,
}

/// One part at a point, ready to take any value.
pub(super) struct FreeValue<'p> {
    point: &'p SnapPoint<'p>,
    /// Block of the part, and its place there.
    block: usize,
    step: usize,
    others: Others,
    leaves: Vec<Lanes>,
}

impl<'s> SnapPoint<'s> {
    /// At the values before they are moved.
    pub(super) fn before(search: &'s Search<'s>) -> Self {
        let standings: Vec<Standing<'s>> = (search.blocks.iter())
            .map(|block| Standing::new(&block.cascade))
            .collect();
        Self::with(search, search.before.clone(), standings)
    }

    /// At values of the stock.
    pub(super) fn at(search: &'s Search<'s>, chosen: &[usize]) -> Self {
        let values: Vec<(f64, f64)> = (0..chosen.len())
            .map(|number| search.value(number, chosen))
            .collect();
        let standings = (search.blocks.iter())
            .map(|block| {
                let mut standing = Standing::new(&block.cascade);
                for (step, &part) in block.parts.iter().enumerate() {
                    let (value, loss) = values[part];
                    standing.put(step, value, loss);
                }
                standing
            })
            .collect();
        Self::with(search, values, standings)
    }

    fn with(search: &'s Search<'s>, values: Vec<(f64, f64)>, standings: Vec<Standing<'s>>) -> Self {
        let tables = &search.tables;
        let responses = (search.blocks.iter().zip(&standings))
            .map(|(block, standing)| block.response_of(tables, |chunk| standing.outputs(chunk)))
            .collect();
        Self {
            search,
            values,
            standings,
            responses,
        }
    }

    /// Gives a part another value and loss.
    pub(super) fn put(&mut self, number: usize, value: (f64, f64)) {
        let (block, step) = self.search.place(number);
        self.standings[block].put(step, value.0, value.1);
        self.values[number] = value;
        let standing = &self.standings[block];
        self.responses[block] = self.search.blocks[block]
            .response_of(&self.search.tables, |chunk| standing.outputs(chunk));
    }

    fn others(&self, block: usize) -> Others {
        let mut rest = self.search.with_ways(&self.responses);
        rest.remove(block);
        Others::new(&self.search.tables, &rest)
    }

    /// Goal at the values as they are, and the level that suits best.
    pub(super) fn cost(&self) -> (f64, f64) {
        let search = self.search;
        search.tables.evaluate(&search.with_ways(&self.responses))
    }

    /// One part, free to take any value.
    pub(super) fn free(&self, number: usize) -> FreeValue<'_> {
        let (block, step) = self.search.place(number);
        let mut leaves = Vec::new();
        self.standings[block].leaves(step, &mut leaves);
        FreeValue {
            point: self,
            block,
            step,
            others: self.others(block),
            leaves,
        }
    }

    /// What the goal rises by in the mean from the tolerance of each part, evenly spread. To second order in
    /// all parts, that is without what two of them do only together, the expected goal is the goal and
    /// these; never below 0.
    pub(super) fn rises(&self, tolerances: &[f64]) -> Vec<f64> {
        let (goal, _) = self.cost();
        (tolerances.iter().enumerate())
            .map(|(number, tolerance)| {
                if *tolerance <= 0.0 {
                    return 0.0;
                }
                let (value, loss) = self.values[number];
                let free = self.free(number);
                let ends = [-1.0, 1.0].map(|sign| {
                    let by = 1.0 + sign * NODE * tolerance.min(0.9);
                    free.cost((value * by, loss), f64::INFINITY)
                });
                (END_WEIGHT * (ends[0] + ends[1] - 2.0 * goal)).max(0.0)
            })
            .collect()
    }
}

impl FreeValue<'_> {
    /// Voltages of the block's drivers for one volt at `in` with a value and loss of the part, and the
    /// block's admittance.
    #[inline(always)]
    fn leaf(&self, chunk: usize, value: (f64, f64), voltages: &mut [Lanes; WAYS]) -> Lanes {
        let block = &self.point.search.blocks[self.block];
        let len = self.leaves.len() / self.point.search.tables.chunks;
        let state = &self.leaves[chunk * len..][..len];
        let part = self.point.standings[self.block].part_at(chunk, self.step);
        (block.cascade).leaf_of(part, state, value, voltages)
    }

    /// Goal with a value and loss of the part; infinite where it is found to reach `limit`.
    pub(super) fn cost(&self, value: (f64, f64), limit: f64) -> f64 {
        cost(self, value, limit)
    }

    /// Residuals of the goal with a value and loss of the part.
    pub(super) fn residuals(&self, value: (f64, f64), out: &mut Vec<f64>) {
        residuals(self, value, out);
    }

    /// Makes it the same with another part, free as well, at a value of its own first.
    pub(super) fn after(&mut self, first: &FreeValue<'_>, value: (f64, f64)) {
        let point = self.point;
        if first.block == self.block {
            let standing = &point.standings[self.block];
            standing.leaves_after(first.step, value, self.step, &mut self.leaves);
            return;
        }
        let search = point.search;
        let changed = first.response(value);
        let rest: Vec<(&[usize], &BlockResponse)> =
            (search.with_ways(&point.responses).into_iter())
                .enumerate()
                .filter(|&(block, _)| block != self.block)
                .map(|(block, (ways, response))| match block == first.block {
                    true => (ways, &changed),
                    false => (ways, response),
                })
                .collect();
        self.others = Others::new(&search.tables, &rest);
    }

    /// What the block of the part does with a value and loss of it.
    fn response(&self, value: (f64, f64)) -> BlockResponse {
        let search = self.point.search;
        let (tables, block) = (&search.tables, &search.blocks[self.block]);
        let mut response = BlockResponse::new(block.ways.len(), tables.chunks);
        for chunk in 0..tables.chunks {
            let mut voltages = [Lanes::ZERO; WAYS];
            response.admittance[chunk] = self.leaf(chunk, value, &mut voltages);
            for (o, &way) in block.ways.iter().enumerate() {
                response.sound[o * tables.chunks + chunk] =
                    voltages[o].times(&tables.sound[way][chunk]);
            }
        }
        response
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn cost(free: &FreeValue<'_>, value: (f64, f64), limit: f64) -> f64 {
    let search = free.point.search;
    let ways = &search.blocks[free.block].ways;
    let leaf = |chunk: usize, voltages: &mut [Lanes; WAYS]| free.leaf(chunk, value, voltages);
    leaf_cost(&search.tables, &free.others, ways, limit, leaf)
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn residuals(free: &FreeValue<'_>, value: (f64, f64), out: &mut Vec<f64>) {
    let tables = &free.point.search.tables;
    let ways = &free.point.search.blocks[free.block].ways;
    let leaf = |chunk: usize, voltages: &mut [Lanes; WAYS]| free.leaf(chunk, value, voltages);
    for chunk in 0..tables.chunks {
        let heard = free.others.with(tables, ways, chunk, &leaf);
        tables.residuals(chunk, &heard, out);
    }
}

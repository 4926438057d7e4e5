//! Ways of several networks put together anew.
//!
//! Additions and reductions change one way by one section. What suits one way best was often found in a network
//! whose other ways are not the best: its way is set into the others.

use std::collections::BTreeMap;

use netlist::network::{Network, PartKind};
use rayon::prelude::*;

use super::pace::Effort;
use super::place::{block_of, signature};
use super::population::Population;
use super::problem::{Fitted, PART_WORTH, Problem};
use super::start::join;
use super::step::Growth;

/// One way of a network.
#[derive(Debug, Clone)]
struct WayPiece {
    network: Network,
    signature: u64,
    inverted: bool,
}

/// The ways of `network`; `None` where two of them share a part.
fn pieces(problem: &Problem<'_>, network: &Network) -> Option<Vec<WayPiece>> {
    let mut taken = vec![false; network.parts().len()];
    let of_way = |&way: &usize| {
        let driver = &problem.job.ways[way].name;
        let inside = block_of(network, driver);
        let mut piece = network.clone();
        let mut inverted = false;
        for index in (0..inside.len()).rev() {
            if !inside[index] {
                piece.parts_mut().shift_remove_index(index);
            } else if std::mem::replace(&mut taken[index], true) {
                return None;
            } else if let PartKind::Driver {
                inverted: swapped, ..
            } = network.parts()[index].kind
            {
                inverted = swapped;
            }
        }
        let piece = piece.without_bare_nodes();
        Some(WayPiece {
            signature: signature(&piece),
            network: piece,
            inverted,
        })
    };
    let pieces: Option<Vec<WayPiece>> = problem.ways.iter().map(of_way).collect();
    pieces.filter(|_| taken.iter().all(|&taken| taken))
}

/// Networks into which the ways of others are set.
const BASES: usize = 6;
/// Networks whose ways are set into them.
const DONORS: usize = 24;

/// Sets ways of the best networks of `population` into each other, and takes in what is good.
pub(super) fn recombine(growth: &Growth<'_>, population: &mut Population) -> Effort {
    let problem = growth.problem;
    if problem.ways.len() < 2 {
        return Effort::default();
    }
    let combined = combinations(problem, population);
    let moves = combined.len();
    let mut rated: Vec<(f64, (Network, f64))> = combined
        .into_par_iter()
        .filter(|_| !(growth.stop)())
        .filter_map(|(network, level_db)| {
            let cost = problem.cost(&network, level_db)?;
            let rank = cost + PART_WORTH * network.parts().len() as f64;
            cost.is_finite().then_some((rank, (network, level_db)))
        })
        .collect();
    rated.sort_by(|a, b| a.0.total_cmp(&b.0));
    rated.truncate(TRIED * growth.pace.tried);
    let trials: Vec<(Network, f64)> = rated.into_iter().map(|(_, trial)| trial).collect();
    for fitted in growth.fit_best(&trials, TRIED * growth.pace.kept) {
        population.offer(fitted);
    }
    let fits = trials.len();
    Effort { moves, fits }
}

/// Of the combinations so many times as many are looked at as of one network's moves.
const TRIED: usize = 4;

/// The best networks with one way taken from another, each shape that is not known yet once, and their levels.
fn combinations(problem: &Problem<'_>, population: &Population) -> Vec<(Network, f64)> {
    let mut best: Vec<&Fitted> = population.members().map(|member| &member.fitted).collect();
    best.sort_by(|a, b| a.rank().total_cmp(&b.rank()));
    best.truncate(DONORS);
    let taken_apart: Vec<(&Fitted, Vec<WayPiece>)> = (best.into_iter())
        .filter_map(|fitted| Some((fitted, pieces(problem, &fitted.network)?)))
        .collect();
    let mut pool: Vec<BTreeMap<u64, &WayPiece>> = vec![BTreeMap::new(); problem.ways.len()];
    for (_, pieces) in &taken_apart {
        for (way, piece) in pieces.iter().enumerate() {
            pool[way].entry(piece.signature).or_insert(piece);
        }
    }
    let mut known: Vec<u64> = population
        .members()
        .map(|member| member.signature)
        .collect();
    let mut combined: Vec<(Network, f64)> = Vec::new();
    for (base, own) in taken_apart.iter().take(BASES) {
        for (way, others) in pool.iter().enumerate() {
            for &other in others.values() {
                let set = (0..own.len()).map(|at| if at == way { other } else { &own[at] });
                let (networks, inverted): (Vec<&Network>, Vec<bool>) =
                    set.map(|piece| (&piece.network, piece.inverted)).unzip();
                let network = join(&networks, &inverted);
                let shape = signature(&network);
                if !known.contains(&shape) {
                    known.push(shape);
                    combined.push((network, base.level_db));
                }
            }
        }
    }
    combined
}

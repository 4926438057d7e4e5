//! The best networks of every size: the trade-off of error against parts.

use std::collections::BTreeMap;

use super::place::signature;
use super::problem::{Fitted, PART_WORTH};

/// A network of a population.
#[derive(Debug, Clone)]
pub struct Member {
    /// The network with its values.
    pub fitted: Fitted,
    /// Its shape.
    pub signature: u64,
    /// Whether its additions were looked at.
    pub(super) grown: bool,
    /// Whether its reductions were.
    pub(super) reduced: bool,
}

/// The best few networks of every number of parts, each shape once.
#[derive(Debug, Clone)]
pub struct Population {
    by_size: BTreeMap<usize, Vec<Member>>,
    breadth: usize,
}

/// A part of a proposal must be worth this share of [`PART_WORTH`] at the least.
pub const EARNS: f64 = 0.3;

impl Population {
    /// An empty one, to keep `breadth` networks of every size.
    #[must_use]
    pub fn new(breadth: usize) -> Self {
        Self {
            by_size: BTreeMap::new(),
            breadth,
        }
    }

    /// Takes a network in where it is among the best of its size; says whether it was.
    pub fn offer(&mut self, fitted: Fitted) -> bool {
        let expected = fitted.expected();
        if !expected.is_finite() {
            return false;
        }
        let signature = signature(&fitted.network);
        let list = self.by_size.entry(fitted.part_count()).or_default();
        if let Some(known) = list.iter().position(|member| member.signature == signature) {
            // Other values of a known shape.
            if list[known].fitted.expected() <= expected * (1.0 + 1e-4) {
                return false;
            }
            list.remove(known);
        }
        let place = list.partition_point(|member| member.fitted.expected() <= expected);
        if place >= self.breadth {
            return false;
        }
        list.insert(
            place,
            Member {
                fitted,
                signature,
                grown: false,
                reduced: false,
            },
        );
        list.truncate(self.breadth);
        true
    }

    /// The worst expected goal that would still be taken in at a size.
    #[must_use]
    pub fn bar(&self, size: usize) -> f64 {
        match self.by_size.get(&size) {
            Some(list) if list.len() >= self.breadth => list[self.breadth - 1].fitted.expected(),
            _ => f64::INFINITY,
        }
    }

    /// Numbers of parts for which there is a network, lowest first.
    pub fn sizes(&self) -> impl DoubleEndedIterator<Item = usize> + '_ {
        self.by_size.keys().copied()
    }

    /// The networks of a size, best first.
    #[must_use]
    pub fn of_size(&self, size: usize) -> &[Member] {
        self.by_size.get(&size).map_or(&[], Vec::as_slice)
    }

    pub(super) fn of_size_mut(&mut self, size: usize) -> &mut [Member] {
        self.by_size
            .get_mut(&size)
            .map_or(&mut [], Vec::as_mut_slice)
    }

    /// All networks, smallest first, best of their size first.
    pub fn members(&self) -> impl Iterator<Item = &Member> {
        self.by_size.values().flatten()
    }

    /// The one with the least of error and parts together.
    #[must_use]
    pub fn best(&self) -> Option<&Fitted> {
        self.members()
            .map(|member| &member.fitted)
            .min_by(|a, b| a.rank().total_cmp(&b.rank()))
    }

    /// The front, and of each of its sizes the next best too: `of_a_size` in all.
    pub fn about_front(&self, of_a_size: impl Fn(usize) -> usize) -> impl Iterator<Item = &Fitted> {
        let sizes = self.front().into_iter().map(Fitted::part_count);
        sizes
            .flat_map(move |size| self.of_size(size).iter().take(of_a_size(size)))
            .map(|member| &member.fitted)
    }

    /// Of every size the best network, where each part more is worth it: every network is better than
    /// all smaller ones by [`EARNS`] of [`PART_WORTH`] a part.
    #[must_use]
    pub fn front(&self) -> Vec<&Fitted> {
        let mut front: Vec<&Fitted> = Vec::new();
        for list in self.by_size.values() {
            let Some(best) = list.first().map(|member| &member.fitted) else {
                continue;
            };
            let pays = |smaller: &&Fitted| {
                let more = (best.part_count() - smaller.part_count()) as f64;
                best.expected() <= smaller.expected() - EARNS * PART_WORTH * more
            };
            if front.iter().all(pays) {
                front.push(best);
            }
        }
        front
    }
}

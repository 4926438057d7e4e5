//! Parts by what they do: a coil in the lead of the woofer is held against the other's coil in the lead of the
//! woofer, whatever they are called.

use netlist::network::{Network, PartKind};
use netlist::project::StockKind;

use super::figure::Contender;
use super::ways::way_rows;
use crate::judge::check::{Assessment, in_order_of_ways};
use crate::search::{Lies, Purpose, purposes};
use crate::stock::stock_kind;

/// Values within this of each other are the same.
const SAME: f64 = 0.005;

/// What is held against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RolePiece {
    /// A part of a section: where the section lies, whether it has a resistor, a coil, a capacitor, and which of
    /// them this is.
    Part {
        /// Where.
        lies: Lies,
        /// Of what.
        has: [bool; 3],
        /// Which.
        kind: StockKind,
    },
    /// Wires of the driver swapped against those of the lowest way: 1, or 0.
    Swapped,
    /// Tap of an autoformer, as a share of its turns.
    Tap,
}

/// One part of a way, in all loudspeakers.
#[derive(Debug, Clone, PartialEq)]
pub struct Role {
    /// Row of the way, see [`way_rows`].
    pub way: usize,
    /// What it is.
    pub piece: RolePiece,
    /// Value of each loudspeaker, SI; `None` where it has no such part.
    pub values: Vec<Option<f64>>,
}

impl Role {
    /// Whether all have the same.
    #[must_use]
    pub fn same(&self) -> bool {
        let first = self.values.first().copied().flatten();
        self.values.iter().all(|value| match (first, value) {
            (Some(a), Some(b)) => (a - b).abs() <= SAME * a.abs().max(b.abs()),
            (None, None) => true,
            _ => false,
        })
    }
}

/// A section of one loudspeaker.
#[derive(Debug, Clone)]
struct RoleSection {
    lies: Lies,
    has: [bool; 3],
    parts: Vec<(StockKind, f64)>,
}

/// The ways of the loudspeakers, row by row as [`way_rows`] has them, and all roles in them.
#[must_use]
pub fn roles(candidates: &[Contender<'_>]) -> (Vec<Vec<Option<usize>>>, Vec<Role>) {
    let held: Vec<Option<(&Assessment, Network)>> = (candidates.iter())
        .map(|candidate| {
            let assessed = candidate.check.assessment.as_ref().ok()?;
            let network = in_order_of_ways(&assessed.job, candidate.project.network.as_ref()?);
            Some((assessed, network))
        })
        .collect();
    let names: Vec<Vec<&str>> = (held.iter())
        .map(|held| {
            let ways = held.iter().flat_map(|(assessed, _)| &assessed.job.ways);
            ways.map(|way| way.name.as_str()).collect()
        })
        .collect();
    let rows = way_rows(&names);
    let purposes: Vec<Vec<Purpose>> = (held.iter())
        .map(|held| {
            let (assessed, network) = held.as_ref()?;
            let targets = assessed.job.targets(&assessed.alignments);
            purposes(&assessed.job, network, &targets)
        })
        .map(Option::unwrap_or_default)
        .collect();
    let mut all = Vec::new();
    for (way, row) in rows.iter().enumerate() {
        let sections: Vec<Vec<RoleSection>> = (held.iter().zip(&purposes).zip(row))
            .map(|((held, purposes), number)| match (held, number) {
                (Some((_, network)), Some(number)) => sections(network, purposes, *number),
                _ => Vec::new(),
            })
            .collect();
        of_way(way, &sections, &mut all);
        let one_of_way = |value: &dyn Fn(&Network, &str) -> Option<f64>| -> Vec<Option<f64>> {
            (held.iter().zip(row).zip(&names))
                .map(|((held, number), names)| value(&held.as_ref()?.1, names[(*number)?]))
                .collect()
        };
        for (piece, values) in [
            (RolePiece::Tap, one_of_way(&tap)),
            (RolePiece::Swapped, one_of_way(&swapped)),
        ] {
            if values.iter().flatten().any(|value| *value > 0.0) {
                all.push(Role { way, piece, values });
            }
        }
    }
    (rows, all)
}

fn sections(network: &Network, purposes: &[Purpose], way: usize) -> Vec<RoleSection> {
    let own = purposes.iter().filter(|purpose| purpose.way == way);
    own.map(|purpose| {
        let parts = purpose.parts.iter().filter_map(|&part| {
            let part = &network.parts()[part];
            Some((stock_kind(&part.kind)?, part.value_si()?))
        });
        let mut parts: Vec<(StockKind, f64)> = parts.collect();
        parts.sort_by(|a, b| rank(a.0).cmp(&rank(b.0)).then(a.1.total_cmp(&b.1)));
        RoleSection {
            lies: purpose.lies,
            has: purpose.has,
            parts,
        }
    })
    .collect()
}

fn rank(kind: StockKind) -> u8 {
    match kind {
        StockKind::Inductor => 0,
        StockKind::Capacitor => 1,
        StockKind::Resistor => 2,
    }
}

fn swapped(network: &Network, driver: &str) -> Option<f64> {
    let of = |name: &str| {
        network.parts().values().find_map(|part| match &part.kind {
            PartKind::Driver {
                driver, inverted, ..
            } if driver == name => Some(*inverted),
            _ => None,
        })
    };
    let lowest = network.driver_names().next()?;
    Some(f64::from(u8::from(of(driver)? != of(lowest)?)))
}

fn tap(network: &Network, driver: &str) -> Option<f64> {
    let inside = crate::search::grow::block_of(network, driver);
    let parts = network
        .parts()
        .values()
        .zip(inside)
        .filter(|(_, inside)| *inside);
    parts
        .map(|(part, _)| part)
        .find_map(|part| match &part.kind {
            PartKind::Autoformer { taps, .. } => taps.first().map(|tap| tap.ratio),
            _ => None,
        })
}

/// Sections of one sort are held against each other in their order, so that their values are as near as can be.
fn of_way(way: usize, sections: &[Vec<RoleSection>], all: &mut Vec<Role>) {
    let mut sorts: Vec<(Lies, [bool; 3])> = Vec::new();
    for section in sections.iter().flatten() {
        if !sorts.contains(&(section.lies, section.has)) {
            sorts.push((section.lies, section.has));
        }
    }
    let mut found: Vec<(f64, Role)> = Vec::new();
    for (lies, has) in sorts {
        let lists: Vec<Vec<&RoleSection>> = (sections.iter())
            .map(|list| {
                list.iter()
                    .filter(|s| (s.lies, s.has) == (lies, has))
                    .collect()
            })
            .collect();
        let most = (0..lists.len())
            .rev()
            .max_by_key(|&place| lists[place].len())
            .unwrap_or(0);
        let matched: Vec<Vec<Option<usize>>> = lists
            .iter()
            .map(|list| in_order(&lists[most], list))
            .collect();
        for (number, reference) in lists[most].iter().enumerate() {
            let section = |place: usize| matched[place][number].map(|i| lists[place][i]);
            // How far from the amplifier it lies, in the mean of all that have it.
            let depths: Vec<f64> = (0..lists.len())
                .filter_map(|place| {
                    let own = section(place)?;
                    let at = sections[place]
                        .iter()
                        .position(|other| std::ptr::eq(other, own))?;
                    Some((at as f64 + 0.5) / sections[place].len() as f64)
                })
                .collect();
            let depth = depths.iter().sum::<f64>() / depths.len().max(1) as f64;
            let longest = (0..lists.len())
                .filter_map(section)
                .max_by_key(|s| s.parts.len());
            let longest = longest.unwrap_or(reference);
            for (at, (kind, _)) in longest.parts.iter().enumerate() {
                let before = longest.parts[..at]
                    .iter()
                    .filter(|(k, _)| k == kind)
                    .count();
                let value = |place: usize| {
                    let parts = section(place)?.parts.iter();
                    parts
                        .filter(|(k, _)| k == kind)
                        .nth(before)
                        .map(|(_, value)| *value)
                };
                let role = Role {
                    way,
                    piece: RolePiece::Part {
                        lies,
                        has,
                        kind: *kind,
                    },
                    values: (0..lists.len()).map(value).collect(),
                };
                found.push((depth, role));
            }
        }
    }
    // Parts of one section stay together: the sort keeps the order of equals.
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.extend(found.into_iter().map(|(_, role)| role));
}

/// For each section of `longer` the one of `list` that it is held against: all of `list`, in order, with the least
/// sum of the logarithms of their ratios.
fn in_order(longer: &[&RoleSection], list: &[&RoleSection]) -> Vec<Option<usize>> {
    let (n, m) = (longer.len(), list.len());
    // Least cost of the first j of the list in the first i places.
    let mut cost = vec![vec![f64::INFINITY; m + 1]; n + 1];
    for row in &mut cost {
        row[0] = 0.0;
    }
    for i in 1..=n {
        for j in 1..=m.min(i) {
            let paired = cost[i - 1][j - 1] + apart(longer[i - 1], list[j - 1]);
            cost[i][j] = cost[i - 1][j].min(paired);
        }
    }
    let mut matched = vec![None; n];
    let (mut i, mut j) = (n, m);
    while i > 0 && j > 0 {
        if cost[i][j] < cost[i - 1][j] {
            matched[i - 1] = Some(j - 1);
            j -= 1;
        }
        i -= 1;
    }
    matched
}

fn apart(a: &RoleSection, b: &RoleSection) -> f64 {
    let pairs = a.parts.iter().zip(&b.parts);
    pairs.map(|((_, a), (_, b))| (a / b).ln().abs()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coil(value: f64) -> RoleSection {
        RoleSection {
            lies: Lies::InLead,
            has: [false, true, false],
            parts: vec![(StockKind::Inductor, value)],
        }
    }

    #[test]
    fn parts_of_one_sort_meet_those_of_like_value() {
        let (first, second) = ([coil(1.8e-3), coil(0.47e-3)], [coil(0.5e-3)]);
        let mut all = Vec::new();
        of_way(0, &[first.to_vec(), second.to_vec()], &mut all);
        let values: Vec<&[Option<f64>]> = all.iter().map(|role| &role.values[..]).collect();
        assert_eq!(
            values,
            [[Some(1.8e-3), None], [Some(0.47e-3), Some(0.5e-3)]]
        );
        assert!(all.iter().all(|role| !role.same()));
        let mut all = Vec::new();
        of_way(0, &[first.to_vec(), first.to_vec()], &mut all);
        assert!(all.len() == 2 && all.iter().all(Role::same));
    }
}

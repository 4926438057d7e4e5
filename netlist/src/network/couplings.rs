//! Structural checks of magnetic couplings: between two inductors, and possible all together.

use std::collections::BTreeSet;

use super::{Network, NetworkMistake, PartKind};

/// A coupling that names two different inductors with a factor that can be.
struct Link<'n> {
    part: &'n str,
    ends: [usize; 2],
    factor: f64,
}

/// All that can be wrong with the couplings of a network.
pub(super) fn check(network: &Network, mistakes: &mut Vec<NetworkMistake>) {
    let mut links: Vec<Link<'_>> = Vec::new();
    for (name, part) in network.parts() {
        let PartKind::Coupling { inductors, factor } = &part.kind else {
            continue;
        };
        let mut fine = (0.0..1.0).contains(factor);
        for coil in inductors {
            let what = match network.parts().get(coil).map(|part| &part.kind) {
                Some(PartKind::Inductor { .. }) => continue,
                Some(PartKind::Autoformer { .. }) => {
                    "an autoformer: its sections are coupled by its own factor".to_owned()
                }
                Some(kind) => format!("a {}", kind.word()),
                None => "no part of the network".to_owned(),
            };
            fine = false;
            mistakes.push(NetworkMistake::NoInductor {
                part: name.clone(),
                name: coil.clone(),
                what,
            });
        }
        if inductors[0] == inductors[1] {
            fine = false;
            mistakes.push(NetworkMistake::CoupledWithItself {
                part: name.clone(),
                name: inductors[0].clone(),
            });
        }
        let index = |coil: &str| network.parts().get_index_of(coil);
        let (Some(one), Some(two)) = (index(&inductors[0]), index(&inductors[1])) else {
            continue;
        };
        let ends = [one.min(two), one.max(two)];
        let first = links.iter().find(|link| link.ends == ends);
        if let Some(first) = first {
            fine = false;
            mistakes.push(NetworkMistake::CoupledTwice {
                part: name.clone(),
                first: first.part.to_owned(),
            });
        }
        if !fine {
            continue;
        }
        links.push(Link {
            part: name,
            ends,
            factor: *factor,
        });
    }
    impossible(&links, mistakes);
}

/// Couplings that cannot hold together, told once for each group of coupled coils.
fn impossible(links: &[Link<'_>], mistakes: &mut Vec<NetworkMistake>) {
    let mut done: BTreeSet<usize> = BTreeSet::new();
    for link in links {
        if done.contains(&link.ends[0]) {
            continue;
        }
        let group = group_of(links, link);
        let inside = |link: &&Link<'_>| group.contains(&link.ends[0]);
        if !possible(links, &group) {
            let parts: Vec<&Link<'_>> = links.iter().filter(inside).collect();
            mistakes.push(NetworkMistake::ImpossibleCouplings {
                part: parts.last().unwrap_or(&link).part.to_owned(),
                all: parts.iter().map(|link| link.part.to_owned()).collect(),
            });
        }
        done.extend(group);
    }
}

/// All coils that are coupled to those of `link`, directly or by way of others.
fn group_of(links: &[Link<'_>], link: &Link<'_>) -> BTreeSet<usize> {
    let mut group: BTreeSet<usize> = link.ends.into_iter().collect();
    loop {
        let before = group.len();
        for link in links {
            if link.ends.iter().any(|end| group.contains(end)) {
                group.extend(link.ends);
            }
        }
        if group.len() == before {
            return group;
        }
    }
}

/// Whether the coupling matrix of a group of coils is positive definite, so that no current stores
/// negative energy.
fn possible(links: &[Link<'_>], group: &BTreeSet<usize>) -> bool {
    let coils: Vec<usize> = group.iter().copied().collect();
    let n = coils.len();
    let mut matrix = vec![vec![0.0; n]; n];
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    for link in links {
        let at = link.ends.map(|end| coils.binary_search(&end));
        if let [Ok(i), Ok(j)] = at {
            matrix[i][j] = link.factor;
            matrix[j][i] = link.factor;
        }
    }
    // Elimination without pivoting: all pivots are positive exactly when the matrix is.
    for k in 0..n {
        if matrix[k][k] <= 1e-12 {
            return false;
        }
        for i in k + 1..n {
            let (above, below) = matrix.split_at_mut(i);
            let ratio = below[0][k] / above[k][k];
            for (entry, pivot_entry) in below[0].iter_mut().zip(&above[k]).skip(k) {
                *entry -= ratio * pivot_entry;
            }
        }
    }
    true
}

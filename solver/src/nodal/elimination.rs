//! The elimination, worked out once for a topology: which node goes when, and which admittances
//! meet in each entry.
//!
//! The matrix `Y` over all nodes but `gnd` is complex symmetric and is factored as `L D Lᵀ`, in
//! minimum-degree order with `in` last and no pivoting. With `in` last, its pivot *is* the
//! admittance that the amplifier sees, and one back-substitution gives all voltages for one volt at
//! `in`, whatever the amplifier's output impedance.
//!
//! Off-diagonal entries are held with the opposite sign (for branches they are plain sums of
//! admittances), so that every step adds:
//! `b_ij = −Y_ij`, `l_jk = b_jk / d_k`, `d_j −= l_jk b_jk`, `b_ij += l_ik b_jk`, `v_k = Σ l_jk v_j`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::topology::{GND, IN, Topology};

/// A sum of admittance slots that makes an entry of the matrix, and what elimination adds to it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct Entry {
    /// Slots that count once.
    pub(crate) slots: Vec<usize>,
    /// Slots with another weight: the mutual admittances of windings.
    pub(crate) weighted: Vec<(usize, f64)>,
    /// Pairs (factor slot, entry slot) whose products elimination adds (off the diagonal) or
    /// subtracts (on it).
    pub(crate) updates: Vec<(usize, usize)>,
}

/// An entry below a pivot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct BelowPivot {
    /// The node of its row, which is eliminated later.
    pub(crate) node: usize,
    /// Slot that holds `b`: a slot of its own, or the admittance itself when that is all there is.
    pub(crate) entry: usize,
    /// Slot that holds `l`.
    pub(crate) factor: usize,
    /// What `entry` is made of; `None` when it is an admittance slot.
    pub(crate) sum: Option<Entry>,
}

/// One step: node `node` is eliminated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Pivot {
    pub(crate) node: usize,
    pub(crate) diagonal: Entry,
    /// Slot that holds `1 / d`.
    #[serde(skip)]
    pub(crate) inverse: usize,
    pub(crate) below: Vec<BelowPivot>,
}

#[derive(Debug, Clone)]
pub(crate) struct Elimination {
    /// All nodes but `gnd` and `in`, in order of elimination.
    pub(crate) pivots: Vec<Pivot>,
    /// The last pivot: the admittance at `in`.
    pub(crate) input: Entry,
    /// Slots in all: admittances first.
    pub(crate) slot_count: usize,
    /// For each node, the number of its block (nodes joined without passing `in` or `gnd`);
    /// `usize::MAX` for `in` and `gnd`.
    pub(crate) block: Vec<usize>,
    /// Range of pivots of each block.
    pub(crate) block_pivots: Vec<std::ops::Range<usize>>,
}

impl Elimination {
    pub(crate) fn new(topology: &Topology) -> Self {
        let n = topology.node_count;
        let mut diagonal = vec![Entry::default(); n];
        let mut off: BTreeMap<(usize, usize), Entry> = BTreeMap::new();
        stamp(topology, &mut diagonal, &mut off);

        let mut neighbours = vec![std::collections::BTreeSet::new(); n];
        for &(i, j) in off.keys() {
            neighbours[i].insert(j);
            neighbours[j].insert(i);
        }
        let (block, block_count) = blocks(&neighbours);

        let mut slot_count = topology.slot_count;
        let mut new_slot = || {
            slot_count += 1;
            slot_count - 1
        };
        let mut pivots = Vec::with_capacity(n.saturating_sub(2));
        let mut block_pivots = Vec::with_capacity(block_count);
        for number in 0..block_count {
            let first = pivots.len();
            let mut left: Vec<usize> = (0..n).filter(|&node| block[node] == number).collect();
            while !left.is_empty() {
                let at = (0..left.len())
                    .min_by_key(|&i| neighbours[left[i]].len())
                    .expect("not empty");
                let node = left.remove(at);
                let rows: Vec<usize> = std::mem::take(&mut neighbours[node]).into_iter().collect();
                let mut below = Vec::with_capacity(rows.len());
                for &row in &rows {
                    neighbours[row].remove(&node);
                    let sum = off.remove(&ordered(node, row)).unwrap_or_default();
                    let alone = sum.updates.is_empty() && sum.weighted.is_empty();
                    let (entry, sum) = match sum.slots[..] {
                        [slot] if alone => (slot, None),
                        _ => (new_slot(), Some(sum)),
                    };
                    below.push(BelowPivot {
                        node: row,
                        entry,
                        factor: new_slot(),
                        sum,
                    });
                }
                for (i, a) in below.iter().enumerate() {
                    diagonal[a.node].updates.push((a.factor, a.entry));
                    for b in &below[i + 1..] {
                        neighbours[a.node].insert(b.node);
                        neighbours[b.node].insert(a.node);
                        off.entry(ordered(a.node, b.node))
                            .or_default()
                            .updates
                            .push((a.factor, b.entry));
                    }
                }
                pivots.push(Pivot {
                    node,
                    diagonal: std::mem::take(&mut diagonal[node]),
                    inverse: new_slot(),
                    below,
                });
            }
            block_pivots.push(first..pivots.len());
        }
        Self {
            pivots,
            input: std::mem::take(&mut diagonal[IN]),
            slot_count,
            block,
            block_pivots,
        }
    }
}

fn ordered(a: usize, b: usize) -> (usize, usize) {
    (a.min(b), a.max(b))
}

/// Collects what each entry is made of.
fn stamp(topology: &Topology, diagonal: &mut [Entry], off: &mut BTreeMap<(usize, usize), Entry>) {
    for (slot, branch) in topology.branches.iter().enumerate() {
        let [a, b] = branch.nodes;
        if a == b {
            continue;
        }
        for node in [a, b] {
            if node != GND {
                diagonal[node].slots.push(slot);
            }
        }
        if a != GND && b != GND {
            off.entry(ordered(a, b)).or_default().slots.push(slot);
        }
    }
    for group in &topology.groups {
        let m = group.len();
        for i in 0..m {
            for j in i + 1..m {
                let slot = group.slots[i * m + j];
                let mut weights: BTreeMap<(usize, usize), f64> = BTreeMap::new();
                let ends = |w: usize| {
                    let [a, b] = topology.branches[group.branches[w]].nodes;
                    [(a, 1.0), (b, -1.0)]
                };
                for (p, p_sign) in ends(i) {
                    for (q, q_sign) in ends(j) {
                        if p == GND || q == GND {
                            continue;
                        }
                        // The block is symmetric: (i, j) and (j, i) both stamp, and they meet on
                        // the diagonal.
                        let twice = if p == q { 2.0 } else { 1.0 };
                        *weights.entry(ordered(p, q)).or_default() += twice * p_sign * q_sign;
                    }
                }
                for ((p, q), weight) in weights {
                    if weight == 0.0 {
                        continue;
                    }
                    if p == q {
                        diagonal[p].weighted.push((slot, weight));
                    } else {
                        off.entry((p, q))
                            .or_default()
                            .weighted
                            .push((slot, -weight));
                    }
                }
            }
        }
    }
}

/// Numbers the blocks: nodes that are joined by branches without passing `in` or `gnd`.
fn blocks(neighbours: &[std::collections::BTreeSet<usize>]) -> (Vec<usize>, usize) {
    let mut block = vec![usize::MAX; neighbours.len()];
    let mut count = 0;
    for start in 0..neighbours.len() {
        if start == GND || start == IN || block[start] != usize::MAX {
            continue;
        }
        let mut queue = vec![start];
        block[start] = count;
        while let Some(node) = queue.pop() {
            for &next in &neighbours[node] {
                if next != IN && next != GND && block[next] == usize::MAX {
                    block[next] = count;
                    queue.push(next);
                }
            }
        }
        count += 1;
    }
    (block, count)
}

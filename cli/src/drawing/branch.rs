//! What lies between two nodes, when it is made by putting parts in series and side by side.

use netlist::network::{Network, NodeId, PartKind};

/// A network between two nodes, read from the first to the second.
#[derive(Debug, Clone)]
pub(super) enum SeriesParallel {
    /// One part; `flipped` when its first node is the branch's second.
    Part { index: usize, flipped: bool },
    /// One after the other, with the nodes between them.
    Series {
        elements: Vec<SeriesParallel>,
        joints: Vec<NodeId>,
    },
    /// Side by side, in the builder's order.
    Parallel(Vec<SeriesParallel>),
    /// An autoformer whose other end is the second node, with what its taps feed.
    Winding(TappedWinding),
}

/// An autoformer in a [`SeriesParallel`].
#[derive(Debug, Clone)]
pub(super) struct TappedWinding {
    /// The part.
    pub(super) index: usize,
    /// Along the winding, the end at the branch's second node last.
    pub(super) terminals: Vec<Terminal>,
}

/// An end or a tap of an autoformer.
#[derive(Debug, Clone)]
pub(super) struct Terminal {
    pub(super) node: NodeId,
    /// Position in the part: 0 and 1 are the ends, then taps as listed.
    pub(super) position: usize,
    /// Share of the turns, for a tap.
    pub(super) ratio: Option<f64>,
    pub(super) used: Use,
}

/// What is joined to an end or a tap.
#[derive(Debug, Clone)]
pub(super) enum Use {
    /// The first node of the branch.
    Feed,
    /// The second node of the branch.
    Return,
    /// A load from here to the second node.
    Load(SeriesParallel),
    /// Nothing.
    Spare,
}

impl SeriesParallel {
    /// The same read from the other end.
    pub(super) fn reversed(self) -> Self {
        match self {
            SeriesParallel::Part { index, flipped } => SeriesParallel::Part {
                index,
                flipped: !flipped,
            },
            SeriesParallel::Series {
                elements,
                mut joints,
            } => {
                joints.reverse();
                let elements = elements
                    .into_iter()
                    .rev()
                    .map(SeriesParallel::reversed)
                    .collect();
                SeriesParallel::Series { elements, joints }
            }
            SeriesParallel::Parallel(branches) => SeriesParallel::Parallel(
                branches.into_iter().map(SeriesParallel::reversed).collect(),
            ),
            // A winding ends at `gnd`, and so do the branches that hold it: they are never turned.
            winding @ SeriesParallel::Winding(_) => winding,
        }
    }

    /// This one and then another.
    pub(super) fn then(self, joint: NodeId, next: SeriesParallel) -> Self {
        let split = |branch| match branch {
            SeriesParallel::Series { elements, joints } => (elements, joints),
            other => (vec![other], Vec::new()),
        };
        let (mut elements, mut joints) = split(self);
        let (more, more_joints) = split(next);
        elements.extend(more);
        joints.push(joint);
        joints.extend(more_joints);
        SeriesParallel::Series { elements, joints }
    }

    /// This one and another side by side.
    pub(super) fn beside(self, other: SeriesParallel) -> Self {
        let split = |branch| match branch {
            SeriesParallel::Parallel(branches) => branches,
            other => vec![other],
        };
        let mut branches = split(self);
        branches.extend(split(other));
        branches.sort_by_key(SeriesParallel::first_part);
        SeriesParallel::Parallel(branches)
    }

    /// The part in it that comes first in the builder's order.
    pub(super) fn first_part(&self) -> usize {
        match self {
            SeriesParallel::Part { index, .. } => *index,
            SeriesParallel::Series { elements: all, .. } | SeriesParallel::Parallel(all) => all
                .iter()
                .map(SeriesParallel::first_part)
                .min()
                .unwrap_or(0),
            SeriesParallel::Winding(winding) => {
                let loads = winding.loads().map(SeriesParallel::first_part);
                loads.min().unwrap_or(winding.index).min(winding.index)
            }
        }
    }

    /// Whether a driver is in it.
    pub(super) fn has_driver(&self, network: &Network) -> bool {
        match self {
            SeriesParallel::Part { index, .. } => network
                .parts()
                .get_index(*index)
                .is_some_and(|(_, part)| matches!(part.kind, PartKind::Driver { .. })),
            SeriesParallel::Series { elements: all, .. } | SeriesParallel::Parallel(all) => {
                all.iter().any(|branch| branch.has_driver(network))
            }
            SeriesParallel::Winding(winding) => {
                winding.loads().any(|load| load.has_driver(network))
            }
        }
    }

    /// Whether this is a group that goes on as a ladder.
    fn goes_on(&self) -> bool {
        match self {
            SeriesParallel::Parallel(branches) => branches
                .iter()
                .any(|branch| matches!(branch, SeriesParallel::Series { .. })),
            SeriesParallel::Winding(_) => true,
            _ => false,
        }
    }
}

impl TappedWinding {
    fn loads(&self) -> impl Iterator<Item = &SeriesParallel> {
        self.terminals.iter().filter_map(|terminal| {
            if let Use::Load(branch) = &terminal.used {
                Some(branch)
            } else {
                None
            }
        })
    }
}

/// How many of the elements of a series lie on the level line before the rest hangs down: those
/// ahead of the driver. A series without a driver hangs, unless it is a ladder.
pub(super) fn level_elements(elements: &[SeriesParallel], network: &Network) -> usize {
    let driver = elements
        .iter()
        .position(|element| element.has_driver(network));
    driver.unwrap_or_else(|| {
        let last = elements.len() - 1;
        if elements[last].goes_on() { last } else { 0 }
    })
}

//! Any network at all, plainly: its nodes from left to right on a level line, what goes to the
//! return hanging from them, and what joins nodes that are not neighbours on tracks above.
//!
//! Every such node has a bar that rises to its tracks. A symbol stands in the gap to the right of
//! the left one of its nodes, so that no bar runs through it; wires may cross bars.

use std::collections::BTreeMap;

use netlist::network::NodeId;

use super::branch::SeriesParallel;
use super::fragment::{Fragment, MARGIN, Run};
use super::geometry::{GridPoint, GridRect};
use super::ladder::{self, columns};
use super::order::order;
use super::reduce::{DrawnWay, nodes_of};
use super::sheet::SchematicSheet;
use super::winding_block::{self, WindingBlock};

/// Clear space at both sides of what stands between two bars.
const SIDE: i32 = 12;
/// Least distance from one node to the next.
const STEP: i32 = 24;

/// A branch between two nodes of the line, by their positions on it.
struct TrackBranch {
    from: usize,
    to: usize,
    piece: Fragment,
}

/// Something on the tracks: a branch, from one position to another.
struct Track {
    level: TrackBranch,
    /// Row, counted upwards.
    row: usize,
}

/// A way that is no simple branch, from its first node, `in` where it has it.
pub(super) fn draw(sheet: &SchematicSheet<'_>, way: &DrawnWay) -> Fragment {
    let nodes = ordered(sheet, way);
    let position: BTreeMap<NodeId, usize> = nodes
        .iter()
        .enumerate()
        .map(|(at, node)| (*node, at))
        .collect();
    let mut hanging: Vec<Vec<SeriesParallel>> = vec![Vec::new(); nodes.len()];
    let mut on_line: Vec<Option<Fragment>> = nodes.iter().map(|_| None).collect();
    let mut above: Vec<TrackBranch> = Vec::new();
    for edge in &way.edges {
        let [a, b] = edge.ends;
        let (Some(&from), to) = (position.get(&a), position.get(&b)) else {
            continue;
        };
        let Some(&to) = to else {
            hanging[from].push(edge.branch.clone());
            continue;
        };
        let (from, to, branch) = if from <= to {
            (from, to, edge.branch.clone())
        } else {
            (to, from, edge.branch.clone().reversed())
        };
        let ends = [nodes[from], nodes[to]];
        if to == from + 1 && on_line[from].is_none() {
            on_line[from] = Some(ladder::before_joint(sheet, &branch, ends));
        } else {
            let piece = ladder::level(sheet, &branch, ends);
            above.push(TrackBranch { from, to, piece });
        }
    }
    let blocks: Vec<WindingBlock> = (way.windings.iter())
        .map(|index| winding_block::block(sheet, *index, &position))
        .collect();
    let tracks = rows(above);

    let mut line = GrowingLine {
        run: Run::new(nodes.first().copied().unwrap_or(NodeId::IN)),
        x: vec![0; nodes.len()],
        gap: vec![0; nodes.len()],
        drops: vec![0; blocks.len()],
    };
    let mut least = 0;
    for (at, node) in nodes.iter().enumerate() {
        let rises = (tracks.iter()).any(|track| track.level.from == at || track.level.to == at)
            || blocks.iter().any(|block| block.meets(at));
        line.node(sheet, (at, *node), rises, least);
        let last = at + 1 == nodes.len();
        columns(sheet, &mut line.run, &hanging[at], NodeId::GND, last);
        let piece = on_line[at].take();
        line.drops(at, &blocks, piece.is_some());
        if let Some(piece) = piece {
            line.run.across(piece, nodes[at + 1]);
        }
        least = line.gap[at] + room(at, &tracks, &blocks);
    }
    raise(line, &nodes, tracks, blocks)
}

/// The nodes of a way without `gnd`, from left to right.
fn ordered(sheet: &SchematicSheet<'_>, way: &DrawnWay) -> Vec<NodeId> {
    let mut nodes: Vec<NodeId> = way.edges.iter().flat_map(|edge| edge.ends).collect();
    let windings: Vec<Vec<NodeId>> = (way.windings.iter())
        .map(|index| nodes_of(sheet.network, *index))
        .collect();
    nodes.extend(windings.iter().flatten());
    nodes.sort_by_key(|node| (*node != NodeId::IN, *node));
    // A tap that leads nowhere needs no place.
    let met: Vec<NodeId> = nodes.clone();
    nodes.dedup();
    let meets = |node: &NodeId| met.iter().filter(|other| *other == node).count();
    let on_edge = |node: &NodeId| way.edges.iter().any(|edge| edge.ends.contains(node));
    nodes.retain(|node| {
        let leads = meets(node) > 1 || on_edge(node) || *node == NodeId::IN;
        *node != NodeId::GND && leads
    });
    let place = |node: &NodeId| nodes.iter().position(|other| other == node);
    let pair = |one: &NodeId, two: &NodeId| Some([place(one)?, place(two)?]);
    let mut links: Vec<[usize; 2]> = (way.edges.iter())
        .filter_map(|edge| pair(&edge.ends[0], &edge.ends[1]))
        .collect();
    for winding in &windings {
        let met: Vec<&NodeId> = winding
            .iter()
            .filter(|node| **node != NodeId::GND)
            .collect();
        links.extend(met.windows(2).filter_map(|two| pair(two[0], two[1])));
    }
    let fed: Vec<usize> = (way.edges.iter())
        .filter(|edge| edge.branch.has_driver(sheet.network))
        .flat_map(|edge| edge.ends)
        .filter_map(|node| place(&node))
        .collect();
    let order = order(nodes.len(), &links, 0, &fed);
    order.into_iter().map(|place| nodes[place]).collect()
}

/// Rows for what lies on tracks: short ones low, each in the lowest row in which it has room.
fn rows(mut above: Vec<TrackBranch>) -> Vec<Track> {
    above.sort_by_key(|level| (level.to - level.from, level.from));
    let mut tracks: Vec<Track> = Vec::with_capacity(above.len());
    for level in above {
        let meets = |track: &&Track| {
            let other = &track.level;
            level.from < other.to.max(other.from + 1) && other.from < level.to.max(level.from + 1)
        };
        let row = tracks.iter().filter(meets).map(|track| track.row + 1).max();
        let row = row.unwrap_or(0);
        tracks.push(Track { level, row });
    }
    tracks
}

/// The level line while it grows, with the places on it.
struct GrowingLine {
    run: Run,
    /// Where each node is.
    x: Vec<i32>,
    /// Where the free gap to the right of each node begins.
    gap: Vec<i32>,
    /// Where each block's wire to `gnd` runs down.
    drops: Vec<i32>,
}

impl GrowingLine {
    /// Goes on with a node, not nearer than `least`.
    fn node(
        &mut self,
        sheet: &SchematicSheet<'_>,
        (at, node): (usize, NodeId),
        rises: bool,
        least: i32,
    ) {
        let mut piece = Fragment::default();
        if rises {
            piece.keep_above(GridPoint::ORIGIN, node);
        }
        let wired = self.run.node == node;
        let least = if wired {
            least
        } else {
            least.max(self.run.end.x + STEP)
        };
        self.run.begin(node, wired, piece, least);
        self.x[at] = self.run.end.x;
        self.run.name_node(sheet);
    }

    /// Leaves room for the wires to `gnd` of the blocks in the gap to the right of a node.
    fn drops(&mut self, at: usize, blocks: &[WindingBlock], goes_on: bool) {
        for (i, block) in blocks.iter().enumerate() {
            if block.gap == at && block.has_drop() {
                let mut piece = Fragment::default();
                piece.foot(GridPoint::ORIGIN, NodeId::GND);
                piece.keep_above(GridPoint::ORIGIN, NodeId::GND);
                let least = self.run.end.x + MARGIN;
                self.run.begin(self.run.node, goes_on, piece, least);
                self.drops[i] = self.run.end.x;
            }
        }
        self.gap[at] = self.run.end.x;
    }
}

/// Room that the gap to the right of a node needs for what stands above it.
fn room(at: usize, tracks: &[Track], blocks: &[WindingBlock]) -> i32 {
    let tracks = (tracks.iter())
        .filter(|track| track.level.from == at)
        .map(|track| extent(&track.level.piece));
    let blocks = (blocks.iter())
        .filter(|block| block.gap == at)
        .map(|block| block.piece.bounds());
    (tracks.chain(blocks))
        .map(|bounds| bounds.right - bounds.left + 2 * SIDE)
        .max()
        .unwrap_or(0)
}

/// What a piece for a track covers.
fn extent(piece: &Fragment) -> GridRect {
    let mut bounds = piece.bounds();
    bounds.right = bounds.right.max(piece.exit.x);
    bounds
}

/// Sets everything above the line, and draws the bars.
fn raise(
    line: GrowingLine,
    nodes: &[NodeId],
    tracks: Vec<Track>,
    blocks: Vec<WindingBlock>,
) -> Fragment {
    let GrowingLine { run, x, gap, drops } = line;
    let mut whole = run.fragment;
    let mut ceiling = whole.bounds().top.min(-MARGIN);
    let mut tops = vec![0; nodes.len()];
    let mut rows: Vec<Vec<TrackBranch>> = Vec::new();
    for track in tracks {
        if rows.len() <= track.row {
            rows.resize_with(track.row + 1, Vec::new);
        }
        rows[track.row].push(track.level);
    }
    for row in rows {
        let deepest = row.iter().map(|level| level.piece.bounds().bottom).max();
        let y = ceiling - MARGIN - deepest.unwrap_or(0);
        for TrackBranch {
            from,
            to,
            mut piece,
        } in row
        {
            let bounds = extent(&piece);
            piece.shift(GridPoint::new(gap[from] + SIDE - bounds.left, y));
            let entry = GridPoint::new(gap[from] + SIDE - bounds.left, y);
            let exit = piece.exit;
            let top = bounds.top + y;
            whole.absorb(piece);
            whole.wire(GridPoint::new(x[from], y), entry, nodes[from]);
            if from == to {
                // Both ends at one node: back over the piece.
                let over = top - MARGIN;
                whole.wire(exit, GridPoint::new(exit.x, over), nodes[to]);
                whole.wire(
                    GridPoint::new(exit.x, over),
                    GridPoint::new(x[to], over),
                    nodes[to],
                );
                tops[to] = over.min(tops[to]);
                ceiling = ceiling.min(over);
            } else {
                whole.wire(exit, GridPoint::new(x[to], y), nodes[to]);
            }
            tops[from] = y.min(tops[from]);
            tops[to] = y.min(tops[to]);
            ceiling = ceiling.min(top);
        }
    }
    for (mut block, drop) in blocks.into_iter().zip(drops) {
        let bounds = block.piece.bounds();
        let y = ceiling - MARGIN - bounds.bottom;
        let place = GridPoint::new(gap[block.gap] + SIDE - bounds.left, y);
        block.piece.shift(place);
        whole.absorb(block.piece);
        for port in block.ports {
            let at = port.at.shifted(place);
            let to = port.to.map_or(drop, |position| x[position]);
            whole.wire(at, GridPoint::new(to, at.y), port.node);
            match port.to {
                Some(position) => tops[position] = tops[position].min(at.y),
                None => whole.wire(
                    GridPoint::new(drop, at.y),
                    GridPoint::new(drop, 0),
                    port.node,
                ),
            }
        }
        ceiling = bounds.top + y;
    }
    for ((node, x), top) in nodes.iter().zip(x).zip(tops) {
        whole.wire(GridPoint::new(x, 0), GridPoint::new(x, top), *node);
    }
    whole
}

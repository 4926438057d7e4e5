//! Wires made tidy, and the dots where three or more meet.

use std::collections::{BTreeMap, BTreeSet};

use netlist::network::NodeId;

use super::geometry::{GridPoint, WireSegment};

/// The same wires with those of one node that lie on one line and touch made into one.
pub(super) fn merged(wires: &[WireSegment]) -> Vec<WireSegment> {
    // By node, direction and the coordinate that all of a line share: pieces of the line.
    let mut lines: BTreeMap<(NodeId, bool, i32), Vec<(i32, i32)>> = BTreeMap::new();
    for wire in wires {
        let rect = wire.rect();
        let (level, across, piece) = if rect.top == rect.bottom {
            (true, rect.top, (rect.left, rect.right))
        } else {
            (false, rect.left, (rect.top, rect.bottom))
        };
        lines
            .entry((wire.node, level, across))
            .or_default()
            .push(piece);
    }
    let mut merged = Vec::new();
    for ((node, level, across), mut pieces) in lines {
        pieces.sort_unstable();
        let mut joined: Vec<(i32, i32)> = Vec::new();
        for (from, to) in pieces {
            match joined.last_mut() {
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        merged.extend(joined.into_iter().map(|(from, to)| {
            let point = |along| {
                if level {
                    GridPoint::new(along, across)
                } else {
                    GridPoint::new(across, along)
                }
            };
            let (from, to) = (point(from), point(to));
            WireSegment { from, to, node }
        }));
    }
    merged
}

/// Where three or more of one node meet; `terminals` are the places where symbols meet wires.
pub(super) fn junctions(wires: &[WireSegment], terminals: &[GridPoint]) -> Vec<GridPoint> {
    let mut places: BTreeSet<(NodeId, GridPoint)> = BTreeSet::new();
    for wire in wires {
        places.insert((wire.node, wire.from));
        places.insert((wire.node, wire.to));
    }
    // Wires of one node that cross are joined too, and a reader must see it.
    for (i, wire) in wires.iter().enumerate() {
        for other in wires[..i].iter().filter(|other| other.node == wire.node) {
            places.extend(crossing(wire, other).map(|at| (wire.node, at)));
        }
    }
    let meeting = |node: NodeId, at: GridPoint| -> usize {
        let of_wires: usize = (wires.iter())
            .filter(|wire| wire.node == node)
            .map(|wire| ways_out(wire, at))
            .sum();
        of_wires + terminals.iter().filter(|terminal| **terminal == at).count()
    };
    places
        .into_iter()
        .filter(|(node, at)| meeting(*node, *at) >= 3)
        .map(|(_, at)| at)
        .collect()
}

/// Where a level and a plumb wire cross or meet.
fn crossing(a: &WireSegment, b: &WireSegment) -> Option<GridPoint> {
    let (a, b) = (a.rect(), b.rect());
    let (level, plumb) = if a.top == a.bottom { (a, b) } else { (b, a) };
    let crosses = level.top == level.bottom
        && plumb.left == plumb.right
        && (level.left..=level.right).contains(&plumb.left)
        && (plumb.top..=plumb.bottom).contains(&level.top);
    crosses.then(|| GridPoint::new(plumb.left, level.top))
}

/// In how many directions a wire leaves a place.
fn ways_out(wire: &WireSegment, at: GridPoint) -> usize {
    match (wire.rect().holds(at), at == wire.from || at == wire.to) {
        (false, _) => 0,
        (true, true) => 1,
        (true, false) => 2,
    }
}

//! An autoformer among the tracks of a mesh: upright, with a level wire from each end and tap.

use std::collections::BTreeMap;

use netlist::network::NodeId;

use super::fragment::Fragment;
use super::geometry::{Anchor, Glyph, GridPoint, GridRect, Symbol};
use super::reduce::along;
use super::sheet::{SchematicSheet, height, node_lines, set};
use super::symbol::TURN;
use super::winding::{SECTION, open_end, ratio_line};

/// Wire on top of the winding and below it.
const END: i32 = 8;

/// An autoformer that waits for its place.
#[derive(Debug)]
pub(super) struct WindingBlock {
    /// Upper end of the winding at the origin.
    pub(super) piece: Fragment,
    /// Position of the leftmost node that it meets: it stands in the gap to the right of it.
    pub(super) gap: usize,
    /// Where wires leave, and to which node.
    pub(super) ports: Vec<Port>,
}

/// A place where a wire leaves a [`WindingBlock`].
#[derive(Debug)]
pub(super) struct Port {
    pub(super) at: GridPoint,
    pub(super) node: NodeId,
    /// Position of the node on the line; none for `gnd`.
    pub(super) to: Option<usize>,
}

impl WindingBlock {
    /// Whether a wire goes to the node at a position.
    pub(super) fn meets(&self, position: usize) -> bool {
        self.ports.iter().any(|port| port.to == Some(position))
    }

    /// Whether a wire goes down to `gnd`.
    pub(super) fn has_drop(&self) -> bool {
        self.ports.iter().any(|port| port.node == NodeId::GND)
    }
}

/// The block of an autoformer. Nodes without a position are taps that lead nowhere.
pub(super) fn block(
    sheet: &SchematicSheet<'_>,
    index: usize,
    position: &BTreeMap<NodeId, usize>,
) -> WindingBlock {
    let mut terminals = along(sheet.network, index).terminals;
    if terminals
        .first()
        .is_some_and(|first| first.node == NodeId::GND)
    {
        terminals.reverse();
    }
    let place = |node: NodeId| position.get(&node).copied();
    let gap = terminals
        .iter()
        .filter_map(|terminal| place(terminal.node))
        .min();
    let gap = gap.unwrap_or(0);
    let last = terminals.len() - 1;
    let length = SECTION * last as i32;
    let side = TURN + 1;

    let mut piece = Fragment::default();
    let mut ports = Vec::new();
    let mut places = vec![GridPoint::ORIGIN; terminals.len()];
    let mut taps = Vec::new();
    for (i, terminal) in terminals.iter().enumerate() {
        let node = terminal.node;
        let to = place(node);
        let left = node == NodeId::GND || to == Some(gap);
        let y = SECTION * i as i32;
        let end = i == 0 || i == last;
        let at = GridPoint::new(if left && !end { -side } else { 0 }, y);
        places[terminal.position] = at;
        let port = match (i, end) {
            (0, _) => GridPoint::new(0, -END),
            (_, true) => GridPoint::new(0, length + END),
            _ => at,
        };
        piece.wire(at, port, node);
        if !end {
            taps.push((y, left));
        }
        let ratio = ratio_line(index, terminal);
        let above = port.y - 2 - height(&ratio);
        let mut labels = if left {
            set(ratio, GridPoint::new(-side - 3, above), Anchor::End)
        } else {
            set(ratio, GridPoint::new(5, above), Anchor::Start)
        };
        if to.is_none() && node != NodeId::GND {
            let from = labels
                .iter()
                .map(|label| label.rect().right)
                .max()
                .unwrap_or(0)
                + 6;
            let name = node_lines(sheet.network, node);
            let top = port.y - 2 - height(&name);
            labels.extend(set(name, GridPoint::new(from, top), Anchor::Start));
            let far = GridPoint::new(from + 4, port.y);
            piece.wire(port, far, node);
            let mut open = open_end(node);
            open.shift(far);
            piece.absorb(open);
        } else {
            ports.push(Port { at: port, node, to });
        }
        piece.labels.extend(labels);
    }
    piece.symbols.push(Symbol {
        part: Some(index),
        glyph: Glyph::Winding { length, taps },
        at: GridPoint::ORIGIN,
        upright: true,
        terminals: places,
        body: GridRect::new(-side, 0, 0, length),
    });
    let lines = sheet.lines(index);
    let top = -END - 5 - height(&lines);
    let above = GridPoint::new(0, top);
    piece.labels.extend(set(lines, above, Anchor::Middle));
    WindingBlock { piece, gap, ports }
}

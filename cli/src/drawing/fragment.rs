//! Pieces of a picture, and setting them side by side.

use netlist::network::NodeId;

use super::geometry::{Anchor, GridPoint, GridRect, Label, Symbol, WireSegment};
use super::sheet::{SchematicSheet, height, node_lines, set};

/// Least clear space between things that do not belong together.
pub(super) const MARGIN: i32 = 6;
/// The same upwards and downwards, where lines of text stand close by nature.
const LEVEL_MARGIN: i32 = 3;
/// From the name of a node to the node.
pub(super) const BESIDE_NODE: i32 = 2;
/// Far outside of any picture.
const FAR: i32 = 10_000_000;

/// What later pieces must keep clear of; wires of one node may run into each other.
#[derive(Debug, Clone, Copy)]
pub(super) struct Obstacle {
    rect: GridRect,
    node: Option<NodeId>,
}

/// A piece of a picture between two nodes. Its first node is met at the origin.
#[derive(Debug, Clone, Default)]
pub(super) struct Fragment {
    pub(super) symbols: Vec<Symbol>,
    pub(super) wires: Vec<WireSegment>,
    pub(super) labels: Vec<Label>,
    /// Lines to leave free that are drawn later.
    pub(super) keep: Vec<Obstacle>,
    /// Where the second node is met, for a piece that lies on a level line.
    pub(super) exit: GridPoint,
    /// Where the second node is met, for a piece that hangs; each is free down to the bottom.
    pub(super) feet: Vec<GridPoint>,
}

impl Fragment {
    /// Adds a wire; one without length is none.
    pub(super) fn wire(&mut self, from: GridPoint, to: GridPoint, node: NodeId) {
        if from != to {
            self.wires.push(WireSegment { from, to, node });
        }
    }

    /// Adds a foot, below which nothing else may stand.
    pub(super) fn foot(&mut self, at: GridPoint, node: NodeId) {
        self.feet.push(at);
        self.keep.push(Obstacle {
            rect: GridRect::new(at.x, at.y, at.x, FAR),
            node: Some(node),
        });
    }

    /// Keeps the line above a place free.
    pub(super) fn keep_above(&mut self, at: GridPoint, node: NodeId) {
        self.keep.push(Obstacle {
            rect: GridRect::new(at.x, -FAR, at.x, at.y),
            node: Some(node),
        });
    }

    pub(super) fn shift(&mut self, by: GridPoint) {
        for symbol in &mut self.symbols {
            symbol.shift(by);
        }
        for wire in &mut self.wires {
            wire.from = wire.from.shifted(by);
            wire.to = wire.to.shifted(by);
        }
        for label in &mut self.labels {
            label.at = label.at.shifted(by);
        }
        for obstacle in &mut self.keep {
            obstacle.rect = obstacle.rect.shifted(by);
        }
        for foot in &mut self.feet {
            *foot = foot.shifted(by);
        }
        self.exit = self.exit.shifted(by);
    }

    /// Takes another piece in, where it is; its exit is forgotten, its feet are kept.
    pub(super) fn absorb(&mut self, other: Fragment) {
        self.symbols.extend(other.symbols);
        self.wires.extend(other.wires);
        self.labels.extend(other.labels);
        self.keep.extend(other.keep);
        self.feet.extend(other.feet);
    }

    /// Takes the feet away, to be joined to something else than the bottom.
    pub(super) fn take_feet(&mut self) -> Vec<GridPoint> {
        self.keep.retain(|obstacle| obstacle.rect.bottom < FAR / 2);
        std::mem::take(&mut self.feet)
    }

    fn obstacles(&self) -> Vec<Obstacle> {
        let solid = |rect| Obstacle { rect, node: None };
        let mut all: Vec<Obstacle> = self.symbols.iter().map(|one| solid(one.body)).collect();
        all.extend(self.labels.iter().map(|label| solid(label.rect())));
        all.extend(self.wires.iter().map(|wire| Obstacle {
            rect: wire.rect(),
            node: Some(wire.node),
        }));
        all.extend(&self.keep);
        all
    }

    /// What all that is drawn covers, the origin included.
    pub(super) fn bounds(&self) -> GridRect {
        let start = GridRect::new(0, 0, 0, 0);
        let symbols = self.symbols.iter().map(|symbol| symbol.body);
        let labels = self.labels.iter().map(Label::rect);
        let wires = self.wires.iter().map(WireSegment::rect);
        let feet = (self.feet.iter()).map(|foot| GridRect::new(foot.x, foot.y, foot.x, foot.y));
        (symbols.chain(labels).chain(wires).chain(feet)).fold(start, GridRect::joined)
    }

    /// Whether something other than wires stands at the level of the origin or above.
    pub(super) fn stands_above(&self) -> bool {
        let symbols = self.symbols.iter().map(|symbol| symbol.body.top);
        let labels = self.labels.iter().map(|label| label.rect().top);
        symbols.chain(labels).any(|top| top < 2)
    }

    /// The same lowered so far that a wire can pass at the level of the origin.
    pub(super) fn lowered(mut self, top: NodeId) -> Self {
        let bounds = self.bounds();
        let down = MARGIN + 2 - bounds.top;
        // The wire down must not run through what stands to the left of it.
        let right = if bounds.left < 0 {
            MARGIN - bounds.left
        } else {
            0
        };
        self.shift(GridPoint::new(right, down));
        let corner = GridPoint::new(0, down);
        self.wire(GridPoint::ORIGIN, corner, top);
        self.wire(corner, GridPoint::new(right, down), top);
        self
    }
}

/// How far `new` must go to the right to stand clear of what has been `placed`.
fn shift_to_clear(placed: &[Obstacle], new: &[Obstacle]) -> Option<i32> {
    let mut shift = None;
    for one in placed {
        for other in new {
            let same_wire = one.node.is_some() && one.node == other.node;
            let apart = one.rect.bottom + LEVEL_MARGIN <= other.rect.top
                || other.rect.bottom + LEVEL_MARGIN <= one.rect.top;
            if !same_wire && !apart {
                shift = shift.max(Some(one.rect.right + MARGIN - other.rect.left));
            }
        }
    }
    shift
}

/// A level line along which pieces are set from left to right, each as close as it can be.
#[derive(Debug)]
pub(super) struct Run {
    /// All that has been placed.
    pub(super) fragment: Fragment,
    /// Where the line ends by now.
    pub(super) end: GridPoint,
    /// The node there.
    pub(super) node: NodeId,
    obstacles: Vec<Obstacle>,
}

impl Run {
    /// A line that begins at the origin.
    pub(super) fn new(node: NodeId) -> Self {
        Self {
            fragment: Fragment::default(),
            end: GridPoint::ORIGIN,
            node,
            obstacles: Vec::new(),
        }
    }

    /// A line that goes on from what has been drawn.
    pub(super) fn from(fragment: Fragment, end: GridPoint, node: NodeId) -> Self {
        let obstacles = fragment.obstacles();
        Self {
            fragment,
            end,
            node,
            obstacles,
        }
    }

    /// Sets a piece at the end of the line, or further right, and says where its origin is.
    fn place(&mut self, mut piece: Fragment, wired: bool, least: i32) -> (GridPoint, Fragment) {
        let lift = GridPoint::new(0, self.end.y);
        piece.shift(lift);
        let clear = shift_to_clear(&self.obstacles, &piece.obstacles());
        let x = clear.map_or(least, |clear| clear.max(least));
        piece.shift(GridPoint::new(x, 0));
        let at = GridPoint::new(x, self.end.y);
        if wired {
            piece.wire(self.end, at, self.node);
        }
        self.obstacles.extend(piece.obstacles());
        (at, piece)
    }

    /// A piece on the line, that leads on to the node `next`.
    pub(super) fn across(&mut self, piece: Fragment, next: NodeId) {
        let (_, piece) = self.place(piece, true, self.end.x);
        self.end = piece.exit;
        self.node = next;
        self.fragment.absorb(piece);
    }

    /// A piece that hangs from the line. Several may hang from one node.
    pub(super) fn down(&mut self, piece: Fragment) {
        let (at, piece) = self.place(piece, true, self.end.x);
        self.end = at;
        self.fragment.absorb(piece);
    }

    /// Goes on with another node, not nearer than `least`, with or without a wire to it; says where.
    pub(super) fn begin(&mut self, node: NodeId, wired: bool, mut piece: Fragment, least: i32) {
        piece.keep.push(Obstacle {
            rect: GridRect::new(0, 0, 0, 0),
            node: Some(node),
        });
        let (at, piece) = self.place(piece, wired, least.max(self.end.x));
        self.end = at;
        self.node = node;
        self.fragment.absorb(piece);
    }

    /// Writes the name of the node at the end of the line above it.
    pub(super) fn name_node(&mut self, sheet: &SchematicSheet<'_>) {
        let lines = node_lines(sheet.network, self.node);
        if lines.is_empty() {
            return;
        }
        let y = -3 - height(&lines) + 1;
        let labels = set(lines, GridPoint::new(-BESIDE_NODE, y), Anchor::End);
        let piece = Fragment {
            labels,
            ..Fragment::default()
        };
        self.begin(self.node, true, piece, 0);
    }
}

//! Plain geometry: a picture is data first, so that it can be checked before it is written.
//!
//! Coordinates are whole units (1/96 inch in print), x to the right and y downwards.

use netlist::network::NodeId;

use super::text::{self, Style};

/// A place on the sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct GridPoint {
    pub(super) x: i32,
    pub(super) y: i32,
}

impl GridPoint {
    pub(super) const ORIGIN: GridPoint = GridPoint { x: 0, y: 0 };

    pub(super) fn new(x: i32, y: i32) -> Self {
        Self { x, y }
    }

    pub(super) fn shifted(self, by: GridPoint) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

/// An upright rectangle with its edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct GridRect {
    pub(super) left: i32,
    pub(super) top: i32,
    pub(super) right: i32,
    pub(super) bottom: i32,
}

impl GridRect {
    pub(super) fn new(left: i32, top: i32, right: i32, bottom: i32) -> Self {
        Self {
            left,
            top,
            right,
            bottom,
        }
    }

    pub(super) fn shifted(self, by: GridPoint) -> Self {
        Self::new(
            self.left + by.x,
            self.top + by.y,
            self.right + by.x,
            self.bottom + by.y,
        )
    }

    pub(super) fn joined(self, other: GridRect) -> Self {
        Self::new(
            self.left.min(other.left),
            self.top.min(other.top),
            self.right.max(other.right),
            self.bottom.max(other.bottom),
        )
    }

    /// With so much around it.
    pub(super) fn widened(self, by: i32) -> Self {
        Self::new(
            self.left - by,
            self.top - by,
            self.right + by,
            self.bottom + by,
        )
    }

    /// Turned by a quarter about the origin, so that what was on the left is above.
    pub(super) fn turned(self) -> Self {
        Self::new(-self.bottom, self.left, -self.top, self.right)
    }

    /// Whether a place is inside or on an edge.
    pub(super) fn holds(self, at: GridPoint) -> bool {
        (self.left..=self.right).contains(&at.x) && (self.top..=self.bottom).contains(&at.y)
    }

    /// Whether the two share more than an edge.
    pub(super) fn overlaps(self, other: GridRect) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// What a symbol shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Glyph {
    /// A rectangle.
    Resistor,
    /// Two plates.
    Capacitor,
    /// Four half turns; a dot at the first or the second end says from where the coil counts.
    Coil { dot: Option<SymbolEnd> },
    /// A loudspeaker.
    Driver,
    /// A tapped winding that runs downwards: offsets of its taps below the upper end, and whether
    /// they leave to the left.
    Winding { length: i32, taps: Vec<(i32, bool)> },
    /// A terminal of the loudspeaker, or a tap that leads nowhere.
    Terminal,
}

/// One of the two ends of a symbol: left or upper, right or lower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SymbolEnd {
    Fore,
    Aft,
}

/// A symbol with the places at which wires meet it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Symbol {
    /// Index of the part; none for a terminal.
    pub(super) part: Option<usize>,
    pub(super) glyph: Glyph,
    /// Middle of the body; upper end of a winding.
    pub(super) at: GridPoint,
    /// Drawn from top to bottom, not from left to right.
    pub(super) upright: bool,
    /// Where wires meet it, in the order of the part's nodes: the pair, then taps as listed.
    pub(super) terminals: Vec<GridPoint>,
    /// What the body covers.
    pub(super) body: GridRect,
}

impl Symbol {
    pub(super) fn shift(&mut self, by: GridPoint) {
        self.at = self.at.shifted(by);
        self.body = self.body.shifted(by);
        for terminal in &mut self.terminals {
            *terminal = terminal.shifted(by);
        }
    }
}

/// A straight piece of wire, level or plumb, that belongs to a node.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct WireSegment {
    pub(super) from: GridPoint,
    pub(super) to: GridPoint,
    pub(super) node: NodeId,
}

impl WireSegment {
    pub(super) fn rect(&self) -> GridRect {
        GridRect::new(
            self.from.x.min(self.to.x),
            self.from.y.min(self.to.y),
            self.from.x.max(self.to.x),
            self.from.y.max(self.to.y),
        )
    }
}

/// Where a text stands to its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// What a text says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LabelRole {
    /// The name of a part, or a line of a long one.
    PartName(usize),
    /// The name of a node, or a line of a long one.
    NodeName(NodeId),
    /// A value of a part.
    Value(usize),
    /// A polarity mark at a terminal of a part; at one of the loudspeaker without a part.
    Mark(Option<usize>),
}

/// A line of text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Label {
    pub(super) text: String,
    /// On the base line.
    pub(super) at: GridPoint,
    pub(super) anchor: Anchor,
    pub(super) style: Style,
    pub(super) role: LabelRole,
}

impl Label {
    /// What the text covers at most.
    pub(super) fn rect(&self) -> GridRect {
        let width = text::width(&self.text, self.style);
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - (width + 1) / 2,
            Anchor::End => self.at.x - width,
        };
        let top = self.at.y - self.style.ascent();
        GridRect::new(left, top, left + width, self.at.y + self.style.descent())
    }
}

/// A finished picture.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Drawing {
    pub(super) symbols: Vec<Symbol>,
    pub(super) wires: Vec<WireSegment>,
    pub(super) labels: Vec<Label>,
    /// Dots: three or more wires meet.
    pub(super) junctions: Vec<GridPoint>,
    pub(super) width: i32,
    pub(super) height: i32,
}

//! Single parts as pieces of the picture. Shapes after IEC 60617: a resistor is a rectangle, a
//! capacitor two plates, a coil four half turns, a loudspeaker a rectangle with a cone.

use netlist::network::{NodeId, PartKind};

use super::fragment::Fragment;
use super::geometry::{Anchor, Glyph, GridPoint, GridRect, LabelRole, Symbol, SymbolEnd};
use super::sheet::{SchematicSheet, height, line, set};
use super::text::Style;

/// Radius of a turn of a coil.
pub(super) const TURN: i32 = 5;
/// Half the length of a coil.
pub(super) const COIL: i32 = 4 * TURN;
/// Half the length and half the width of a resistor.
pub(super) const RESISTOR: (i32, i32) = (16, 6);
/// Half the gap and half the width of a capacitor's plates.
pub(super) const PLATES: (i32, i32) = (4, 11);
/// Half the length and half the width of a driver's motor, and the depth of its cone.
pub(super) const DRIVER: (i32, i32, i32) = (12, 6, 10);
/// How far a coil's dot is from its axis.
pub(super) const DOT: i32 = 6;
/// Wire on both sides of a level symbol.
pub(super) const LEVEL_LEAD: i32 = 9;
/// Least wire above and below a hanging symbol.
const LEAD: i32 = 14;
/// Clear space below a level line, so that texts can stand under the symbols on it.
const BELOW_LINE: i32 = 15;
/// Between a symbol and its texts.
const GAP: i32 = 5;
/// Between a level line and the texts of the parts on it, so that a node can be named under them.
const ABOVE_NAME: i32 = 17;

/// What a symbol from left to right covers about its middle.
fn body(glyph: &Glyph) -> GridRect {
    match glyph {
        Glyph::Resistor => GridRect::new(-RESISTOR.0, -RESISTOR.1, RESISTOR.0, RESISTOR.1),
        Glyph::Capacitor => GridRect::new(-PLATES.0, -PLATES.1, PLATES.0, PLATES.1),
        Glyph::Driver => {
            let wide = DRIVER.0.max(DRIVER.1 + DRIVER.2);
            GridRect::new(-wide, -DRIVER.1 - DRIVER.2, wide, DRIVER.1)
        }
        Glyph::Coil { dot } => {
            let below = if dot.is_some() { DOT + 3 } else { 1 };
            GridRect::new(-COIL, -TURN - 1, COIL, below)
        }
        _ => GridRect::new(0, 0, 0, 0),
    }
}

/// A part from left to right, its texts above it, with `lead` of wire on both sides. `flipped`: its second node comes
/// first.
pub(super) fn level(
    sheet: &SchematicSheet<'_>,
    index: usize,
    flipped: bool,
    ends: [NodeId; 2],
    lead: i32,
) -> Fragment {
    let (glyph, half) = glyph(sheet, index, flipped);
    let body = body(&glyph);
    let centre = GridPoint::new(half + lead, 0);
    let exit = GridPoint::new(2 * (half + lead), 0);
    let near = GridPoint::new(lead, 0);
    let far = GridPoint::new(lead + 2 * half, 0);
    let mut piece = Fragment {
        exit,
        ..Fragment::default()
    };
    piece.wire(GridPoint::ORIGIN, near, ends[0]);
    piece.wire(far, exit, ends[1]);
    let lines = sheet.lines(index);
    // The name of a node fits between a text and the line.
    let top = (body.top - GAP + 2).min(-ABOVE_NAME) - height(&lines);
    piece.labels = set(lines, GridPoint::new(centre.x, top), Anchor::Middle);
    if let Some([first, second]) = marks(sheet, index, flipped) {
        let y = DRIVER.1 - 3;
        let left = GridPoint::new(near.x - 4, y);
        let right = GridPoint::new(far.x + 4, y);
        piece.labels.extend(set(
            line(first, Style::Value, LabelRole::Mark(Some(index))),
            left,
            Anchor::End,
        ));
        let second = line(second, Style::Value, LabelRole::Mark(Some(index)));
        piece.labels.extend(set(second, right, Anchor::Start));
    }
    piece.symbols.push(Symbol {
        part: Some(index),
        glyph,
        at: centre,
        upright: false,
        terminals: terminals([near, far], flipped),
        body: body.shifted(centre),
    });
    piece
}

/// A part from top to bottom, its texts to the right. `flipped`: its second node is above.
pub(super) fn hanging(
    sheet: &SchematicSheet<'_>,
    index: usize,
    flipped: bool,
    ends: [NodeId; 2],
) -> Fragment {
    let (glyph, half) = glyph(sheet, index, flipped);
    let body = body(&glyph).turned();
    let lines = sheet.lines(index);
    let tall = height(&lines);
    let middle = (half + LEAD).max(BELOW_LINE + (tall + 1) / 2);
    let foot = middle + (half + LEAD).max((tall + 1) / 2 + 4);
    let centre = GridPoint::new(0, middle);
    let mut piece = Fragment::default();
    let (near, far) = (
        GridPoint::new(0, middle - half),
        GridPoint::new(0, middle + half),
    );
    piece.wire(GridPoint::ORIGIN, near, ends[0]);
    piece.wire(far, GridPoint::new(0, foot), ends[1]);
    let at = GridPoint::new(body.right + GAP, middle - tall / 2);
    piece.labels = set(lines, at, Anchor::Start);
    if let Some([first, second]) = marks(sheet, index, flipped) {
        let x = body.left - 2;
        let upper = GridPoint::new(x, middle - half - 11);
        let lower = GridPoint::new(x, middle + half - 2);
        for (mark, at) in [(first, upper), (second, lower)] {
            let mark = line(mark, Style::Value, LabelRole::Mark(Some(index)));
            piece.labels.extend(set(mark, at, Anchor::End));
        }
    }
    piece.symbols.push(Symbol {
        part: Some(index),
        glyph,
        at: centre,
        upright: true,
        terminals: terminals([near, far], flipped),
        body: body.shifted(centre),
    });
    piece.foot(GridPoint::new(0, foot), ends[1]);
    piece
}

/// Where wires meet a symbol, the part's first node first.
fn terminals(mut ends: [GridPoint; 2], flipped: bool) -> Vec<GridPoint> {
    if flipped {
        ends.reverse();
    }
    ends.to_vec()
}

/// The glyph of a part with two ends, and half its length.
fn glyph(sheet: &SchematicSheet<'_>, index: usize, flipped: bool) -> (Glyph, i32) {
    match &sheet.part(index).kind {
        PartKind::Capacitor { .. } => (Glyph::Capacitor, PLATES.0),
        PartKind::Inductor { .. } => {
            let counts_from = if flipped {
                SymbolEnd::Aft
            } else {
                SymbolEnd::Fore
            };
            let dot = sheet.is_coupled(index).then_some(counts_from);
            (Glyph::Coil { dot }, COIL)
        }
        PartKind::Driver { .. } => (Glyph::Driver, DRIVER.0),
        _ => (Glyph::Resistor, RESISTOR.0),
    }
}

/// The marks at the first and the second terminal as drawn, for a driver.
fn marks(sheet: &SchematicSheet<'_>, index: usize, flipped: bool) -> Option<[&'static str; 2]> {
    let PartKind::Driver { inverted, .. } = &sheet.part(index).kind else {
        return None;
    };
    Some(if *inverted == flipped {
        ["+", "−"]
    } else {
        ["−", "+"]
    })
}

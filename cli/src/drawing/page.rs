//! The whole picture: one way under the other between the two terminals.
//!
//! The wire from `in` runs down on the left and feeds every way; each way has its own line for the
//! return at its bottom, and the lines meet on the right, so that the two never cross. The lowest
//! line leads back to the terminal `gnd`.

use netlist::network::{NodeId, PartKind};

use super::branch::SeriesParallel;
use super::fragment::{Fragment, MARGIN};
use super::geometry::{Anchor, Drawing, Glyph, GridPoint, GridRect, LabelRole, Symbol};
use super::reduce::{DrawnWay, Edge, ways};
use super::sheet::{SchematicSheet, TextLine, height, line, set, terminal_lines};
use super::text::Style;
use super::winding::OPEN;
use super::{ladder, leads, mesh, text, wires};

/// Clear space around everything.
const BORDER: i32 = 10;
/// From the terminals to the wire that feeds the ways, and from there to the ways.
const LEAD: i32 = 16;
/// From the lowest thing of a way to its return line.
const ABOVE_RETURN: i32 = 8;
/// Least depth of a return line below the terminal `in`: room for the mark of `gnd` between them.
const LEAST_RETURN: i32 = 28;
/// From one way to the next.
const BETWEEN_WAYS: i32 = 20;

/// The picture of a network.
pub(super) fn draw(sheet: &SchematicSheet<'_>) -> Drawing {
    let ways = corrections_together(sheet, ways(sheet.network));
    let mut pieces: Vec<Fragment> = (ways.iter()).map(|way| piece(sheet, way)).collect();
    pieces.sort_by_key(|piece| !piece.feet.is_empty());
    let (mut page, gnd) = stacked(pieces);
    name_terminals(sheet, &mut page, gnd);
    couplings(sheet, &mut page);
    finish(page)
}

/// The two terminals, between which a way that is one branch lies.
const ACROSS: [NodeId; 2] = [NodeId::IN, NodeId::GND];

/// Branches across the terminals that feed no driver, as corrections do, stand side by side ahead of
/// the others.
fn corrections_together(sheet: &SchematicSheet<'_>, ways: Vec<DrawnWay>) -> Vec<DrawnWay> {
    let is_correction = |way: &DrawnWay| match (way.edges.as_slice(), way.windings.as_slice()) {
        ([edge], []) => edge.ends == ACROSS && !edge.branch.has_driver(sheet.network),
        _ => false,
    };
    let (corrections, mut ways): (Vec<DrawnWay>, Vec<DrawnWay>) =
        ways.into_iter().partition(is_correction);
    let edges = corrections.into_iter().flat_map(|way| way.edges);
    if let Some(branch) = edges.map(|edge| edge.branch).reduce(SeriesParallel::beside) {
        let ends = ACROSS;
        let edges = vec![Edge { ends, branch }];
        let windings = Vec::new();
        ways.insert(0, DrawnWay { edges, windings });
    }
    ways
}

fn piece(sheet: &SchematicSheet<'_>, way: &DrawnWay) -> Fragment {
    match (way.edges.as_slice(), way.windings.as_slice()) {
        ([Edge { ends, branch }], []) if *ends == ACROSS => ladder::hanging(sheet, branch, *ends),
        _ => mesh::draw(sheet, way),
    }
}

/// All ways with the wires that join them, terminal `in` at the origin; and where `gnd` is.
fn stacked(pieces: Vec<Fragment>) -> (Fragment, GridPoint) {
    let mut page = Fragment::default();
    let feed_x = OPEN + LEAD;
    let mut bottom: Option<i32> = None;
    let mut right = feed_x;
    let mut first_y = None;
    let mut feeds = Vec::new();
    // Left end and height of each return line.
    let mut returns: Vec<GridPoint> = Vec::new();
    for mut piece in pieces {
        let bounds = piece.bounds();
        let y = bottom.map_or(0, |bottom| bottom + BETWEEN_WAYS - bounds.top);
        let x = feed_x + LEAD.max(MARGIN - bounds.left);
        let feet = piece.take_feet();
        piece.shift(GridPoint::new(x, y));
        right = right.max(bounds.right + x);
        page.absorb(piece);
        first_y.get_or_insert(y);
        feeds.push((y, x));
        let mut low = bounds.bottom + y;
        if !feet.is_empty() {
            // The lowest terminal's mark stands clear of the terminal `in` at 0.
            low = (low + ABOVE_RETURN).max(LEAST_RETURN);
            for foot in &feet {
                let from = GridPoint::new(foot.x + x, foot.y + y);
                page.wire(from, GridPoint::new(from.x, low), NodeId::GND);
            }
            let left = feet.iter().map(|foot| foot.x + x).min().unwrap_or(x);
            returns.push(GridPoint::new(left, low));
            let end = feet.iter().map(|foot| foot.x + x).max().unwrap_or(x);
            page.wire(
                GridPoint::new(left, low),
                GridPoint::new(end, low),
                NodeId::GND,
            );
        }
        bottom = Some(low);
    }
    feed(&mut page, feed_x, &feeds);
    let below = bottom.unwrap_or(0) + 2 * BETWEEN_WAYS;
    let gnd = return_terminal(&mut page, &returns, [feed_x, right + LEAD], below);
    for at in [GridPoint::ORIGIN, gnd] {
        page.symbols.push(Symbol {
            part: None,
            glyph: Glyph::Terminal,
            at,
            upright: false,
            terminals: vec![GridPoint::new(OPEN, at.y)],
            body: GridRect::new(at.x - OPEN, at.y - OPEN, at.x + OPEN, at.y + OPEN),
        });
    }
    (page, gnd)
}

/// The wires from terminal `in` to the ways, each by its height and where it begins.
fn feed(page: &mut Fragment, feed_x: i32, feeds: &[(i32, i32)]) {
    for (y, x) in feeds {
        page.wire(
            GridPoint::new(feed_x, *y),
            GridPoint::new(*x, *y),
            NodeId::IN,
        );
    }
    if let Some((last, _)) = feeds.last() {
        page.wire(
            GridPoint::new(feed_x, 0),
            GridPoint::new(feed_x, *last),
            NodeId::IN,
        );
    }
    page.wire(
        GridPoint::new(OPEN, 0),
        GridPoint::new(feed_x, 0),
        NodeId::IN,
    );
}

/// The wires that join the return lines, and where terminal `gnd` is: on the lowest line, or `below` all where there is
/// none.
fn return_terminal(
    page: &mut Fragment,
    returns: &[GridPoint],
    [feed_x, joint]: [i32; 2],
    below: i32,
) -> GridPoint {
    if let [first, .., last] = *returns {
        page.wire(
            GridPoint::new(joint, first.y),
            GridPoint::new(joint, last.y),
            NodeId::GND,
        );
        for line in returns {
            page.wire(*line, GridPoint::new(joint, line.y), NodeId::GND);
        }
    }
    // Ways that reach `gnd` come last, so that this is the lowest line.
    match returns.last() {
        Some(last) => {
            page.wire(GridPoint::new(OPEN, last.y), *last, NodeId::GND);
            GridPoint::new(0, last.y)
        }
        None => {
            // Its mark stands clear of the terminal above.
            let at = GridPoint::new(0, below);
            page.wire(
                GridPoint::new(OPEN, at.y),
                GridPoint::new(feed_x, at.y),
                NodeId::GND,
            );
            at
        }
    }
}

/// Names and marks of the two terminals.
fn name_terminals(sheet: &SchematicSheet<'_>, page: &mut Fragment, gnd: GridPoint) {
    for (at, node, mark) in [
        (GridPoint::ORIGIN, NodeId::IN, "+"),
        (gnd, NodeId::GND, "−"),
    ] {
        let name = terminal_lines(sheet.network, node);
        let beside = GridPoint::new(at.x - OPEN - 4, at.y - height(&name) / 2);
        page.labels.extend(set(name, beside, Anchor::End));
        let mark = line(mark, Style::Value, LabelRole::Mark(None));
        let above = GridPoint::new(at.x, at.y - OPEN - 2 - height(&mark));
        page.labels.extend(set(mark, above, Anchor::Middle));
    }
}

/// A line of text for each coupling, below the ways.
fn couplings(sheet: &SchematicSheet<'_>, page: &mut Fragment) {
    let mut y = page.bounds().bottom + BETWEEN_WAYS;
    for (index, (_, part)) in sheet.network.parts().iter().enumerate() {
        let PartKind::Coupling { inductors, factor } = &part.kind else {
            continue;
        };
        let name = sheet.lines(index);
        let room = height(&name);
        let labels = set(name, GridPoint::new(0, y), Anchor::Start);
        let right = labels.iter().map(|label| label.rect().right).max();
        let right = right.unwrap_or(0) + 8;
        page.labels.extend(labels);
        let words = format!(
            "{} and {} are coupled, k = {factor}; each counts from its dot",
            inductors[0], inductors[1]
        );
        let lines: Vec<TextLine> = (text::folded(&words, 80).into_iter())
            .flat_map(|text| line(text, Style::Value, LabelRole::Value(index)))
            .collect();
        let room = room.max(height(&lines));
        page.labels
            .extend(set(lines, GridPoint::new(right, y), Anchor::Start));
        y += room + 4;
    }
}

/// Everything moved into the picture, wires tidied, dots set.
fn finish(mut page: Fragment) -> Drawing {
    page.wires = wires::merged(&page.wires);
    leads::equalise(&mut page);
    let bounds = page.bounds();
    page.shift(GridPoint::new(BORDER - bounds.left, BORDER - bounds.top));
    let wires = wires::merged(&page.wires);
    let terminals: Vec<GridPoint> = (page.symbols.iter())
        .flat_map(|symbol| symbol.terminals.iter().copied())
        .collect();
    Drawing {
        junctions: wires::junctions(&wires, &terminals),
        symbols: page.symbols,
        wires,
        labels: page.labels,
        width: bounds.right - bounds.left + 2 * BORDER,
        height: bounds.bottom - bounds.top + 2 * BORDER,
    }
}

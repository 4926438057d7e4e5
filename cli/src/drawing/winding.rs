//! An autoformer that ends at the return, with the loads of its taps: the winding upright, its taps
//! to the right, the lowest tap's load nearest.

use netlist::network::NodeId;

use super::branch::{TappedWinding, Terminal, Use};
use super::fragment::{Fragment, MARGIN, Run};
use super::geometry::{Anchor, Glyph, GridPoint, GridRect, LabelRole, Symbol};
use super::sheet::{SchematicSheet, TextLine, height, line, set};
use super::symbol::TURN;
use super::text::Style;
use crate::words::tap_words;

/// From one tap to the next.
pub(super) const SECTION: i32 = 6 * TURN;
/// Wire above and below the winding.
const LEAD: i32 = 14;
/// From the feed to a winding that is fed at a tap.
const ASIDE: i32 = 30;
/// Radius of an open end.
pub(super) const OPEN: i32 = 3;

/// What a tap takes away, as text.
pub(super) fn ratio_line(index: usize, terminal: &Terminal) -> Vec<TextLine> {
    match terminal.ratio {
        Some(ratio) => line(tap_words(ratio), Style::Small, LabelRole::Value(index)),
        None => Vec::new(),
    }
}

/// The winding from its feed down to `gnd`, with the piece that hangs on each terminal.
pub(super) fn hanging(
    sheet: &SchematicSheet<'_>,
    winding: &TappedWinding,
    loads: Vec<Option<Fragment>>,
) -> Fragment {
    let index = winding.index;
    let terminals = &winding.terminals;
    let sections = terminals.len() as i32 - 1;
    let fed_at = |terminal: &Terminal| matches!(terminal.used, Use::Feed);
    let fed = terminals.iter().position(fed_at).unwrap_or(0);
    let feed = terminals[fed].node;
    let top = first_level(&loads, fed);
    let level = |i: usize| top + SECTION * i as i32;
    let x = if fed == 0 { 0 } else { ASIDE };
    let length = SECTION * sections;
    let bottom = top + length;

    let mut piece = Fragment::default();
    let lines = sheet.lines(index);
    let tall = height(&lines);
    let label_top = if fed == 0 {
        piece.wire(GridPoint::ORIGIN, GridPoint::new(0, top), feed);
        (top + (length - tall) / 2).max(LEAD + 1)
    } else {
        let y = level(fed);
        piece.wire(GridPoint::ORIGIN, GridPoint::new(0, y), feed);
        piece.wire(GridPoint::new(0, y), GridPoint::new(x - TURN - 1, y), feed);
        y + MARGIN
    };
    let beside = GridPoint::new(x - TURN - MARGIN, label_top);
    piece.labels = set(lines, beside, Anchor::End);
    let mut places = vec![GridPoint::ORIGIN; terminals.len()];
    for (i, terminal) in terminals.iter().enumerate() {
        let left = fed != 0 && i == fed;
        let x = if left { x - TURN - 1 } else { x };
        places[terminal.position] = GridPoint::new(x, level(i));
    }
    piece.symbols.push(Symbol {
        part: Some(index),
        glyph: Glyph::Winding {
            length,
            taps: (1..sections)
                .map(|i| (SECTION * i, i as usize == fed))
                .collect(),
        },
        at: GridPoint::new(x, top),
        upright: true,
        terminals: places,
        body: GridRect::new(x - TURN - 1, top, x, bottom),
    });
    let foot = GridPoint::new(x, (bottom + LEAD).max(label_top + tall + 4));
    piece.wire(GridPoint::new(x, bottom), foot, NodeId::GND);
    piece.foot(foot, NodeId::GND);
    for (i, load) in loads.into_iter().enumerate().rev() {
        if matches!(terminals[i].used, Use::Feed | Use::Return) {
            continue;
        }
        let from = GridPoint::new(x, level(i));
        // Free height above: up to the line, or to the next tap.
        let room = if i == highest(fed) { from.y } else { SECTION };
        piece = tap(sheet, index, piece, (from, room), &terminals[i], load);
    }
    piece
}

/// The highest terminal to the right.
fn highest(fed: usize) -> usize {
    usize::from(fed == 0)
}

/// How far down the winding begins, so that what the highest tap feeds stays below the line.
fn first_level(loads: &[Option<Fragment>], fed: usize) -> i32 {
    let highest = highest(fed);
    let above = (loads.get(highest).and_then(Option::as_ref))
        .map_or(0, |load| MARGIN + 4 - load.bounds().top);
    LEAD.max(above - SECTION * highest as i32)
}

/// What hangs on a tap, to the right of all lower ones.
fn tap(
    sheet: &SchematicSheet<'_>,
    index: usize,
    piece: Fragment,
    (from, room): (GridPoint, i32),
    terminal: &Terminal,
    load: Option<Fragment>,
) -> Fragment {
    let node = terminal.node;
    let mut run = Run::from(piece, from, node);
    let lines = ratio_line(index, terminal);
    let above = GridPoint::new(0, -2 - height(&lines));
    let labels = set(lines, above, Anchor::Start);
    let ratio = Fragment {
        labels,
        ..Fragment::default()
    };
    run.begin(node, true, ratio, from.x + MARGIN);
    run.name_node(sheet);
    match load {
        Some(load) => {
            let fits = MARGIN - load.bounds().top <= room;
            run.down(if fits { load } else { load.lowered(node) });
        }
        None => run.across(open_end(node), node),
    }
    run.fragment
}

/// A short wire that leads nowhere.
pub(super) fn open_end(node: NodeId) -> Fragment {
    let mut piece = Fragment::default();
    let end = GridPoint::new(10, 0);
    piece.wire(GridPoint::ORIGIN, end, node);
    piece.symbols.push(Symbol {
        part: None,
        glyph: Glyph::Terminal,
        at: GridPoint::new(end.x + OPEN, 0),
        upright: false,
        terminals: vec![end],
        body: GridRect::new(end.x, -OPEN, end.x + 2 * OPEN, OPEN),
    });
    piece.exit = end;
    piece
}

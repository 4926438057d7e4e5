//! Parts moved to the middle of their wires, so that the wire on both sides of each is equally long.
//!
//! Pieces are set with what their texts need, and what hangs further down pulls wires longer on one side. Here parts
//! that follow each other on a straight wire without a junction are spread over it, each with the same length of wire
//! before and behind it; a text that would come too near to something keeps its part where it can stand.

use super::clear::{NAME_REACH, is_clear, is_named_at_its_wires};
use super::fragment::{BESIDE_NODE, Fragment};
use super::geometry::{GridPoint, GridRect, Label, LabelRole, Symbol};

/// Shares of the whole way that are tried, in eighths.
const TRIED: [i32; 8] = [8, 7, 6, 5, 4, 3, 2, 1];

/// Spreads all parts of a picture whose wires are merged.
pub(super) fn equalise(page: &mut Fragment) {
    // What lies further right and further down first: it makes room for what comes before it.
    let mut order: Vec<usize> = (0..page.symbols.len()).collect();
    order.sort_by_key(|&i| {
        let at = page.symbols[i].at;
        (page.symbols[i].upright, -at.x, -at.y)
    });
    for &i in &order {
        name_at_end(page, i);
    }
    // Twice: what was in the way may have moved.
    for _ in 0..2 {
        for &first in &order {
            if let Some(chain) = Chain::from(page, first) {
                spread(page, &chain);
            }
        }
    }
}

/// Moves the name of the node behind a level part to the far end of the wire, where it leaves room for the part.
fn name_at_end(page: &mut Fragment, symbol: usize) {
    let one = &page.symbols[symbol];
    if one.upright || !is_movable(one) {
        return;
    }
    let behind = lead(page, one, 1);
    let from = terminal(one, 1);
    let wire = page.wires.iter().find(|wire| wire.from == from);
    let (Some(wire), None) = (wire, behind.next) else {
        return;
    };
    let end = from.x + behind.length;
    let is_here = |label: &Label| {
        let rect = label.rect();
        label.role == LabelRole::NodeName(wire.node)
            && (from.x..=end).contains(&rect.left)
            && rect.right <= end
            && (0..=NAME_REACH).contains(&(from.y - rect.bottom))
    };
    let names: Vec<usize> = (0..page.labels.len())
        .filter(|&k| is_here(&page.labels[k]))
        .collect();
    let right = names.iter().map(|&k| page.labels[k].rect().right).max();
    let way = right.map_or(0, |right| end - BESIDE_NODE - right);
    if way <= 0 {
        return;
    }
    let mut new = page.clone();
    for &k in &names {
        new.labels[k].at.x += way;
    }
    if is_clear(&new, &[], &names) && is_named_at_its_wires(&new) {
        *page = new;
    }
}

/// Parts one after the other on a straight wire, from the left or from above.
struct Chain {
    symbols: Vec<usize>,
    /// Length of wire before each part, and behind the last.
    leads: Vec<i32>,
}

impl Chain {
    /// The chain that begins with a part; none if another one is before it, or nothing is to be moved.
    fn from(page: &Fragment, first: usize) -> Option<Self> {
        let symbol = page
            .symbols
            .get(first)
            .filter(|symbol| is_movable(symbol))?;
        let before = lead(page, symbol, -1);
        if before.next.is_some() {
            return None;
        }
        let mut chain = Chain {
            symbols: vec![first],
            leads: vec![before.length],
        };
        let mut behind = lead(page, symbol, 1);
        while let Some(next) = behind.next {
            chain.symbols.push(next);
            chain.leads.push(behind.length);
            behind = lead(page, &page.symbols[next], 1);
        }
        chain.leads.push(behind.length);
        Some(chain)
    }

    /// How far each part must go.
    fn ways(&self) -> Vec<i32> {
        let count = self.symbols.len() as i32;
        let whole: i32 = self.leads.iter().sum();
        let mut before = 0;
        (0..count)
            .zip(&self.leads)
            .map(|(j, lead)| {
                before += lead;
                whole * (2 * j + 1) / (2 * count) - before
            })
            .collect()
    }
}

/// The wire on one side of a part.
struct Lead {
    length: i32,
    /// The part at its other end, where nothing else meets it.
    next: Option<usize>,
}

/// A part with two terminals on its axis.
fn is_movable(symbol: &Symbol) -> bool {
    symbol.part.is_some() && symbol.terminals.len() == 2 && {
        let across = |at: &GridPoint| if symbol.upright { at.x } else { at.y };
        across(&symbol.terminals[0]) == across(&symbol.terminals[1])
    }
}

/// Of the parts of a finished picture: their number, and how many have unequal leads (by more than a unit, which is
/// what whole units leave), by name of the part's place.
#[cfg(test)]
pub(super) fn unequal(drawing: &super::geometry::Drawing) -> (usize, Vec<usize>) {
    let page = Fragment {
        symbols: drawing.symbols.clone(),
        wires: drawing.wires.clone(),
        ..Fragment::default()
    };
    let parts = page.symbols.iter().filter(|symbol| is_movable(symbol));
    let is_unequal = |symbol: &&Symbol| {
        let [before, behind] = [-1, 1].map(|sign| {
            let lead = lead(&page, symbol, sign);
            // Between two parts half the wire belongs to each.
            if lead.next.is_some() {
                lead.length / 2
            } else {
                lead.length
            }
        });
        (before - behind).abs() > 1
    };
    let found = parts
        .clone()
        .filter(is_unequal)
        .filter_map(|symbol| symbol.part);
    (parts.clone().count(), found.collect())
}

fn along(at: GridPoint, upright: bool) -> i32 {
    if upright { at.y } else { at.x }
}

/// The terminal of a movable part on the side of `sign`: before it, or behind it.
fn terminal(symbol: &Symbol, sign: i32) -> GridPoint {
    let place = |at: &&GridPoint| sign * along(**at, symbol.upright);
    let last = symbol.terminals.iter().max_by_key(place);
    last.copied().unwrap_or_default()
}

/// The straight wire from a part up to whatever else is joined to it.
fn lead(page: &Fragment, symbol: &Symbol, sign: i32) -> Lead {
    let from = terminal(symbol, sign);
    let place = |at: GridPoint| sign * along(at, symbol.upright);
    let ahead = |at: GridPoint| place(at) > place(from);
    let ends_here = |at: GridPoint| at == from;
    let wire = page.wires.iter().find(|wire| {
        let rect = wire.rect();
        let on_axis = if symbol.upright {
            rect.left == rect.right
        } else {
            rect.top == rect.bottom
        };
        on_axis
            && (ends_here(wire.from) && ahead(wire.to) || ends_here(wire.to) && ahead(wire.from))
    });
    let Some(wire) = wire else {
        return Lead {
            length: 0,
            next: None,
        };
    };
    let on_wire = |at: GridPoint| wire.rect().holds(at) && ahead(at);
    let mut others: Vec<GridPoint> = vec![wire.from, wire.to];
    for other in page
        .wires
        .iter()
        .filter(|other| other.node == wire.node && *other != wire)
    {
        others.extend([other.from, other.to]);
        others.push(crossing(wire.rect(), other.rect()));
    }
    let meets = |at: GridPoint| {
        let mut same = page
            .wires
            .iter()
            .filter(|other| other.node == wire.node && *other != wire);
        same.any(|other| other.rect().holds(at))
    };
    others.retain(|&at| at == wire.from || at == wire.to || meets(at));
    let terminals = (page.symbols.iter().enumerate())
        .flat_map(|(i, symbol)| symbol.terminals.iter().map(move |&at| (i, at)));
    let nearest_other = (others.into_iter().filter(|&at| on_wire(at))).min_by_key(|&at| place(at));
    let nearest_part = terminals
        .filter(|&(_, at)| on_wire(at))
        .min_by_key(|&(_, at)| place(at));
    let end = [nearest_other, nearest_part.map(|(_, at)| at)];
    let end = end
        .into_iter()
        .flatten()
        .min_by_key(|&at| place(at))
        .unwrap_or(from);
    let next = nearest_part.filter(|&(i, at)| {
        let other = &page.symbols[i];
        at == end
            && !meets(at)
            && (at == wire.from || at == wire.to)
            && is_movable(other)
            && other.upright == symbol.upright
            && terminal(other, -sign) == at
    });
    Lead {
        length: place(end) - place(from),
        next: next.map(|(i, _)| i),
    }
}

/// Where the lines of a level and a plumb wire cross; it need not lie on either.
fn crossing(a: GridRect, b: GridRect) -> GridPoint {
    let (level, plumb) = if a.top == a.bottom { (a, b) } else { (b, a) };
    GridPoint::new(plumb.left, level.top)
}

/// Moves the parts of a chain as far as there is room.
fn spread(page: &mut Fragment, chain: &Chain) {
    let ways = chain.ways();
    for eighths in TRIED {
        let ways: Vec<i32> = ways.iter().map(|way| way * eighths / 8).collect();
        if ways.iter().all(|way| *way == 0) {
            return;
        }
        if let Some(moved) = moved(page, chain, &ways) {
            *page = moved;
            return;
        }
    }
}

/// The picture with the parts moved, if everything stays clear.
fn moved(page: &Fragment, chain: &Chain, ways: &[i32]) -> Option<Fragment> {
    let mut new = page.clone();
    let upright = page.symbols[chain.symbols[0]].upright;
    let by = |way: i32| match upright {
        true => GridPoint::new(0, way),
        false => GridPoint::new(way, 0),
    };
    let mut texts: Vec<usize> = Vec::new();
    for (&i, &way) in chain.symbols.iter().zip(ways) {
        for k in labels_of(page, i) {
            new.labels[k].at = page.labels[k].at.shifted(by(way));
            texts.push(k);
        }
        for sign in [-1, 1] {
            carry_wire(&mut new, page, terminal(&page.symbols[i], sign), by(way));
        }
        new.symbols[i].shift(by(way));
    }
    // The name of a node between two parts stays between them.
    for (pair, ways) in chain.symbols.windows(2).zip(ways.windows(2)) {
        for k in names_between(page, pair[0], pair[1]) {
            new.labels[k].at = page.labels[k].at.shifted(by((ways[0] + ways[1]) / 2));
            texts.push(k);
        }
    }
    (is_clear(&new, &chain.symbols, &texts) && is_named_at_its_wires(&new)).then_some(new)
}

/// The ends of wires at a terminal go with it.
fn carry_wire(new: &mut Fragment, page: &Fragment, at: GridPoint, by: GridPoint) {
    for (wire, was) in new.wires.iter_mut().zip(&page.wires) {
        if was.from == at {
            wire.from = at.shifted(by);
        }
        if was.to == at {
            wire.to = at.shifted(by);
        }
    }
}

fn labels_of(page: &Fragment, symbol: usize) -> impl Iterator<Item = usize> {
    let part = page.symbols[symbol].part;
    (page.labels.iter().enumerate())
        .filter(move |(_, label)| match label.role {
            LabelRole::PartName(index) | LabelRole::Value(index) => Some(index) == part,
            LabelRole::Mark(index) => index.is_some() && index == part,
            LabelRole::NodeName(_) => false,
        })
        .map(|(k, _)| k)
}

/// Names of the node whose wire runs from one part to the next.
fn names_between(page: &Fragment, one: usize, next: usize) -> Vec<usize> {
    let upright = page.symbols[one].upright;
    let (from, to) = (
        terminal(&page.symbols[one], 1),
        terminal(&page.symbols[next], -1),
    );
    let node = page
        .wires
        .iter()
        .find(|wire| wire.from == from && wire.to == to);
    let here = |label: &Label| {
        let rect = label.rect();
        let (first, last) = if upright {
            (rect.top, rect.bottom)
        } else {
            (rect.left, rect.right)
        };
        last >= along(from, upright) && first <= along(to, upright)
    };
    (page.labels.iter().enumerate())
        .filter(|(_, label)| {
            matches!((label.role, node), (LabelRole::NodeName(name), Some(wire)) if name == wire.node)
                && here(label)
        })
        .map(|(k, _)| k)
        .collect()
}

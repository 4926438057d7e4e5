//! Whether something in a picture may stand where it was moved to.

use super::fragment::Fragment;
use super::geometry::{GridRect, Label, LabelRole, WireSegment};

/// Least clear space around what is moved.
const CLEAR: i32 = 1;
/// Half the thickness of a wire.
const WIRE: i32 = 1;

/// Whether what was moved touches nothing else.
pub(super) fn is_clear(page: &Fragment, symbols: &[usize], texts: &[usize]) -> bool {
    texts.iter().all(|&k| {
        let rect = page.labels[k].rect();
        let others = (page.labels.iter()).filter(|other| !belong_together(&page.labels[k], other));
        let bodies = page.symbols.iter().map(|symbol| symbol.body);
        // A mark stands close to its own part.
        let is_mark = matches!(page.labels[k].role, LabelRole::Mark(_));
        let near = if is_mark { rect } else { rect.widened(CLEAR) };
        others
            .map(Label::rect)
            .chain(bodies)
            .all(|other| !near.overlaps(other))
            && page
                .wires
                .iter()
                .all(|wire| !rect.overlaps(wire.rect().widened(WIRE)))
    }) && symbols.iter().all(|&i| {
        let body = page.symbols[i].body.widened(CLEAR);
        let mut others = page
            .symbols
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != i);
        let mut labels = page
            .labels
            .iter()
            .enumerate()
            .filter(|(k, _)| !texts.contains(k));
        let terminals = &page.symbols[i].terminals;
        let is_own =
            |wire: &&WireSegment| terminals.contains(&wire.from) || terminals.contains(&wire.to);
        let mut wires = page
            .wires
            .iter()
            .filter(|wire| !is_own(wire))
            .map(WireSegment::rect);
        wires.all(|rect| !body.overlaps(rect))
            && others.all(|(_, other)| !body.overlaps(other.body))
            && labels.all(|(_, label)| !body.overlaps(label.rect()))
    })
}

/// From a wire to the name of its node, at most.
pub(super) const NAME_REACH: i32 = 12;

/// Whether every name of a node stands nearest to a wire of that node.
pub(super) fn is_named_at_its_wires(page: &Fragment) -> bool {
    page.labels.iter().all(|label| {
        let LabelRole::NodeName(node) = label.role else {
            return true;
        };
        let room = label.rect();
        let apart = |rect: GridRect| {
            let level = (room.left - rect.right).max(rect.left - room.right);
            let plumb = (room.top - rect.bottom).max(rect.top - room.bottom);
            level.max(plumb).max(0)
        };
        let nearest = |own: bool| {
            let wires = page.wires.iter().filter(|wire| (wire.node == node) == own);
            wires
                .map(|wire| apart(wire.rect()))
                .min()
                .unwrap_or(i32::MAX)
        };
        let own = nearest(true);
        own <= NAME_REACH && own <= nearest(false)
    })
}

/// Whether two texts are lines of the same name, or of one part.
fn belong_together(one: &Label, other: &Label) -> bool {
    match (one.role, other.role) {
        (LabelRole::NodeName(a), LabelRole::NodeName(b)) => a == b,
        (
            LabelRole::PartName(a) | LabelRole::Value(a),
            LabelRole::PartName(b) | LabelRole::Value(b),
        ) => a == b,
        (LabelRole::Mark(_), LabelRole::Mark(_)) => true,
        _ => false,
    }
}

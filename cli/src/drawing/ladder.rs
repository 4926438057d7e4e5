//! Branches as pieces of the picture: what is in series on a level line, what goes to the return
//! hanging from it, what is side by side in lanes or in columns.

use netlist::network::NodeId;

use super::branch::{SeriesParallel, TappedWinding, Use, level_elements};
use super::fragment::{BESIDE_NODE, Fragment, MARGIN, Run};
use super::geometry::{Anchor, GridPoint};
use super::sheet::{SchematicSheet, node_lines, set};
use super::{symbol, winding};

/// Wire from the bar of a group of lanes to its lanes.
const BAR: i32 = 8;

/// A branch from left to right.
pub(super) fn level(
    sheet: &SchematicSheet<'_>,
    branch: &SeriesParallel,
    ends: [NodeId; 2],
) -> Fragment {
    match branch {
        SeriesParallel::Part { index, flipped } => {
            symbol::level(sheet, *index, *flipped, ends, symbol::LEVEL_LEAD)
        }
        SeriesParallel::Series { elements, joints } => {
            let mut run = Run::new(ends[0]);
            for (i, element) in elements.iter().enumerate() {
                let next = joints.get(i).copied().unwrap_or(ends[1]);
                if i < joints.len() {
                    run.across(before_joint(sheet, element, [run.node, next]), next);
                    run.name_node(sheet);
                } else {
                    run.across(level(sheet, element, [run.node, next]), next);
                }
            }
            let exit = run.end;
            Fragment {
                exit,
                ..run.fragment
            }
        }
        SeriesParallel::Parallel(branches) => lanes(sheet, branches, ends),
        // Ends at `gnd`, and is therefore never asked to lie on a line.
        SeriesParallel::Winding(tapped) => winding(sheet, tapped),
    }
}

/// A branch from left to right up to a node that is named there: a part has as much wire on both sides as the name needs.
pub(super) fn before_joint(
    sheet: &SchematicSheet<'_>,
    branch: &SeriesParallel,
    ends: [NodeId; 2],
) -> Fragment {
    let SeriesParallel::Part { index, flipped } = branch else {
        return level(sheet, branch, ends);
    };
    let names = set(
        node_lines(sheet.network, ends[1]),
        GridPoint::ORIGIN,
        Anchor::Start,
    );
    let wide = names.iter().map(|name| name.rect().right).max();
    let lead = wide.map_or(0, |wide| wide + BESIDE_NODE + MARGIN);
    symbol::level(sheet, *index, *flipped, ends, lead.max(symbol::LEVEL_LEAD))
}

/// Branches above one another between two bars; the first one lies on the line.
fn lanes(sheet: &SchematicSheet<'_>, branches: &[SeriesParallel], ends: [NodeId; 2]) -> Fragment {
    let lanes: Vec<Fragment> = (branches.iter())
        .map(|branch| level(sheet, branch, ends))
        .collect();
    let room = lanes.iter().map(|lane| {
        let bounds = lane.bounds();
        bounds.right.max(lane.exit.x) - bounds.left
    });
    let width = room.max().unwrap_or(0) + 2 * BAR;
    let mut piece = Fragment::default();
    let mut y = 0;
    // Upper edge of what is drawn so far.
    let mut top = None;
    for mut lane in lanes {
        let bounds = lane.bounds();
        if let Some(top) = top {
            y = top - MARGIN - bounds.bottom;
        }
        let right = bounds.right.max(lane.exit.x);
        let left = (width - (right - bounds.left)) / 2 - bounds.left;
        lane.shift(GridPoint::new(left, y));
        let (start, exit) = (GridPoint::new(left, y), lane.exit);
        piece.wire(GridPoint::new(0, y), start, ends[0]);
        piece.wire(exit, GridPoint::new(width, y), ends[1]);
        piece.absorb(lane);
        top = Some(bounds.top + y);
    }
    piece.wire(GridPoint::ORIGIN, GridPoint::new(0, y), ends[0]);
    piece.wire(GridPoint::new(width, 0), GridPoint::new(width, y), ends[1]);
    piece.exit = GridPoint::new(width, 0);
    piece
}

/// A branch from a line down to its second node, which is met at the piece's feet.
pub(super) fn hanging(
    sheet: &SchematicSheet<'_>,
    branch: &SeriesParallel,
    ends: [NodeId; 2],
) -> Fragment {
    match branch {
        SeriesParallel::Part { index, flipped } => symbol::hanging(sheet, *index, *flipped, ends),
        SeriesParallel::Series { elements, joints } => {
            let on_line = level_elements(elements, sheet.network);
            if on_line == 0 {
                return stack(sheet, elements, joints, ends);
            }
            let mut run = Run::new(ends[0]);
            for (element, joint) in elements.iter().zip(joints).take(on_line) {
                run.across(before_joint(sheet, element, [run.node, *joint]), *joint);
                run.name_node(sheet);
            }
            let rest = stack(
                sheet,
                &elements[on_line..],
                &joints[on_line..],
                [run.node, ends[1]],
            );
            run.down(rest);
            run.fragment
        }
        SeriesParallel::Parallel(branches) => {
            let mut run = Run::new(ends[0]);
            columns(sheet, &mut run, branches, ends[1], true);
            run.fragment
        }
        SeriesParallel::Winding(tapped) => winding(sheet, tapped),
    }
}

/// Branches beside one another that hang from the end of a line. What goes on along the line comes
/// last, and only there, if `last_may_go_on`; else it is lowered.
pub(super) fn columns(
    sheet: &SchematicSheet<'_>,
    run: &mut Run,
    branches: &[SeriesParallel],
    bottom: NodeId,
    last_may_go_on: bool,
) {
    let top = run.node;
    let mut columns: Vec<(bool, bool, Fragment)> = branches
        .iter()
        .map(|branch| {
            let piece = hanging(sheet, branch, [top, bottom]);
            let goes_on = piece.stands_above();
            (goes_on, branch.has_driver(sheet.network), piece)
        })
        .collect();
    columns.sort_by_key(|(goes_on, driver, _)| (*goes_on, *driver));
    let last = columns.len().saturating_sub(1);
    for (i, (goes_on, _, piece)) in columns.into_iter().enumerate() {
        let lower = goes_on && !(i == last && last_may_go_on);
        run.down(if lower { piece.lowered(top) } else { piece });
    }
}

/// Branches one below the other.
fn stack(
    sheet: &SchematicSheet<'_>,
    elements: &[SeriesParallel],
    joints: &[NodeId],
    ends: [NodeId; 2],
) -> Fragment {
    let mut whole = Fragment::default();
    let mut at = GridPoint::ORIGIN;
    let mut top = ends[0];
    for (i, element) in elements.iter().enumerate() {
        let bottom = joints.get(i).copied().unwrap_or(ends[1]);
        let mut piece = hanging(sheet, element, [top, bottom]);
        if i > 0 && piece.stands_above() {
            piece = piece.lowered(top);
        }
        piece.shift(at);
        whole.absorb(piece);
        if i + 1 == elements.len() {
            break;
        }
        // All feet onto one bar, from which the next element hangs.
        let feet = whole.take_feet();
        let left = feet.iter().map(|foot| foot.x).min().unwrap_or(0);
        let right = feet.iter().map(|foot| foot.x).max().unwrap_or(0);
        let y = whole.bounds().bottom + if left < right { 2 } else { 0 };
        for foot in &feet {
            whole.wire(*foot, GridPoint::new(foot.x, y), bottom);
        }
        whole.wire(GridPoint::new(left, y), GridPoint::new(right, y), bottom);
        let lines = node_lines(sheet.network, bottom);
        let room = super::sheet::height(&lines);
        let beside = GridPoint::new(left + 5, y + 2);
        whole.labels.extend(set(lines, beside, Anchor::Start));
        // A single part leaves room for a line beside the wire above it.
        let single = matches!(elements[i + 1], SeriesParallel::Part { .. });
        let down = if single { (room - 13).max(0) } else { room + 3 };
        at = GridPoint::new(left, y + down);
        whole.wire(GridPoint::new(left, y), at, bottom);
        top = bottom;
    }
    whole
}

/// An autoformer with what its taps feed.
fn winding(sheet: &SchematicSheet<'_>, winding: &TappedWinding) -> Fragment {
    let loads = winding.terminals.iter().map(|terminal| {
        let Use::Load(branch) = &terminal.used else {
            return None;
        };
        Some(hanging(sheet, branch, [terminal.node, NodeId::GND]))
    });
    winding::hanging(sheet, winding, loads.collect())
}

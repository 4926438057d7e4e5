//! What must be true of every drawing.

use netlist::network::{Joined, Network, NodeId, PartKind};
use netlist::project::StockKind;

use super::super::geometry::{
    Drawing, Glyph, GridPoint, GridRect, Label, LabelRole, Symbol, SymbolEnd, WireSegment,
};
use super::super::page;
use super::super::sheet::SchematicSheet;
use super::super::svg_form;

/// Draws a network and holds the drawing against it.
///
/// # Panics
/// At the first thing that is not right.
pub(super) fn check(network: &Network) {
    let drawing = page::draw(&SchematicSheet::new(network));
    names(network, &drawing);
    clear_of_each_other(network, &drawing);
    nodes_named_at_their_wires(network, &drawing);
    joined_as_in_the_network(network, &drawing);
    for symbol in &drawing.symbols {
        let Some(index) = symbol.part else { continue };
        marked_at_its_terminals(network, &drawing, symbol, index);
        counts_from_its_dot(network, symbol, index);
        in_the_order_of_its_turns(network, symbol, index);
        with_its_values(network, &drawing, index);
    }
    dots_are_written_where_they_count(&drawing);
}

/// How far a place is from a rectangle, squared.
fn far(room: GridRect, at: GridPoint) -> i32 {
    let level = (room.left - at.x).max(at.x - room.right).max(0);
    let plumb = (room.top - at.y).max(at.y - room.bottom).max(0);
    level * level + plumb * plumb
}

/// A driver has one + and one −, each nearest to the terminal to which that wire of the driver goes: the + at
/// the first node, at the second when it is inverted.
fn marked_at_its_terminals(network: &Network, drawing: &Drawing, symbol: &Symbol, index: usize) {
    let role = LabelRole::Mark(Some(index));
    let marks: Vec<&Label> = drawing
        .labels
        .iter()
        .filter(|label| label.role == role)
        .collect();
    let PartKind::Driver {
        inverted, between, ..
    } = &network.parts()[index].kind
    else {
        assert!(marks.is_empty(), "{marks:?}");
        return;
    };
    let mut said: Vec<&str> = marks.iter().map(|mark| mark.text.as_str()).collect();
    said.sort_unstable();
    assert_eq!(said, ["+", "−"], "{symbol:?}");
    for mark in marks {
        let own = usize::from((mark.text == "−") != *inverted);
        let [near, other] = [own, 1 - own].map(|end| far(mark.rect(), symbol.terminals[end]));
        assert!(near < other, "{mark:?} of {symbol:?} in {network:#?}");
    }
    // In words: the node that has the +, and nothing that asks for a turn.
    let words = said_of(drawing, index);
    let plus = network.node_name(between[1]);
    let expected = format!("inverted: + to {plus}").replace(' ', "");
    assert_eq!(words.contains(&expected), *inverted, "{words}");
}

/// A coil has a dot when it is coupled to another, at the end of its first node.
fn counts_from_its_dot(network: &Network, symbol: &Symbol, index: usize) {
    let Glyph::Coil { dot } = symbol.glyph else {
        return;
    };
    let (name, _) = network.parts().get_index(index).unwrap();
    let coupled = network.parts().values().any(|part| {
        matches!(&part.kind, PartKind::Coupling { inductors, .. } if inductors.contains(name))
    });
    assert_eq!(dot.is_some(), coupled, "{name} in {network:#?}");
    let [from, to] = symbol.terminals[..] else {
        panic!("{symbol:?}")
    };
    let fore = if symbol.upright {
        from.y < to.y
    } else {
        from.x < to.x
    };
    if let Some(end) = dot {
        assert_eq!(end == SymbolEnd::Fore, fore, "{name} in {network:#?}");
    }
}

/// Along a winding the turns rise or fall from one end over the taps to the other.
fn in_the_order_of_its_turns(network: &Network, symbol: &Symbol, index: usize) {
    let PartKind::Autoformer { taps, .. } = &network.parts()[index].kind else {
        return;
    };
    let shares = [1.0, 0.0]
        .into_iter()
        .chain(taps.iter().map(|tap| tap.ratio));
    let mut along: Vec<(i32, f64)> = symbol.terminals.iter().map(|at| at.y).zip(shares).collect();
    along.sort_by_key(|(y, _)| *y);
    let rising = along.is_sorted_by(|a, b| a.1 < b.1);
    let falling = along.is_sorted_by(|a, b| a.1 > b.1);
    assert!(rising || falling, "{along:?} in {network:#?}");
}

/// All that is said beside a part but its name, without blanks.
fn said_of(drawing: &Drawing, index: usize) -> String {
    said(drawing, LabelRole::Value(index))
}

/// Beside a part stands its value as the list of parts prints it, and what it is made of.
fn with_its_values(network: &Network, drawing: &Drawing, index: usize) {
    let part = &network.parts()[index];
    let kind = match &part.kind {
        PartKind::Resistor { .. } => StockKind::Resistor,
        PartKind::Capacitor { .. } => StockKind::Capacitor,
        PartKind::Inductor { .. } | PartKind::Autoformer { .. } => StockKind::Inductor,
        PartKind::Coupling { .. } | PartKind::Driver { .. } => return,
    };
    let role = LabelRole::Value(index);
    let lines: Vec<&str> = (drawing.labels.iter())
        .filter(|label| label.role == role)
        .map(|label| label.text.as_str())
        .collect();
    let value = kind.show(part.value_si().unwrap());
    // At a winding the ratios of its taps are said too.
    let place = lines.iter().position(|line| *line == value);
    let wound = matches!(part.kind, PartKind::Autoformer { .. });
    assert!(
        place == Some(0) || (wound && place.is_some()),
        "{value} {lines:?}"
    );
    let Some(made_of) = &part.made_of else { return };
    let values: Vec<String> = made_of
        .values
        .iter()
        .map(|value| kind.show(*value))
        .collect();
    let joined = match made_of.joined {
        Joined::Parallel => "in parallel",
        Joined::Series => "in series",
    };
    let expected = format!("{value}{}{joined}", values.join("+")).replace(' ', "");
    assert_eq!(said_of(drawing, index), expected);
}

/// In the markup the dot of every coupled coil is at the end from which it counts.
fn dots_are_written_where_they_count(drawing: &Drawing) {
    let text = svg_form::svg(drawing, "", "");
    let number = |circle: &str, name: &str| -> i32 {
        let (_, rest) = circle.split_once(&format!(" {name}=\"")).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    };
    let circles = text.split("<circle").skip(1);
    let dots: Vec<GridPoint> = (circles.filter(|circle| circle.contains(" r=\"2\"")))
        .map(|circle| GridPoint::new(number(circle, "cx"), number(circle, "cy")))
        .collect();
    let dotted = |symbol: &&Symbol| matches!(symbol.glyph, Glyph::Coil { dot: Some(_) });
    let coils: Vec<&Symbol> = drawing.symbols.iter().filter(dotted).collect();
    assert_eq!(dots.len(), coils.len());
    let apart = |a: GridPoint, b: GridPoint| (a.x - b.x).pow(2) + (a.y - b.y).pow(2);
    for (dot, coil) in dots.into_iter().zip(coils) {
        let [from, to] = coil.terminals[..] else {
            panic!("{coil:?}")
        };
        assert!(apart(dot, from) < apart(dot, to), "{dot:?} of {coil:?}");
    }
}

/// Lines of a name, put together.
fn said(drawing: &Drawing, role: LabelRole) -> String {
    let lines = drawing.labels.iter().filter(|label| label.role == role);
    let text: String = lines.map(|label| label.text.as_str()).collect();
    text.replace(' ', "")
}

/// Every part and every node that something is joined to is named once.
fn names(network: &Network, drawing: &Drawing) {
    for (index, name) in network.parts().keys().enumerate() {
        assert_eq!(
            said(drawing, LabelRole::PartName(index)),
            name.replace(' ', "")
        );
    }
    for (node, name) in network.node_names().enumerate() {
        let found = said(drawing, LabelRole::NodeName(NodeId(node)));
        assert_eq!(found, name.replace(' ', ""), "node {node} of {network:#?}");
    }
}

fn clear_of_each_other(network: &Network, drawing: &Drawing) {
    for (i, label) in drawing.labels.iter().enumerate() {
        let room = label.rect();
        assert!(room.left >= 0 && room.right <= drawing.width, "{label:?}");
        assert!(room.top >= 0 && room.bottom <= drawing.height, "{label:?}");
        for other in &drawing.labels[..i] {
            assert!(
                !room.overlaps(other.rect()),
                "{label:?} over {other:?} in {network:#?}"
            );
        }
        for symbol in &drawing.symbols {
            assert!(
                !room.overlaps(symbol.body),
                "{label:?} over {symbol:?} in {network:#?}"
            );
        }
        for wire in &drawing.wires {
            assert!(
                !room.overlaps(wire.rect()),
                "{label:?} over {wire:?} in {network:#?}"
            );
        }
    }
    for (i, symbol) in drawing.symbols.iter().enumerate() {
        for other in &drawing.symbols[..i] {
            assert!(
                !symbol.body.overlaps(other.body),
                "{symbol:?} over {other:?} in {network:#?}"
            );
        }
        // What reaches around a terminal, as a cone does, is met by the wire that ends there.
        let ends_here = |wire: &&WireSegment| symbol.terminals.iter().any(|at| on(wire, *at));
        for wire in drawing.wires.iter().filter(|wire| !ends_here(wire)) {
            assert!(
                !symbol.body.overlaps(wire.rect()),
                "{symbol:?} over {wire:?} in {network:#?}"
            );
        }
    }
}

/// The name of a node stands nearest to a wire of that node.
fn nodes_named_at_their_wires(network: &Network, drawing: &Drawing) {
    let apart = |a: GridRect, b: GridRect| {
        let level = (a.left - b.right).max(b.left - a.right).max(0);
        let plumb = (a.top - b.bottom).max(b.top - a.bottom).max(0);
        level.max(plumb)
    };
    for node in (0..network.node_count()).map(NodeId) {
        let lines = (drawing.labels.iter()).filter(|label| label.role == LabelRole::NodeName(node));
        let Some(room) = lines.map(Label::rect).reduce(GridRect::joined) else {
            continue;
        };
        let nearest = |own: bool| {
            let wires = drawing
                .wires
                .iter()
                .filter(|wire| (wire.node == node) == own);
            wires.map(|wire| apart(wire.rect(), room)).min()
        };
        let own = nearest(true).unwrap_or(i32::MAX);
        let other = nearest(false).unwrap_or(i32::MAX);
        assert!(
            own <= 12 && own <= other,
            "'{}' is {own} from its wire, {other} from another, in {network:#?}",
            network.node_name(node)
        );
    }
}

fn on(wire: &WireSegment, at: GridPoint) -> bool {
    let room = wire.rect();
    (room.left..=room.right).contains(&at.x) && (room.top..=room.bottom).contains(&at.y)
}

/// Whether two wires meet where one of them ends or bends: what a reader takes as joined.
fn touch(a: &WireSegment, b: &WireSegment) -> bool {
    [a.from, a.to].iter().any(|at| on(b, *at)) || [b.from, b.to].iter().any(|at| on(a, *at))
}

/// Whether a reader takes two wires of one node as joined: they touch, or cross under a dot.
fn joined(drawing: &Drawing, a: &WireSegment, b: &WireSegment) -> bool {
    let dotted = |at: &GridPoint| on(a, *at) && on(b, *at);
    touch(a, b) || drawing.junctions.iter().any(dotted)
}

fn joined_as_in_the_network(network: &Network, drawing: &Drawing) {
    for (i, wire) in drawing.wires.iter().enumerate() {
        for other in &drawing.wires[..i] {
            assert!(
                wire.node == other.node || !touch(wire, other),
                "{wire:?} touches {other:?} in {network:#?}"
            );
        }
    }
    // A wire that ends on another is joined to it by a dot.
    for wire in &drawing.wires {
        for at in [wire.from, wire.to] {
            let inside = (drawing.wires.iter())
                .any(|other| on(other, at) && at != other.from && at != other.to);
            assert!(
                !inside || drawing.junctions.contains(&at),
                "no dot at {at:?} in {network:#?}"
            );
        }
    }
    // A dot joins all that runs through it.
    for at in &drawing.junctions {
        let nodes: Vec<NodeId> = (drawing.wires.iter())
            .filter(|wire| on(wire, *at))
            .map(|wire| wire.node)
            .collect();
        assert!(
            nodes.windows(2).all(|pair| pair[0] == pair[1]),
            "a dot at {at:?} in {network:#?}"
        );
    }
    // Where each part must be joined, and where it is.
    let mut places: Vec<(GridPoint, NodeId)> = Vec::new();
    let mut drawn = vec![false; network.parts().len()];
    for symbol in &drawing.symbols {
        let Some(index) = symbol.part else { continue };
        assert!(!std::mem::replace(&mut drawn[index], true), "drawn twice");
        let kind = &network.parts()[index].kind;
        let mut nodes: Vec<NodeId> = kind.between().into_iter().flatten().collect();
        if let PartKind::Autoformer { taps, .. } = kind {
            nodes.extend(taps.iter().map(|tap| tap.node));
        }
        assert_eq!(symbol.terminals.len(), nodes.len(), "{symbol:?}");
        places.extend(symbol.terminals.iter().copied().zip(nodes));
    }
    for (drawn, (name, part)) in drawn.iter().zip(network.parts()) {
        let has_symbol = !matches!(part.kind, PartKind::Coupling { .. });
        assert_eq!(*drawn, has_symbol, "{name} in {network:#?}");
    }
    for &(at, node) in &places {
        for wire in drawing.wires.iter().filter(|wire| on(wire, at)) {
            assert_eq!(wire.node, node, "{wire:?} at {at:?} in {network:#?}");
        }
        for (other, of) in places.iter().filter(|(other, _)| *other == at) {
            assert_eq!(*of, node, "{other:?} in {network:#?}");
        }
    }
    for node in (0..network.node_count()).map(NodeId) {
        assert!(
            in_one_piece(drawing, &places, node),
            "node {} is in several pieces in {network:#?}",
            network.node_name(node)
        );
    }
}

/// Whether all wires and ends of parts of a node are joined with each other.
fn in_one_piece(drawing: &Drawing, places: &[(GridPoint, NodeId)], node: NodeId) -> bool {
    let mut pieces: Vec<WireSegment> = (drawing.wires.iter().copied())
        .filter(|wire| wire.node == node)
        .collect();
    pieces.extend(
        (places.iter())
            .filter(|(_, of)| *of == node)
            .map(|(at, _)| WireSegment {
                from: *at,
                to: *at,
                node,
            }),
    );
    let Some(first) = pieces.pop() else {
        return true;
    };
    let mut reached = vec![first];
    let mut next = 0;
    while next < reached.len() {
        let from = reached[next];
        next += 1;
        let (near, far): (Vec<WireSegment>, Vec<WireSegment>) = pieces
            .into_iter()
            .partition(|wire| joined(drawing, wire, &from));
        reached.extend(near);
        pieces = far;
    }
    pieces.is_empty()
}

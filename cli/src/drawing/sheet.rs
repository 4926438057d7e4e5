//! The network as it is drawn: what is written at each part.

use std::collections::BTreeSet;

use netlist::network::{Network, NodeId, Part, PartKind};

use super::geometry::{Anchor, GridPoint, Label, LabelRole};
use super::text::{self, Style};

/// A network with what is needed at every part of the picture.
#[derive(Debug)]
pub(super) struct SchematicSheet<'n> {
    pub(super) network: &'n Network,
    coupled: BTreeSet<&'n str>,
    losses: bool,
}

/// A line of text that has no place yet.
#[derive(Debug, Clone)]
pub(super) struct TextLine {
    text: String,
    style: Style,
    role: LabelRole,
}

impl<'n> SchematicSheet<'n> {
    pub(super) fn new(network: &'n Network) -> Self {
        let coupled = network.parts().values().filter_map(|part| {
            let PartKind::Coupling { inductors, .. } = &part.kind else {
                return None;
            };
            Some(inductors.iter().map(String::as_str))
        });
        Self {
            network,
            coupled: coupled.flatten().collect(),
            losses: false,
        }
    }

    /// With the resistance of each coil under its value.
    pub(super) fn with_losses(mut self) -> Self {
        self.losses = true;
        self
    }

    pub(super) fn part(&self, index: usize) -> &'n Part {
        &self.network.parts()[index]
    }

    pub(super) fn part_name(&self, index: usize) -> &'n str {
        (self.network.parts().get_index(index)).map_or("", |(name, _)| name)
    }

    /// Whether a part is a coil that another is coupled to.
    pub(super) fn is_coupled(&self, index: usize) -> bool {
        self.coupled.contains(self.part_name(index))
    }

    /// Name and values of a part, as they stand beside its symbol.
    pub(super) fn lines(&self, index: usize) -> Vec<TextLine> {
        let part = self.part(index);
        let mut lines: Vec<TextLine> = text::lines(self.part_name(index))
            .into_iter()
            .map(|text| TextLine {
                text,
                style: Style::Name,
                role: LabelRole::PartName(index),
            })
            .collect();
        let role = LabelRole::Value(index);
        let mut value = |text: String, style| lines.push(TextLine { text, style, role });
        if let (Some(dimension), Some(si)) = (part.kind.dimension(), part.value_si()) {
            value(dimension.show(si), Style::Value);
        }
        if let (true, PartKind::Inductor { dcr, .. } | PartKind::Autoformer { dcr, .. }) =
            (self.losses, &part.kind)
        {
            value(format!("{:.3}", *dcr), Style::Small);
        }
        if let PartKind::Driver {
            driver,
            between,
            inverted,
        } = &part.kind
        {
            if driver.to_lowercase() != self.part_name(index).to_lowercase() {
                for line in text::lines(driver) {
                    value(line, Style::Value);
                }
            }
            if *inverted {
                // Said as it is drawn, so that nobody turns the driver round once more.
                let plus = self.network.node_name(between[1]);
                for line in text::lines(&format!("inverted: + to {plus}")) {
                    value(line, Style::Small);
                }
            }
        }
        for line in made_of(part) {
            value(line, Style::Small);
        }
        lines
    }
}

/// The bought parts of a part, two a line, and how they are joined.
fn made_of(part: &Part) -> Vec<String> {
    let (Some(made_of), Some(dimension)) = (part.several(), part.kind.dimension()) else {
        return Vec::new();
    };
    let values: Vec<String> = (made_of.values.iter())
        .map(|value| dimension.show(*value))
        .collect();
    // A plus stands only where the values add up.
    let capacitor = matches!(part.kind, PartKind::Capacitor { .. });
    let (between, at_end) = match made_of.joined.adds_up(capacitor) {
        true => (" + ", " +"),
        false => (", ", ","),
    };
    let mut lines: Vec<String> = values.chunks(2).map(|pair| pair.join(between)).collect();
    let last = lines.len() - 1;
    for line in &mut lines[..last] {
        line.push_str(at_end);
    }
    lines.push(format!("in {}", made_of.joined.word()));
    lines
}

/// Height of some lines.
pub(super) fn height(lines: &[TextLine]) -> i32 {
    lines.iter().map(|line| line.style.leading()).sum()
}

/// Sets lines one below the other, the first one's upper edge at `at`.
pub(super) fn set(lines: Vec<TextLine>, at: GridPoint, anchor: Anchor) -> Vec<Label> {
    let mut y = at.y;
    let mut labels = Vec::with_capacity(lines.len());
    for line in lines {
        let at = GridPoint::new(at.x, y + line.style.ascent());
        y += line.style.leading();
        labels.push(Label {
            text: line.text,
            at,
            anchor,
            style: line.style,
            role: line.role,
        });
    }
    labels
}

/// The name of a node; none for the two terminals, which are named where they are drawn.
pub(super) fn node_lines(network: &Network, node: NodeId) -> Vec<TextLine> {
    if node == NodeId::IN || node == NodeId::GND {
        return Vec::new();
    }
    terminal_lines(network, node)
}

/// The name of a node, also of `in` and `gnd`.
pub(super) fn terminal_lines(network: &Network, node: NodeId) -> Vec<TextLine> {
    text::lines(network.node_name(node))
        .into_iter()
        .map(|text| TextLine {
            text,
            style: Style::Small,
            role: LabelRole::NodeName(node),
        })
        .collect()
}

/// A single line.
pub(super) fn line(text: impl Into<String>, style: Style, role: LabelRole) -> Vec<TextLine> {
    let text = text.into();
    vec![TextLine { text, style, role }]
}

//! What runs from one value to another: a band, and a value that the builder leaves open: `{ from = "450 Hz", to = "900 Hz" }`.

use super::fields::{Context, Fields, Limit};
use super::tree::Node;
use crate::quantity::{Hertz, Quantity};

/// The two ends, the first below the second.
pub(super) fn open_value<Q: Quantity + PartialOrd + std::fmt::Display>(
    context: &mut Context<'_>,
    name: &str,
    node: &Node,
    limit: Limit,
) -> Option<[Q; 2]> {
    let example = Q::DIMENSION.example();
    let mut fields = context.fields(name, node, &format!("{name} = \"{example}\""))?;
    let from: Option<Q> = fields.need_quantity(context, "from", limit);
    let to_node = fields.need(context, "to", &format!("\"{example}\""));
    let to: Option<Q> = to_node.and_then(|node| context.quantity("to", node, limit));
    fields.finish(context);
    let (from, to, to_node) = (from?, to?, to_node?);
    if from < to {
        return Some([from, to]);
    }
    let (message, help) = if from > to {
        let message = format!("{name} runs from {from} down to {to}");
        (message, "'from' must be below 'to': swap them".to_owned())
    } else {
        let message = format!("{name} begins and ends at {from}");
        let help = format!(
            "write {name} = \"{}\" for one value, or a 'to' above 'from'",
            from.to_file_string()
        );
        (message, help)
    };
    context.problem(&to_node.span, message, help);
    None
}

/// `from` and `to` of a band, in order, with defaults for what is not said.
pub(super) fn band(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    default: [Hertz; 2],
) -> [Hertz; 2] {
    let before = context.mistakes();
    let from_node = fields.take("from");
    let to_node = fields.take("to");
    let mut read = |name, node: Option<&Node>| {
        node.and_then(|node| context.quantity(name, node, Limit::Positive))
    };
    let from = read("from", from_node).unwrap_or(default[0]);
    let to = read("to", to_node).unwrap_or(default[1]);
    if context.mistakes() == before && from >= to {
        let span = to_node
            .or(from_node)
            .map_or(fields.span.clone(), |node| node.span.clone());
        let message = format!("the band from {from} to {to} is empty");
        context.problem(&span, message, "'from' must be below 'to'".to_owned());
    }
    [from, to]
}

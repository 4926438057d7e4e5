//! A value that the builder leaves open between two ends: `{ from = "450 Hz", to = "900 Hz" }`.

use super::fields::{Context, Limit};
use super::tree::Node;
use crate::quantity::Quantity;

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

//! The tree to [`Wiring`].

use super::fields::{Context, Fields, Limit, meant};
use super::tree::{Node, NodeValue};
use super::wire_gauge::named_section_m2;
use super::{Wire, Wiring};
use crate::quantity::{Metres, SquareMetres};

const WIRE: &str = "{ length = \"4 m\", gauge = \"2.5 mm2\" }";
/// Length of the longest wire, m.
const LONGEST_M: f64 = 1000.0;
const GAUGE_HELP: &str = "gauge is the section of one conductor, 0.05 mm2 to 100 mm2, such as \"2.5 mm2\", or \
    its American wire gauge, 30 AWG to 3/0 AWG, such as \"14 AWG\"";
/// Sections of wire that a loudspeaker has, m²; what is beyond has a wrong unit or a slip.
const SECTIONS_M2: std::ops::RangeInclusive<f64> = 0.05e-6..=100e-6;

/// Reads `[wiring]`; `drivers` are the names that may be wired.
pub(super) fn wiring(context: &mut Context<'_>, node: &Node, drivers: &[&str]) -> Wiring {
    let mut wiring = Wiring::default();
    let Some(mut fields) =
        context.fields("[wiring]", node, &format!("[wiring] and cable = {WIRE}"))
    else {
        return wiring;
    };
    wiring.cable = fields
        .take("cable")
        .and_then(|node| wire(context, "the speaker cable", node));
    if let Some(node) = fields.take("internal") {
        internal(context, node, drivers, &mut wiring);
    }
    fields.finish(context);
    wiring
}

fn internal(context: &mut Context<'_>, node: &Node, drivers: &[&str], wiring: &mut Wiring) {
    let NodeValue::Table(entries) = &node.value else {
        let message = format!("internal is {}, but a table is needed", node.value.a_what());
        let name = drivers.first().unwrap_or(&"mid");
        let help = format!("write a wire for each driver: internal = {{ {name} = {WIRE} }}");
        context.problem(&node.span, message, help);
        return;
    };
    for entry in entries {
        if !drivers.contains(&entry.key.as_str()) {
            let all = format!("the drivers are {}", drivers.join(", "));
            let help = meant(&entry.key, drivers.iter().copied(), all);
            let message = format!("there is no driver '{}' to be wired", entry.key);
            context.problem(&entry.key_span, message, help);
        }
        let what = format!("the wire to '{}'", entry.key);
        if let Some(wire) = wire(context, &what, &entry.node) {
            wiring.internal.insert(entry.key.clone(), wire);
        }
    }
}

fn wire(context: &mut Context<'_>, what: &str, node: &Node) -> Option<Wire> {
    let mut fields = context.fields(what, node, WIRE)?;
    let length = length(context, &mut fields);
    let gauge = gauge(context, &mut fields);
    fields.finish(context);
    Some(Wire {
        length: length?,
        gauge: gauge?,
    })
}

fn length(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Option<Metres> {
    let node = fields.need(context, "length", "\"4 m\"")?;
    let length: Metres = context.quantity("length", node, Limit::NotNegative)?;
    if length.0 <= LONGEST_M {
        return Some(length);
    }
    let message = format!("a wire of {length} is not a wire of a loudspeaker");
    let help = format!("write its length from end to end, up to {LONGEST_M} m, like \"4 m\"");
    context.problem(&node.span, message, help);
    None
}

fn gauge(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Option<SquareMetres> {
    let node = fields.need(context, "gauge", "\"2.5 mm2\"")?;
    let named = match &node.value {
        NodeValue::Text(text) => named_section_m2(text),
        _ => None,
    };
    let gauge: SquareMetres = match named {
        Some(Ok(section_m2)) => SquareMetres(section_m2),
        Some(Err(())) => {
            let message = "gauge is none of the American wire gauge";
            context.problem(&node.span, message, GAUGE_HELP.to_owned());
            return None;
        }
        None => context.quantity_as("gauge", node, Limit::Positive, GAUGE_HELP)?,
    };
    if SECTIONS_M2.contains(&gauge.0) {
        return Some(gauge);
    }
    let mm2 = (gauge.0 * 1e10).round() / 1e4;
    let message = format!("a gauge of {mm2} mm2 is not a wire of a loudspeaker");
    context.problem(&node.span, message, GAUGE_HELP.to_owned());
    None
}

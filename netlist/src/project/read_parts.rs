//! The tree to a [`Network`], with its structural check.

use std::ops::Range;

use super::fields::{Context, Fields, Limit, meant, suggestion};
use super::read_stock::{USUAL_COUPLING, tolerance};
use super::tree::{Node, NodeValue, TreeEntry};
use crate::network::{Joined, MadeOf, Network, NodeId, Part, PartKind, Tap, check};
use crate::quantity::{Dimension, Ohms};

/// What a part can be, by the field that gives its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PartField {
    Resistor,
    Inductor,
    Capacitor,
    Autoformer,
    Coupling,
    Driver,
}

/// Names of the fields.
const KINDS: [(&str, PartField); 6] = [
    ("resistor", PartField::Resistor),
    ("inductor", PartField::Inductor),
    ("capacitor", PartField::Capacitor),
    ("autoformer", PartField::Autoformer),
    ("coupling", PartField::Coupling),
    ("driver", PartField::Driver),
];

const EXAMPLE: &str = "C1 = { capacitor = \"24 uF\", between = [\"in\", \"m1\"] }";
const BETWEEN: &str = "[\"in\", \"m1\"]";

/// Reads `[parts]`. With no mistake in any part, the network as a whole is checked as well.
pub(super) fn network(context: &mut Context<'_>, node: &Node, drivers: &[&str]) -> Option<Network> {
    let NodeValue::Table(entries) = &node.value else {
        let message = format!("parts is {}, but a table is needed", node.value.a_what());
        context.problem(
            &node.span,
            message,
            format!("write [parts] and below it {EXAMPLE}"),
        );
        return None;
    };
    let before = context.mistakes();
    let mut network = Network::new();
    for entry in entries {
        if entry.key.trim().is_empty() {
            context.problem(&entry.key_span, "a part needs a name", None);
        }
        let part = part(context, entry, &mut network);
        if let Some(part) = part {
            network.insert(entry.key.clone(), part);
        }
    }
    // A part that could not be read would leave loose ends that are no mistakes of their own.
    if context.mistakes() > before {
        return Some(network);
    }
    for mistake in check(&network, drivers) {
        let span = place_of(entries, mistake.part(), mistake.field()).unwrap_or(&node.span);
        context.problem(span, mistake.to_string(), mistake.help());
    }
    let silent = !drivers.is_empty() && network.driver_names().next().is_none();
    if silent && !entries.is_empty() {
        context.problem(
            &node.span,
            "the network feeds no driver",
            format!(
                "add for example MID = {{ driver = \"{}\", between = [\"m2\", \"gnd\"] }}",
                drivers[0]
            ),
        );
    }
    Some(network)
}

/// The value of a field of a part; its name where the field is not said.
fn place_of<'n>(
    entries: &'n [TreeEntry],
    part: Option<&str>,
    field: Option<&str>,
) -> Option<&'n Range<usize>> {
    let entry = entries
        .iter()
        .find(|entry| Some(entry.key.as_str()) == part)?;
    let inner = match (&entry.node.value, field) {
        (NodeValue::Table(fields), Some(field)) => fields.iter().find(|entry| entry.key == field),
        _ => None,
    };
    Some(inner.map_or(&entry.key_span, |field| &field.node.span))
}

fn part(context: &mut Context<'_>, entry: &TreeEntry, network: &mut Network) -> Option<Part> {
    let mut fields = context.fields(&format!("part '{}'", entry.key), &entry.node, EXAMPLE)?;
    let field = part_field(context, &fields)?;
    let kind = match field {
        PartField::Resistor => resistor(context, &mut fields, network),
        PartField::Inductor => inductor(context, &mut fields, network),
        PartField::Capacitor => capacitor(context, &mut fields, network),
        PartField::Autoformer => autoformer(context, &mut fields, network),
        PartField::Coupling => coupling(context, &mut fields),
        PartField::Driver => driver(context, &mut fields, network),
    };
    let fixed = fields
        .take("fixed")
        .and_then(|node| context.switch("fixed", node));
    let tolerance = tolerance(context, &mut fields);
    let power = match field {
        PartField::Resistor => fields.quantity(context, "power", Limit::Positive),
        _ => None,
    };
    let voltage = match field {
        PartField::Capacitor => fields.quantity(context, "voltage", Limit::Positive),
        _ => None,
    };
    let current = match field {
        PartField::Inductor | PartField::Autoformer => {
            fields.quantity(context, "current", Limit::Positive)
        }
        _ => None,
    };
    let made_of = match field {
        PartField::Resistor => made_of(context, &mut fields, Dimension::Resistance),
        PartField::Inductor => made_of(context, &mut fields, Dimension::Inductance),
        PartField::Capacitor => made_of(context, &mut fields, Dimension::Capacitance),
        _ => None,
    };
    fields.finish(context);
    Some(Part {
        kind: kind?,
        fixed: fixed.unwrap_or(false),
        tolerance,
        power,
        voltage,
        current,
        made_of,
    })
}

/// Which one of [`KINDS`] a part is. An autoformer has a coupling factor of its own.
fn part_field(context: &mut Context<'_>, fields: &Fields<'_>) -> Option<PartField> {
    let own = |field: PartField| field == PartField::Coupling && fields.has("autoformer");
    let found: Vec<(&str, PartField)> = KINDS
        .into_iter()
        .filter(|(name, field)| fields.has(name) && !own(*field))
        .collect();
    let names = KINDS.map(|(name, _)| name);
    match found.as_slice() {
        [(_, one)] => Some(*one),
        [] => {
            let near = (fields.names()).find(|name| suggestion(name, names.into_iter()).is_some());
            let all = format!("a part is one of {}, as in {EXAMPLE}", names.join(", "));
            let help = meant(near.unwrap_or_default(), names.into_iter(), all);
            context.problem(
                &fields.span,
                format!("{} does not say what it is", fields.name),
                help,
            );
            None
        }
        [(first, _), (second, _), ..] => {
            let message = format!("{} is both {first} and {second}", fields.name);
            context.problem(&fields.span, message, "make two parts of it".to_owned());
            None
        }
    }
}

fn node_id(
    context: &mut Context<'_>,
    span: &Range<usize>,
    name: &str,
    network: &mut Network,
) -> NodeId {
    if name.trim() != name {
        context.problem(
            span,
            format!("the node name '{name}' begins or ends with a blank"),
            format!("write \"{}\"", name.trim()),
        );
    }
    network.node(name)
}

fn between(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<[NodeId; 2]> {
    let node = fields.need(context, "between", BETWEEN)?;
    let [from, to] = context.pair("between", node, BETWEEN)?;
    Some([
        node_id(context, from.1, &from.0, network),
        node_id(context, to.1, &to.0, network),
    ])
}

/// An optional resistance of 0 or more.
fn loss(context: &mut Context<'_>, fields: &mut Fields<'_>, key: &'static str) -> Ohms {
    fields
        .quantity(context, key, Limit::NotNegative)
        .unwrap_or(Ohms(0.0))
}

fn resistor(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<PartKind> {
    let resistance = fields.need_quantity(context, "resistor", Limit::Positive);
    let between = between(context, fields, network);
    Some(PartKind::Resistor {
        resistance: resistance?,
        between: between?,
    })
}

fn inductor(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<PartKind> {
    let inductance = fields.need_quantity(context, "inductor", Limit::Positive);
    let between = between(context, fields, network);
    let dcr = loss(context, fields, "dcr");
    Some(PartKind::Inductor {
        inductance: inductance?,
        dcr,
        between: between?,
    })
}

fn capacitor(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<PartKind> {
    let capacitance = fields.need_quantity(context, "capacitor", Limit::Positive);
    let between = between(context, fields, network);
    let esr = loss(context, fields, "esr");
    Some(PartKind::Capacitor {
        capacitance: capacitance?,
        esr,
        between: between?,
    })
}

fn autoformer(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<PartKind> {
    let inductance = fields.need_quantity(context, "autoformer", Limit::Positive);
    let between = between(context, fields, network);
    let dcr = loss(context, fields, "dcr");
    let coupling = fields
        .number(context, "coupling", Limit::Any)
        .unwrap_or(USUAL_COUPLING);
    let taps = fields
        .need(context, "taps", "{ m3 = 0.5 }")
        .and_then(|node| taps(context, node, network));
    Some(PartKind::Autoformer {
        inductance: inductance?,
        dcr,
        coupling,
        between: between?,
        taps: taps?,
    })
}

fn taps(context: &mut Context<'_>, node: &Node, network: &mut Network) -> Option<Vec<Tap>> {
    let NodeValue::Table(entries) = &node.value else {
        let message = format!("taps is {}, but a table is needed", node.value.a_what());
        context.problem(&node.span, message, "write taps = { m3 = 0.5 }".to_owned());
        return None;
    };
    let mut taps = Vec::with_capacity(entries.len());
    for entry in entries {
        let name = format!("the ratio of tap '{}'", entry.key);
        let ratio = context.number(&name, &entry.node, Limit::Any);
        let node = node_id(context, &entry.key_span, &entry.key, network);
        taps.push(Tap {
            node,
            ratio: ratio?,
        });
    }
    Some(taps)
}

fn coupling(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Option<PartKind> {
    const PAIR: &str = "[\"L1\", \"L2\"]";
    let node = fields.need(context, "coupling", PAIR);
    let pair = node.and_then(|node| context.pair("coupling", node, PAIR));
    let factor = fields.need_number(context, "factor", Limit::Any);
    let [one, two] = pair?;
    Some(PartKind::Coupling {
        inductors: [one.0, two.0],
        factor: factor?,
    })
}

fn driver(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    network: &mut Network,
) -> Option<PartKind> {
    let name = fields
        .need(context, "driver", "\"mid\"")
        .and_then(|node| context.text("driver", node));
    let between = between(context, fields, network);
    let inverted = fields
        .take("inverted")
        .and_then(|node| context.switch("inverted", node));
    Some(PartKind::Driver {
        driver: name?,
        between: between?,
        inverted: inverted.unwrap_or(false),
    })
}

fn made_of(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    dimension: Dimension,
) -> Option<MadeOf> {
    let example = format!(
        "made_of = {{ parallel = [\"{0}\", \"{0}\"] }}",
        dimension.example()
    );
    let node = fields.take("made_of")?;
    let mut fields = context.fields("made_of", node, &example)?;
    let parallel = fields.take("parallel");
    let series = fields.take("series");
    let before = context.mistakes();
    fields.finish(context);
    let (joined, node) = match (parallel, series) {
        (Some(node), None) => (Joined::Parallel, node),
        (None, Some(node)) => (Joined::Series, node),
        // A misspelt name has been told.
        _ if context.mistakes() > before => return None,
        _ => {
            context.problem(
                &node.span,
                "made_of takes either 'parallel' or 'series'",
                format!("write {example}"),
            );
            return None;
        }
    };
    let items = context.list("made_of", node, &example)?;
    if items.is_empty() {
        context.problem(
            &node.span,
            "made_of names no part",
            format!("write {example}"),
        );
    }
    let values = (items.iter())
        .map(|item| context.quantity_si(dimension, "a value of made_of", item, Limit::Positive))
        .collect::<Option<_>>()?;
    Some(MadeOf { joined, values })
}

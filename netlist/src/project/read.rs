//! The tree to a [`Project`]: top level, amplifier, aim, listener, crossovers.

use indexmap::IndexMap;

use super::fields::{Context, Fields, Limit, suggestion};
use super::tree::{Node, Value};
use super::{
    Aim, Alignment, AlignmentPair, Amplifier, Crossover, Driver, LEAST_SHARE_OF_RATED_LOAD,
    Listener, Project, Stock, Wiring, read_driver, read_parts, read_stock, read_wiring,
};
use crate::quantity::{Decibels, Hertz, Metres, Ohms};

pub(super) fn project(context: &mut Context<'_>, root: &Node) -> Option<Project> {
    let Value::Table(entries) = &root.value else {
        context.problem(
            &root.span,
            format!(
                "a project file is a table, but this is {}",
                root.value.a_what()
            ),
            "begin with { and name the fields".to_owned(),
        );
        return None;
    };
    let mut fields = Fields::new("the project file", entries, root.span.clone());
    let title = fields
        .take("title")
        .and_then(|node| context.text("title", node));
    let note = fields
        .take("note")
        .and_then(|node| context.text("note", node));
    let amplifier = match fields.take("amplifier") {
        Some(node) => amplifier(context, node),
        None => Amplifier::default(),
    };
    let aim = match fields.take("aim") {
        Some(node) => aim(context, node, &amplifier),
        None => Aim {
            minimum_load: minimum_load(&amplifier),
            ..Aim::default()
        },
    };
    let listener = fields
        .take("listener")
        .and_then(|node| listener(context, node));
    let drivers = drivers(context, &mut fields);
    let crossovers_node = fields.take("crossovers");
    let stock = match fields.take("stock") {
        Some(node) => read_stock::stock(context, node),
        None => Stock::default(),
    };
    let wiring_node = fields.take("wiring");
    let parts_node = fields.take("parts");
    let names: Vec<&str> = drivers.list.keys().map(String::as_str).collect();
    let wiring = match wiring_node {
        Some(node) => read_wiring::wiring(context, node, &names),
        None => Wiring::default(),
    };
    let network = parts_node.and_then(|node| read_parts::network(context, node, &names));
    let crossovers = crossovers(context, crossovers_node, &drivers, parts_node.is_some());
    fields.finish(context);
    Some(Project {
        title,
        note,
        amplifier,
        aim,
        listener,
        drivers: drivers
            .list
            .into_iter()
            .filter_map(|(name, driver)| Some((name, driver?)))
            .collect(),
        crossovers,
        stock,
        wiring,
        network,
    })
}

fn amplifier(context: &mut Context<'_>, node: &Node) -> Amplifier {
    let Some(mut fields) = context.fields("[amplifier]", node, "[amplifier]") else {
        return Amplifier::default();
    };
    let amplifier = Amplifier {
        output_impedance: fields
            .quantity(context, "output_impedance", Limit::NotNegative)
            .unwrap_or(Ohms(0.0)),
        rated_power: fields.quantity(context, "rated_power", Limit::Positive),
        rated_load: fields.quantity(context, "rated_load", Limit::Positive),
    };
    fields.finish(context);
    amplifier
}

fn minimum_load(amplifier: &Amplifier) -> Option<Ohms> {
    let rated = amplifier.rated_load?;
    Some(Ohms(LEAST_SHARE_OF_RATED_LOAD * rated.0))
}

fn aim(context: &mut Context<'_>, node: &Node, amplifier: &Amplifier) -> Aim {
    let default = Aim::default();
    let Some(mut fields) = context.fields("[aim]", node, "[aim]") else {
        return default;
    };
    let [from, to] = band(context, &mut fields, [default.from, default.to]);
    let level = fields.take("level").and_then(|node| match &node.value {
        Value::Text(text) if text.trim() == "auto" => None,
        _ => context.quantity::<Decibels>("level", node, Limit::Any),
    });
    let aim = Aim {
        from,
        to,
        level,
        tilt: fields
            .quantity(context, "tilt", Limit::Any)
            .unwrap_or(default.tilt),
        minimum_load: fields
            .quantity(context, "minimum_load", Limit::Positive)
            .or_else(|| minimum_load(amplifier)),
    };
    fields.finish(context);
    aim
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

fn listener(context: &mut Context<'_>, node: &Node) -> Option<Listener> {
    let mut fields = context.fields("[listener]", node, "[listener]")?;
    let distance = fields.need_quantity(context, "distance", Limit::Positive);
    let up = fields
        .quantity(context, "up", Limit::Any)
        .unwrap_or(Metres(0.0));
    let right = fields
        .quantity(context, "right", Limit::Any)
        .unwrap_or(Metres(0.0));
    fields.finish(context);
    Some(Listener {
        distance: distance?,
        up,
        right,
    })
}

/// The drivers by name; `None` for one with mistakes, so that its name is known all the same.
struct Drivers {
    list: IndexMap<String, Option<Driver>>,
    span: std::ops::Range<usize>,
}

fn drivers(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Drivers {
    const EXAMPLE: &str = "{ mid = { measured = { impedance = \"mid-impedance.txt\", response = \"mid-response.txt\" } } }";
    let mut drivers = Drivers {
        list: IndexMap::new(),
        span: fields.span.clone(),
    };
    let Some(node) = fields.need(context, "drivers", EXAMPLE) else {
        return drivers;
    };
    drivers.span = node.span.clone();
    let Value::Table(entries) = &node.value else {
        let message = format!("drivers is {}, but a table is needed", node.value.a_what());
        context.problem(&node.span, message, format!("write drivers = {EXAMPLE}"));
        return drivers;
    };
    if entries.is_empty() {
        context.problem(
            &node.span,
            "there is no driver",
            format!("write drivers = {EXAMPLE}"),
        );
    }
    for entry in entries {
        if entry.key.trim().is_empty() {
            context.problem(&entry.key_span, "a driver needs a name", None);
        }
        let driver = read_driver::driver(context, &entry.key, &entry.node);
        drivers.list.insert(entry.key.clone(), driver);
    }
    drivers
}

fn crossovers(
    context: &mut Context<'_>,
    node: Option<&Node>,
    drivers: &Drivers,
    has_parts: bool,
) -> Vec<Crossover> {
    let items = match node {
        Some(node) => context
            .list(
                "crossovers",
                node,
                "[{ between = [\"low\", \"mid\"], frequency = \"650 Hz\" }]",
            )
            .unwrap_or(&[]),
        None => &[],
    };
    let mut crossovers: Vec<Crossover> = Vec::new();
    let mut whole = true;
    for item in items {
        match crossover(context, item, drivers) {
            Some(crossover) => {
                check_chain(context, &crossovers, &crossover, item);
                crossovers.push(crossover);
            }
            None => whole = false,
        }
    }
    // A network speaks for itself; a brief must say where every driver hands over.
    if whole && !has_parts && drivers.list.len() > 1 {
        for name in drivers.list.keys() {
            let used = crossovers.iter().any(|one| one.between.contains(name));
            if !used {
                let span = node.map_or(drivers.span.clone(), |node| node.span.clone());
                context.problem(
                    &span,
                    format!("driver '{name}' is in no crossover"),
                    "add [[crossovers]] with between, frequency and alignment, or remove the driver"
                        .to_owned(),
                );
            }
        }
    }
    crossovers
}

fn crossover(context: &mut Context<'_>, node: &Node, drivers: &Drivers) -> Option<Crossover> {
    const PAIR: &str = "[\"low\", \"mid\"]";
    let mut fields = context.fields("[[crossovers]]", node, "[[crossovers]]")?;
    let between = fields
        .need(context, "between", PAIR)
        .and_then(|node| context.pair("between", node, PAIR));
    let frequency = fields.need_quantity(context, "frequency", Limit::Positive);
    let alignment_node = fields.take("alignment");
    let alignment = match alignment_node {
        Some(node) => alignment(context, node),
        None => Some(None),
    };
    fields.finish(context);
    let [lower, upper] = between?;
    let mut known = true;
    for (name, span) in [&lower, &upper] {
        if !drivers.list.contains_key(name) {
            known = false;
            let message = format!("there is no driver '{name}'");
            let names = drivers.list.keys().map(String::as_str);
            let help = match suggestion(name, names.clone()) {
                Some(name) => format!("did you mean '{name}'?"),
                None => format!("the drivers are {}", names.collect::<Vec<_>>().join(", ")),
            };
            context.problem(span, message, help);
        }
    }
    if lower.0 == upper.0 {
        known = false;
        let message = format!("a crossover of '{}' with itself", lower.0);
        context.problem(
            upper.1,
            message,
            "name the lower and the upper driver".to_owned(),
        );
    }
    if !known {
        return None;
    }
    Some(Crossover {
        between: [lower.0, upper.0],
        frequency: frequency?,
        alignment: alignment?,
    })
}

/// Lowest first, and the upper driver of one is the lower of the next.
fn check_chain(context: &mut Context<'_>, before: &[Crossover], this: &Crossover, item: &Node) {
    let Some(last) = before.last() else { return };
    if this.frequency <= last.frequency {
        let message = format!(
            "this crossover at {} is not above the one before it, at {}",
            this.frequency, last.frequency
        );
        context.problem(
            &item.span,
            message,
            "list the crossovers from the lowest to the highest".to_owned(),
        );
    }
    let [_, upper] = &last.between;
    let [lower, next] = &this.between;
    if upper != lower {
        context.problem(
            &item.span,
            format!("the crossovers make no chain: the one before ends at '{upper}', this one begins at '{lower}'"),
            format!("write between = [\"{upper}\", \"{next}\"], or put the crossovers in order"),
        );
    } else if before.iter().any(|one| one.between.contains(next)) {
        context.problem(
            &item.span,
            format!("driver '{next}' is already in a crossover further down"),
            "each driver has one place in the chain".to_owned(),
        );
    }
}

/// Outer `None`: a mistake; inner `None`: `"auto"`.
fn alignment(context: &mut Context<'_>, node: &Node) -> Option<Option<AlignmentPair>> {
    match &node.value {
        Value::Text(text) if text.trim() == "auto" => Some(None),
        Value::Text(_) => {
            let both = one_alignment(context, "alignment", node)?;
            Some(Some(AlignmentPair {
                lower: both,
                upper: both,
            }))
        }
        Value::Table(_) => {
            let mut fields = context.fields("alignment", node, "alignment = \"LR4\"")?;
            let lower = fields
                .need(context, "lower", "\"LR4\"")
                .and_then(|node| one_alignment(context, "lower", node));
            let upper = fields
                .need(context, "upper", "\"LR4\"")
                .and_then(|node| one_alignment(context, "upper", node));
            fields.finish(context);
            Some(Some(AlignmentPair {
                lower: lower?,
                upper: upper?,
            }))
        }
        other => {
            let message = format!("alignment is {}, but a name is needed", other.a_what());
            let help =
                "write alignment = \"LR4\", \"auto\", or { lower = \"LR4\", upper = \"BW3\" }";
            context.problem(&node.span, message, help.to_owned());
            None
        }
    }
}

fn one_alignment(context: &mut Context<'_>, name: &str, node: &Node) -> Option<Alignment> {
    let text = context.text(name, node)?;
    match text.parse::<Alignment>() {
        Ok(alignment) => Some(alignment),
        Err(error) => {
            let help = "the number is the acoustic order, 6 dB per octave each";
            context.problem(&node.span, error.to_string(), help.to_owned());
            None
        }
    }
}

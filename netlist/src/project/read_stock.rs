//! The tree to a [`Stock`]: ranges of a series, and the catalogue.

use super::catalogue;
use super::fields::{Context, Fields, Limit};
use super::tree::{Node, NodeValue};
use super::wire_gauge::named_diameter_m;
use super::{AutoformerRange, CatalogueItem, SeriesRange, Stock, StockKind};
use crate::quantity::{Decibels, Fraction, Henries, Metres, Ohms};
use crate::series::Series;

const EXAMPLE: &str =
    "capacitors = { series = \"E12\", from = \"0.1 uF\", to = \"220 uF\", tolerance = \"5 %\" }";

pub(super) fn stock(context: &mut Context<'_>, node: &Node) -> Stock {
    let Some(mut fields) = context.fields("[stock]", node, "[stock]") else {
        return Stock::default();
    };
    let mut of = |key, kind| {
        let node = fields.take(key)?;
        range(context, key, node, kind)
    };
    let capacitors = of("capacitors", StockKind::Capacitor);
    let inductors = of("inductors", StockKind::Inductor);
    let resistors = of("resistors", StockKind::Resistor);
    let autoformers = fields
        .take("autoformers")
        .and_then(|node| autoformers(context, node));
    let catalogue = match fields.take("catalogue") {
        Some(node) => catalogue(context, node),
        None => Vec::new(),
    };
    fields.finish(context);
    Stock {
        capacitors,
        inductors,
        resistors,
        autoformers,
        catalogue,
    }
}

/// Coupling of the sections of a winding on one core where nothing is said (common practice:
/// sections wound in layers leak well under a thousandth).
pub(super) const USUAL_COUPLING: f64 = 0.999;

fn autoformers(context: &mut Context<'_>, node: &Node) -> Option<AutoformerRange> {
    let example = "autoformers = { inductance = \"40 mH\", dcr = \"0.4 ohm\", step = \"1 dB\", to = \"20 dB\" }";
    let mut fields = context.fields("autoformers", node, example)?;
    let inductance = fields
        .need(context, "inductance", "\"40 mH\"")
        .and_then(|node| context.quantity::<Henries>("inductance", node, Limit::Positive));
    let dcr = fields.quantity(context, "dcr", Limit::NotNegative);
    let coupling_node = fields.take("coupling");
    let coupling = coupling_node
        .and_then(|node| context.number("coupling", node, Limit::NotNegative))
        .unwrap_or(USUAL_COUPLING);
    if let (true, Some(node)) = (coupling >= 1.0, coupling_node) {
        context.problem(
            &node.span,
            format!("a coupling of {coupling} is more than any winding has"),
            "write a factor below 1, like 0.999".to_owned(),
        );
        return None;
    }
    let step: Option<Decibels> = fields.quantity(context, "step", Limit::Positive);
    let to_node = fields.take("to");
    let to: Option<Decibels> =
        to_node.and_then(|node| context.quantity("to", node, Limit::Positive));
    let step = step.unwrap_or(Decibels(1.0));
    let to = to.unwrap_or(Decibels(20.0));
    if step.0 > to.0 || to.0 > 60.0 || to.0 / step.0 > 200.0 {
        let span = to_node.map_or(node.span.clone(), |node| node.span.clone());
        context.problem(
            &span,
            format!("taps in steps of {step} down to {to} are no autoformer"),
            "write step = \"1 dB\" and to = \"20 dB\"".to_owned(),
        );
        return None;
    }
    fields.finish(context);
    Some(AutoformerRange {
        inductance: inductance?,
        dcr: dcr.unwrap_or(Ohms(0.0)),
        coupling,
        step,
        to,
    })
}

/// A value of a kind in SI, from text with the kind's unit.
pub(super) fn value_of(
    context: &mut Context<'_>,
    name: &str,
    node: &Node,
    kind: StockKind,
) -> Option<f64> {
    context.quantity_si(kind.dimension(), name, node, Limit::Positive)
}

/// A share from 0 up to and without 1.
pub(super) fn tolerance(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Option<Fraction> {
    let node = fields.take("tolerance")?;
    let tolerance: Fraction = context.quantity("tolerance", node, Limit::NotNegative)?;
    if tolerance.0 >= 1.0 {
        let message = format!("a tolerance of {tolerance} allows a value of nothing");
        context.problem(
            &node.span,
            message,
            "write it like \"5 %\" or 0.05".to_owned(),
        );
        return None;
    }
    Some(tolerance)
}

fn range(
    context: &mut Context<'_>,
    key: &str,
    node: &Node,
    kind: StockKind,
) -> Option<SeriesRange> {
    let mut fields = context.fields(key, node, EXAMPLE)?;
    let default = kind.default_range();
    let series = match fields.take("series") {
        Some(node) => series(context, node),
        None => Some(default.series),
    };
    let before = context.mistakes();
    let from_node = fields.take("from");
    let to_node = fields.take("to");
    let from_si = from_node.and_then(|node| value_of(context, "from", node, kind));
    let to_si = to_node.and_then(|node| value_of(context, "to", node, kind));
    let from_si = from_si.unwrap_or(default.from_si);
    let to_si = to_si.unwrap_or(default.to_si);
    if context.mistakes() == before && from_si > to_si {
        let span = to_node
            .or(from_node)
            .map_or(fields.span.clone(), |node| node.span.clone());
        context.problem(
            &span,
            format!("the range of {key} is empty"),
            "'from' must not be above 'to'".to_owned(),
        );
    }
    let tolerance = tolerance(context, &mut fields);
    let mut range = SeriesRange {
        series: series.unwrap_or(default.series),
        from_si,
        to_si,
        tolerance,
        ..default
    };
    match kind {
        StockKind::Capacitor => range.esr = fields.quantity(context, "esr", Limit::NotNegative),
        StockKind::Inductor => {
            let wire_node = fields.take("wire");
            range.wire = wire_node.and_then(|node| wire(context, node));
            let dcr_node = fields.take("dcr_at_1_mh");
            range.dcr_at_1_mh =
                dcr_node.and_then(|node| context.quantity("dcr_at_1_mh", node, Limit::NotNegative));
            if let (Some(_), Some(node)) = (range.wire, dcr_node) {
                context.problem(
                    &node.span,
                    "the coils' resistance is given twice, by 'wire' and by 'dcr_at_1_mh'",
                    "keep one of the two".to_owned(),
                );
            }
        }
        StockKind::Resistor => range.power = fields.quantity(context, "power", Limit::Positive),
    }
    if let Some(node) = fields.take("together") {
        range.together = context
            .whole("together", node, 1, 4)
            .map_or(1, |count| count as u8);
    }
    fields.finish(context);
    Some(range)
}

/// Wire of coils; thicker is a length in the wrong unit.
const THICKEST_WIRE_M: f64 = 0.01;
const WIRE_HELP: &str = "write the diameter of its copper, such as \"1.25 mm\", or its American wire gauge, such as \"16 AWG\"";

fn wire(context: &mut Context<'_>, node: &Node) -> Option<Metres> {
    let named = match &node.value {
        NodeValue::Text(text) => named_diameter_m(text),
        _ => None,
    };
    let wire: Metres = match named {
        Some(Ok(diameter_m)) => Metres(diameter_m),
        Some(Err(())) => {
            let message = "wire is none of the American wire gauge";
            context.problem(&node.span, message, WIRE_HELP.to_owned());
            return None;
        }
        None => context.quantity_as("wire", node, Limit::Positive, WIRE_HELP)?,
    };
    if wire.0 > THICKEST_WIRE_M {
        context.problem(
            &node.span,
            format!("a wire of {wire} is not a wire of a coil"),
            WIRE_HELP.to_owned(),
        );
        return None;
    }
    Some(wire)
}

fn series(context: &mut Context<'_>, node: &Node) -> Option<Series> {
    let text = context.text("series", node)?;
    match text.parse::<Series>() {
        Ok(series) => Some(series),
        Err(error) => {
            context.problem(&node.span, error.to_string(), None);
            None
        }
    }
}

fn catalogue(context: &mut Context<'_>, node: &Node) -> Vec<CatalogueItem> {
    match &node.value {
        NodeValue::Text(_) => match context.file("catalogue", node) {
            Some(source) => catalogue::read(&source, context.collector),
            None => Vec::new(),
        },
        NodeValue::List(items) => {
            let read = items
                .iter()
                .filter_map(|item| catalogue_item(context, item));
            read.collect()
        }
        other => {
            let message = format!(
                "catalogue is {}, but a file name or a list is needed",
                other.a_what()
            );
            context.problem(
                &node.span,
                message,
                "write catalogue = \"stock.csv\"".to_owned(),
            );
            Vec::new()
        }
    }
}

fn catalogue_item(context: &mut Context<'_>, node: &Node) -> Option<CatalogueItem> {
    let example = "{ kind = \"capacitor\", value = \"22 uF\", price = 3.5 }";
    let mut fields = context.fields("a catalogue item", node, example)?;
    let kind = fields
        .need(context, "kind", "\"capacitor\"")
        .and_then(|node| {
            let text = context.text("kind", node)?;
            let kind = text.parse::<StockKind>();
            if let Err(error) = &kind {
                context.problem(&node.span, error.to_string(), None);
            }
            kind.ok()
        });
    let value = fields.need(context, "value", "\"22 uF\"");
    let value_si = match (value, kind) {
        (Some(node), Some(kind)) => value_of(context, "value", node, kind),
        _ => None,
    };
    let tolerance = tolerance(context, &mut fields);
    let loss = fields.quantity(context, "dcr_or_esr", Limit::NotNegative);
    let rating = (fields.take("rating").zip(kind)).and_then(|(node, kind)| {
        context.quantity_si(kind.rating_dimension(), "rating", node, Limit::Positive)
    });
    let price = fields.number(context, "price", Limit::NotNegative);
    let name = fields
        .take("name")
        .and_then(|node| context.text("name", node));
    let count = fields
        .take("count")
        .and_then(|node| context.whole("count", node, 0, u32::MAX));
    fields.finish(context);
    Some(CatalogueItem {
        tolerance,
        loss,
        rating,
        price,
        count,
        ..CatalogueItem::of(kind?, value_si?, name)
    })
}

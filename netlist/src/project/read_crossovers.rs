//! The tree to the crossovers: their chain, their frequencies, fixed or open, and their alignments.

use super::fields::{Context, Limit, meant};
use super::read_driver::Drivers;
use super::read_range::open_value;
use super::tree::{Node, NodeValue};
use super::{Aim, Alignment, AlignmentPair, Crossover, Driver, OpenFrequency, Source};
use crate::quantity::Hertz;

pub(super) fn crossovers(
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
        for (name, driver) in &drivers.list {
            let used = crossovers.iter().any(|one| one.between.contains(name));
            // One with mistakes may be said to be a spare.
            let spare = (driver.as_ref()).is_none_or(|driver| driver.instead_of.is_some());
            if !used && !spare {
                let span = node.map_or(drivers.span.clone(), |node| node.span.clone());
                context.problem(
                    &span,
                    format!("driver '{name}' is in no crossover"),
                    "add [[crossovers]] with between, frequency and alignment, or remove the driver; one that is only \
                     to be tried in the place of another says so: instead_of = \"high\""
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
    let frequency = fields
        .need(context, "frequency", "\"650 Hz\"")
        .and_then(|node| frequency(context, node));
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
            let all = names.clone().collect::<Vec<_>>().join(", ");
            let help = meant(name, names, format!("the drivers are {all}"));
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
    let (frequency, open) = frequency?;
    Some(Crossover {
        between: [lower.0, upper.0],
        frequency,
        open,
        alignment: alignment?,
    })
}

/// The frequency, or what stands for one that is left open. That of `"auto"` is found by [`place_auto`].
fn frequency(context: &mut Context<'_>, node: &Node) -> Option<(Hertz, Option<OpenFrequency>)> {
    const FORMS: &str =
        "write frequency = \"650 Hz\", { from = \"450 Hz\", to = \"900 Hz\" }, or \"auto\"";
    let fixed: Option<Hertz> = match &node.value {
        NodeValue::Text(text) if text.trim() == "auto" => {
            return Some((Hertz(f64::MIN_POSITIVE), Some(OpenFrequency::Auto)));
        }
        NodeValue::Table(_) => {
            let [from, to]: [Hertz; 2] = open_value(context, "frequency", node, Limit::Positive)?;
            let middle = Hertz((from.0 * to.0).sqrt());
            return Some((middle, Some(OpenFrequency::Range([from, to]))));
        }
        // What has digits is meant as a number, whose own way out says more.
        NodeValue::Text(text) if text.contains(|c: char| c.is_ascii_digit()) => {
            context.quantity("frequency", node, Limit::Positive)
        }
        NodeValue::Number(_) => context.quantity("frequency", node, Limit::Positive),
        _ => context.quantity_as("frequency", node, Limit::Positive, FORMS),
    };
    Some((fixed?, None))
}

/// Lowest first, and the upper driver of one is the lower of the next.
fn check_chain(context: &mut Context<'_>, before: &[Crossover], this: &Crossover, item: &Node) {
    let Some(last) = before.last() else { return };
    // What is open altogether finds its place between its neighbours.
    let known = |one: &&Crossover| one.open != Some(OpenFrequency::Auto);
    let below = before.iter().rev().find(known);
    if let Some(below) = below.filter(|below| known(&this) && this.frequency <= below.frequency) {
        let message = format!(
            "this crossover {} is not above the one before it, {}",
            place_words(this),
            place_words(below)
        );
        let ranges = [this, below].into_iter().any(|one| one.open.is_some());
        let help = match ranges {
            true => {
                "list the crossovers from the lowest to the highest, and let the middles of their ranges rise"
            }
            false => "list the crossovers from the lowest to the highest",
        };
        context.problem(&item.span, message, help.to_owned());
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

fn place_words(crossover: &Crossover) -> String {
    match crossover.open {
        None => format!("at {}", crossover.frequency),
        Some(_) => format!("with the middle of its range at {:.3}", crossover.frequency),
    }
}

/// How far above its resonance a driver is crossed at the least where nothing else is known.
const LEAST_ABOVE_RESONANCE: f64 = 1.3;

/// Puts a frequency in place of each `"auto"`: the geometric middle of what both drivers can do, and
/// always between its neighbours. Where nothing is known of a driver the aim's band ends it.
///
/// The crossovers must be in order, the open ones left out.
pub(super) fn place_auto(crossovers: &mut [Crossover], drivers: &Drivers, aim: &Aim) {
    for index in 0..crossovers.len() {
        if crossovers[index].open != Some(OpenFrequency::Auto) {
            continue;
        }
        let below = index
            .checked_sub(1)
            .map(|before| crossovers[before].frequency.0);
        let above = (crossovers[index + 1..].iter())
            .find(|one| one.open != Some(OpenFrequency::Auto))
            .map(|one| one.frequency.0);
        let [lower, upper] = (crossovers[index].between.each_ref())
            .map(|name| drivers.list.get(name).and_then(Option::as_ref));
        let from = [upper.and_then(able_from), below];
        let from = from.into_iter().flatten().reduce(f64::max);
        let to = [lower.and_then(able_to), above];
        let to = to.into_iter().flatten().reduce(f64::min);
        let middle = (from.unwrap_or(aim.from.0) * to.unwrap_or(aim.to.0)).sqrt();
        let between = below.is_none_or(|f| f < middle) && above.is_none_or(|f| middle < f);
        let middle = match (between, below, above) {
            (false, Some(below), Some(above)) => (below * above).sqrt(),
            (false, Some(below), None) => 2.0 * below,
            (false, None, Some(above)) => 0.5 * above,
            _ => middle,
        };
        crossovers[index].frequency = Hertz(middle);
    }
}

/// Lowest frequency at which an upper driver can be crossed, as far as the file says it.
fn able_from(driver: &Driver) -> Option<f64> {
    let (resonance, table_from) = match &driver.source {
        Source::Measured(measured) => (None, Some(measured.response_ends_hz()[0])),
        Source::Cone(cone) => (Some(cone.fs), None),
        Source::Compression(compression) => (Some(compression.horn.cutoff), None),
        Source::Horn(horn) => (Some(horn.fs), None),
    };
    let resonance = driver.resonance.or(resonance);
    let above_resonance = resonance.map(|resonance| LEAST_ABOVE_RESONANCE * resonance.0);
    let usable_from = driver.usable.map(|[from, _]| from.0);
    let bounds = [usable_from, above_resonance, table_from];
    bounds.into_iter().flatten().reduce(f64::max)
}

/// Highest frequency at which a lower driver can be crossed, as far as the file says it.
fn able_to(driver: &Driver) -> Option<f64> {
    let table_to = match &driver.source {
        Source::Measured(measured) => Some(measured.response_ends_hz()[1]),
        Source::Cone(_) | Source::Compression(_) | Source::Horn(_) => None,
    };
    let bounds = [driver.usable.map(|[_, to]| to.0), table_to];
    bounds.into_iter().flatten().reduce(f64::min)
}

/// Outer `None`: a mistake; inner `None`: `"auto"`.
fn alignment(context: &mut Context<'_>, node: &Node) -> Option<Option<AlignmentPair>> {
    match &node.value {
        NodeValue::Text(text) if text.trim() == "auto" => Some(None),
        NodeValue::Text(_) => {
            let both = one_alignment(context, "alignment", node)?;
            Some(Some(AlignmentPair {
                lower: both,
                upper: both,
            }))
        }
        NodeValue::Table(_) => {
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

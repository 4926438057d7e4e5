//! The tree to the drivers: measured, or modelled from their data sheets.

use std::ops::Range;

use indexmap::IndexMap;

use super::fields::{Context, Fields, Limit};
use super::read_cabinet::baffle;
use super::read_coil::{coil_rise, inductance};
use super::read_compression::compression_driver;
use super::read_directivity::coverage;
use super::read_horn::{OF_A_SHAPE, horn_driver, opening};
use super::read_measured::{MEASURED, measured};
use super::read_range::{band, open_value};
use super::tree::{Node, NodeValue};
use super::{BreakUp, Cabinet, Cone, Driver, Enclosure, Position, Source, Wired};
use crate::quantity::{Hertz, Metres};

const MODELLED: &str = "modelled = { re = \"5.4 ohm\", ... }";

pub(super) fn driver(
    context: &mut Context<'_>,
    name: &str,
    node: &Node,
    cabinet: Option<&Cabinet>,
) -> Option<Driver> {
    let title = format!("driver '{name}'");
    let mut fields = context.fields(&title, node, MEASURED)?;
    let measured_node = fields.take("measured");
    let modelled_node = fields.take("modelled");
    let size_node = fields.take("size");
    let size = size_node.and_then(|node| opening(context, "size", node));
    let source = match (measured_node, modelled_node) {
        (Some(node), None) => measured(context, node, size),
        (None, Some(node)) => modelled(context, node),
        (Some(_), Some(node)) => {
            context.problem(
                &node.span,
                format!("{title} is both measured and modelled"),
                "keep one of the two".to_owned(),
            );
            None
        }
        (None, None) => {
            let message = format!("{title} is neither measured nor modelled");
            let help = format!("add {MEASURED} or {MODELLED}");
            context.problem(&fields.span, message, help);
            None
        }
    };
    let (count, wired) = several(context, &mut fields);
    let usable = fields.take("usable").and_then(|node| usable(context, node));
    let resonance = fields.quantity(context, "resonance", Limit::Positive);
    let power = fields.quantity(context, "power", Limit::Positive);
    let position = match fields.take("position") {
        Some(node) => position(context, node),
        None => Position::default(),
    };
    let on_baffle = fields.take("on_baffle");
    let radiates = source.as_ref().is_some_and(Source::is_in_the_cabinet);
    let place = baffle(context, &fields, on_baffle, &position, cabinet, radiates);
    let instead_of = (fields.take("instead_of")).and_then(|node| context.text("instead_of", node));
    if let (Some(node), Some(Source::Horn(_))) = (size_node, &source) {
        let message = "a horn of stated shape radiates from its mouth".to_owned();
        context.problem(&node.span, message, "leave size out".to_owned());
    }
    let coverage = (fields.take("coverage")).and_then(|node| coverage(context, node));
    fields.finish(context);
    Some(Driver {
        source: source?,
        count,
        wired,
        usable,
        resonance,
        power,
        position,
        baffle: place.filter(|_| radiates),
        stands_in: place.map(|place| place.cabinet),
        instead_of,
        size,
        coverage,
    })
}

/// Most drivers of one way.
const MOST_OF_ONE_WAY: u32 = 12;

/// `count` and `wired`.
fn several(context: &mut Context<'_>, fields: &mut Fields<'_>) -> (u32, Wired) {
    let before = context.mistakes();
    let count = match fields.take("count") {
        Some(node) => context.whole("count", node, 1, MOST_OF_ONE_WAY),
        None => Some(1),
    };
    let count = count.unwrap_or(1);
    let Some(node) = fields.take("wired") else {
        return (count, Wired::Parallel);
    };
    let wired = wired(context, node);
    if count < 2 && context.mistakes() == before {
        let message = format!(
            "{} says how it is wired to others, but it is alone",
            fields.name
        );
        let help = "say how many there are, like count = 2, or leave wired out".to_owned();
        context.problem(&node.span, message, help);
    }
    (count, wired.unwrap_or(Wired::Parallel))
}

fn wired(context: &mut Context<'_>, node: &Node) -> Option<Wired> {
    context.one_of(
        "wired",
        node,
        &[("parallel", Wired::Parallel), ("series", Wired::Series)],
        |other| format!("drivers are not wired '{other}'"),
        "write wired = \"parallel\" or \"series\"",
    )
}

fn usable(context: &mut Context<'_>, node: &Node) -> Option<[Hertz; 2]> {
    let example = "usable = { from = \"450 Hz\", to = \"16 kHz\" }";
    let mut fields = context.fields("usable", node, example)?;
    for key in ["from", "to"] {
        if !fields.has(key) {
            let message = format!("usable lacks '{key}'");
            context.problem(&fields.span, message, format!("write {example}"));
        }
    }
    // Absent ends are told above; these only keep the order check quiet.
    let usable = band(
        context,
        &mut fields,
        [Hertz(f64::MIN_POSITIVE), Hertz(f64::MAX)],
    );
    fields.finish(context);
    Some(usable)
}

fn position(context: &mut Context<'_>, node: &Node) -> Position {
    let example = "position = { right = \"0 m\", up = \"1.1 m\", back = \"0.09 m\" }";
    let Some(mut fields) = context.fields("position", node, example) else {
        return Position::default();
    };
    let mut side = |key| {
        fields
            .quantity(context, key, Limit::Any)
            .unwrap_or(Metres(0.0))
    };
    let (right, up) = (side("right"), side("up"));
    let (back, back_to) = match fields.take("back") {
        Some(node) if matches!(node.value, NodeValue::Table(_)) => {
            match open_value(context, "back", node, Limit::Any) {
                Some([from, to]) => (Some(from), Some(to)),
                None => (None, None),
            }
        }
        Some(node) => (context.quantity("back", node, Limit::Any), None),
        None => (None, None),
    };
    fields.finish(context);
    Position {
        right,
        up,
        back: back.unwrap_or(Metres(0.0)),
        back_to,
    }
}

/// Fields that only one kind of modelled driver has tell which it is.
const OF_A_CONE: [&str; 7] = ["fs", "qms", "qes", "vas", "sd", "box", "break_up"];
const OF_A_COMPRESSION_DRIVER: [&str; 5] = ["level", "horn", "resonances", "mass_corner", "top"];

fn modelled(context: &mut Context<'_>, node: &Node) -> Option<Source> {
    let fields = context.fields("modelled", node, MODELLED)?;
    if has_shaped_horn(node) {
        let driver = horn_driver(context, fields)?;
        return Some(Source::Horn(Box::new(driver)));
    }
    let cone = OF_A_CONE.into_iter().find(|key| fields.has(key));
    let compression = OF_A_COMPRESSION_DRIVER
        .into_iter()
        .find(|key| fields.has(key));
    match (cone, compression) {
        (Some(_), None) => cone_driver(context, fields).map(Source::Cone),
        (None, Some(_)) => compression_driver(context, fields).map(Source::Compression),
        (Some(cone), Some(compression)) => {
            context.problem(
                &fields.span,
                format!("'{cone}' is of a cone driver, '{compression}' of a compression driver"),
                "keep the fields of one kind".to_owned(),
            );
            None
        }
        (None, None) => {
            context.problem(
                &fields.span,
                "modelled says neither what cone driver nor what compression driver it is",
                "a cone driver has re, fs, qms, qes, vas, sd and a box; a compression driver has \
                 re, level and horn = { cutoff = \"350 Hz\" }, or re, mms, fs, qms, bl, sd and a horn \
                 with throat, mouth, length and flare"
                    .to_owned(),
            );
            None
        }
    }
}

/// Whether `horn` is a shape, not the lower limit of a data sheet.
fn has_shaped_horn(modelled: &Node) -> bool {
    let NodeValue::Table(entries) = &modelled.value else {
        return false;
    };
    let horn = entries.iter().find(|entry| entry.key == "horn");
    let Some(NodeValue::Table(shape)) = horn.map(|entry| &entry.node.value) else {
        return false;
    };
    let has = |key: &str| shape.iter().any(|entry| entry.key == key);
    !has("cutoff") && OF_A_SHAPE.into_iter().any(has)
}

fn cone_driver(context: &mut Context<'_>, mut fields: Fields<'_>) -> Option<Cone> {
    fields.name = "a modelled cone driver".into();
    let re = fields.need_quantity(context, "re", Limit::Positive);
    let fs = fields.need_quantity(context, "fs", Limit::Positive);
    let qms = fields.need_number(context, "qms", Limit::Positive);
    let qes = fields.need_number(context, "qes", Limit::Positive);
    let vas = fields.need_quantity(context, "vas", Limit::Positive);
    let sd = fields.need_quantity(context, "sd", Limit::Positive);
    let inductance = inductance(context, &mut fields);
    let enclosure_node = fields.take("box");
    let enclosure = enclosure_node.map(|node| enclosure(context, node));
    let break_up = match fields.take("break_up") {
        Some(node) => break_up(context, node),
        None => Some(Vec::new()),
    };
    let coil_rise = coil_rise(context, &mut fields);
    fields.finish(context);
    Some(Cone {
        re: re?,
        fs: fs?,
        qms: qms?,
        qes: qes?,
        vas: vas?,
        sd: sd?,
        inductance: inductance?,
        enclosure: match enclosure {
            Some(enclosure) => Some(enclosure?),
            None => None,
        },
        break_up: break_up?,
        coil_rise,
    })
}

fn break_up(context: &mut Context<'_>, node: &Node) -> Option<Vec<BreakUp>> {
    const EXAMPLE: &str = "[{ frequency = \"3.2 kHz\", q = 4, level = \"5 dB\" }]";
    let items = context.list("break_up", node, EXAMPLE)?;
    let read: Vec<Option<BreakUp>> = items
        .iter()
        .map(|item| {
            let mut fields = context.fields("a resonance of a cone", item, EXAMPLE)?;
            let frequency = fields.need_quantity(context, "frequency", Limit::Positive);
            let q = fields.need_number(context, "q", Limit::Positive);
            let level = fields.need_quantity(context, "level", Limit::Any);
            fields.finish(context);
            Some(BreakUp {
                frequency: frequency?,
                q: q?,
                level: level?,
            })
        })
        .collect();
    read.into_iter().collect()
}

fn enclosure(context: &mut Context<'_>, node: &Node) -> Option<Enclosure> {
    let mut fields = context.fields(
        "box",
        node,
        "box = { volume = \"140 L\", tuning = \"34 Hz\" }",
    )?;
    let volume = fields.need_quantity(context, "volume", Limit::Positive);
    let tuning = fields.quantity(context, "tuning", Limit::Positive);
    let ql = fields.number(context, "ql", Limit::Positive);
    fields.finish(context);
    Some(Enclosure {
        volume: volume?,
        tuning,
        ql,
    })
}

/// The drivers by name; `None` for one with mistakes, so that its name is known all the same.
pub(super) struct Drivers {
    pub(super) list: IndexMap<String, Option<Driver>>,
    pub(super) span: Range<usize>,
}

pub(super) fn drivers(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    cabinet: Option<&Cabinet>,
) -> Drivers {
    const EXAMPLE: &str = "{ mid = { measured = { impedance = \"mid-impedance.txt\", response = \"mid-response.txt\" } } }";
    let mut drivers = Drivers {
        list: IndexMap::new(),
        span: fields.span.clone(),
    };
    let Some(node) = fields.need(context, "drivers", EXAMPLE) else {
        return drivers;
    };
    drivers.span = node.span.clone();
    let NodeValue::Table(entries) = &node.value else {
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
        let driver = driver(context, &entry.key, &entry.node, cabinet);
        drivers.list.insert(entry.key.clone(), driver);
    }
    drivers
}

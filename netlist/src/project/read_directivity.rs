//! The tree to coverage and off-axis tables.

use super::fields::{Context, Limit};
use super::read_table::table;
use super::tree::Node;
use super::{Coverage, OffAxis, Plane};
use crate::quantity::{Degrees, Quantity};
use crate::table::TableKind;

/// Widest coverage: 6 dB down at the side.
const WIDEST_DEG: f64 = 180.0;
/// Narrowest: no loudspeaker for a room is narrower.
const NARROWEST_DEG: f64 = 5.0;

pub(super) fn coverage(context: &mut Context<'_>, node: &Node) -> Option<Coverage> {
    let example = "coverage = { horizontal = \"90 deg\", vertical = \"40 deg\" }";
    let mut fields = context.fields("coverage", node, example)?;
    let mut angle = |key: &'static str| {
        let node = fields.need(context, key, "\"90 deg\"")?;
        let angle: Degrees = context.quantity(key, node, Limit::Positive)?;
        if (NARROWEST_DEG..=WIDEST_DEG).contains(&angle.0) {
            return Some(angle);
        }
        let message =
            format!("a coverage of {angle} is not one of {NARROWEST_DEG} to {WIDEST_DEG}°");
        let help = "it is the whole angle between the two directions that are 6 dB down; \
            leave coverage out for a driver that has none";
        context.problem(&node.span, message, help.to_owned());
        None
    };
    let (horizontal, vertical) = (angle("horizontal"), angle("vertical"));
    fields.finish(context);
    Some(Coverage {
        horizontal: horizontal?,
        vertical: vertical?,
    })
}

const OFF_AXIS: &str =
    "[{ angle = \"15 deg\", plane = \"horizontal\", response = \"mid-15.txt\" }]";

pub(super) fn off_axis(context: &mut Context<'_>, node: &Node, trust: bool) -> Vec<OffAxis> {
    let Some(items) = context.list("off_axis", node, OFF_AXIS) else {
        return Vec::new();
    };
    let mut read: Vec<OffAxis> = Vec::new();
    for item in items {
        let Some(one) = one_table(context, item, trust) else {
            continue;
        };
        let same = |other: &OffAxis| {
            other.plane == one.plane && other.angle.0.to_bits() == one.angle.0.to_bits()
        };
        if read.iter().any(same) {
            let message = format!("there are two tables for {} in this plane", one.angle);
            let help = "keep one; angles to the left and downwards are below 0".to_owned();
            context.problem(&item.span, message, help);
            continue;
        }
        read.push(one);
    }
    read
}

fn one_table(context: &mut Context<'_>, node: &Node, trust: bool) -> Option<OffAxis> {
    let mut fields = context.fields("an entry of off_axis", node, OFF_AXIS)?;
    let angle = (fields.need(context, "angle", "\"15 deg\"")).and_then(|node| angle(context, node));
    let plane =
        (fields.need(context, "plane", "\"horizontal\"")).and_then(|node| plane(context, node));
    let response = (fields.need(context, "response", "\"mid-15.txt\""))
        .and_then(|node| table(context, "response", node, TableKind::Response, trust));
    fields.finish(context);
    Some(OffAxis {
        angle: angle?,
        plane: plane?,
        response: response?,
    })
}

fn angle(context: &mut Context<'_>, node: &Node) -> Option<Degrees> {
    let angle: Degrees = context.quantity("angle", node, Limit::Any)?;
    let turn = angle.si().abs();
    if turn > 0.0 && turn <= 180.0 {
        return Some(angle);
    }
    let message = format!("an angle off the axis cannot be {angle}");
    let help = "it lies between -180 and 180 degrees, and the table on the axis is 'response'";
    context.problem(&node.span, message, help.to_owned());
    None
}

fn plane(context: &mut Context<'_>, node: &Node) -> Option<Plane> {
    context.one_of(
        "plane",
        node,
        &[
            ("horizontal", Plane::Horizontal),
            ("vertical", Plane::Vertical),
        ],
        |other| format!("no plane is called '{other}'"),
        "write plane = \"horizontal\" or \"vertical\"",
    )
}

//! The tree to a [`MeasuredDriver`]: its tables, and which of them are of the near field.

use std::ops::Range;

use super::fields::{Context, Fields, Limit};
use super::read_directivity::off_axis;
use super::read_horn::opening;
use super::read_table::table;
use super::tree::Node;
use super::{MeasuredDriver, NearField, NearJoin, NearPort, OffAxis, Opening, Source};
use crate::quantity::{Hertz, Metres, Quantity, SquareMetres, Volts};
use crate::table::{Table, TableKind};

pub(super) const MEASURED: &str =
    "measured = { impedance = \"mid-impedance.txt\", response = \"mid-response.txt\" }";
const JOINED: &str = "near = \"low-near.txt\", far = \"low-far.txt\", join = \"250 Hz\"";
const NEAR_PORT: &str = "near_port = { response = \"low-port.txt\", size = \"100 mm\" }";

pub(super) fn measured(
    context: &mut Context<'_>,
    node: &Node,
    size: Option<Opening>,
) -> Option<Source> {
    let mut fields = context.fields("measured", node, MEASURED)?;
    let trust = (fields.take("trust"))
        .and_then(|node| context.switch("trust", node))
        .unwrap_or(false);
    let reliable_from = fields.quantity(context, "reliable_from", Limit::Positive);
    let impedance = fields
        .need(context, "impedance", "\"impedance.txt\"")
        .and_then(|node| table(context, "impedance", node, TableKind::Impedance, trust));
    let drive = fields
        .quantity(context, "drive", Limit::Positive)
        .unwrap_or(Volts(2.83));
    let sd = fields.quantity(context, "sd", Limit::Positive);
    let distance_node = fields.take("distance");
    let distance = distance_node
        .and_then(|node| context.quantity("distance", node, Limit::Positive))
        .unwrap_or(Metres(1.0));
    let off_axis_node = fields.take("off_axis");
    let off_axis = off_axis_node.map_or_else(Vec::new, |node| off_axis(context, node, trust));
    let area = sd.or(size.map(|size| SquareMetres(size.area_m2())));
    let sound = sound(context, &mut fields, drive, area, trust);
    if let Some((_, Some(near))) = &sound
        && near.joined.is_none()
    {
        only_near(context, distance_node, off_axis_node, &off_axis);
    }
    fields.finish(context);
    let (response, near) = sound?;
    Some(Source::Measured(Box::new(MeasuredDriver {
        impedance: impedance?,
        response,
        near,
        sd,
        drive,
        distance,
        reliable_from,
        trust,
        off_axis,
    })))
}

/// The response and what is of the near field; `None` after a mistake.
fn sound(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    drive: Volts,
    area: Option<SquareMetres>,
    trust: bool,
) -> Option<(Table, Option<NearField>)> {
    let mistakes = context.mistakes();
    let space_node = fields.take("space");
    let space = space_node.and_then(|node| near_space(context, node));
    let port_node = fields.take("near_port");
    let is_joined = fields.has("near") || fields.has("far");
    let (response, joined) = if is_joined {
        if let (Some(node), Some(false)) = (space_node, space) {
            let message = "near is a table of the near field, and space says that there is none";
            context.problem(&node.span, message, "leave space out".to_owned());
        }
        both_fields(context, fields, drive, trust)
    } else {
        (one_field(context, fields, trust), None)
    };
    if !is_joined && space != Some(true) {
        if let Some(node) = port_node {
            let message = "a port's near field adds to one of the diaphragm, and there is none";
            let help =
                format!("say space = \"near field\" where the response is that, or write {JOINED}");
            context.problem(&node.span, message, help);
        }
        return Some((response?, None));
    }
    if area.is_none() {
        let message = "the level of a near field at a distance follows from the area of the diaphragm, which is not said";
        let help =
            "add sd = \"220 cm2\" to measured, as the data sheet has it, or size to the driver";
        context.problem(&fields.span, message, help.to_owned());
    }
    let near_table = match &joined {
        Some(joined) => Some(&joined.response),
        None => response.as_ref().filter(|_| !is_joined),
    };
    let port = port_node.and_then(|node| port(context, node, near_table, trust));
    if context.mistakes() != mistakes {
        return None;
    }
    let near = NearField {
        sd: area?,
        port,
        joined,
    };
    Some((response?, Some(near)))
}

/// The response where one table has it all.
fn one_field(context: &mut Context<'_>, fields: &mut Fields<'_>, trust: bool) -> Option<Table> {
    for key in ["join", "near_drive"] {
        if let Some(node) = fields.take(key) {
            let message = format!("{key} is for a near field that is joined to a far field");
            let help = format!("write {JOINED}, or leave {key} out");
            context.problem(&node.span, message, help);
        }
    }
    // Known, so that they are told where a name is misspelt.
    fields.take("near");
    fields.take("far");
    let node = fields.need(context, "response", "\"response.txt\"")?;
    table(context, "response", node, TableKind::Response, trust)
}

/// The far field, and the near field that goes before it.
fn both_fields(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
    drive: Volts,
    trust: bool,
) -> (Option<Table>, Option<NearJoin>) {
    let nodes = ["near", "far", "join"].map(|key| (key, fields.take(key)));
    if let Some(node) = fields.take("response") {
        let message = "the response is there twice, as response and as near and far";
        let help = "call the response that was measured at a distance far, and leave response out";
        context.problem(&node.span, message, help.to_owned());
    }
    for (key, _) in nodes.iter().filter(|(_, node)| node.is_none()) {
        let message = format!("measured lacks '{key}'");
        let help = format!(
            "near and far field are joined by {JOINED}; what is of one field only is called response, with \
             space = \"near field\" where it is that"
        );
        context.problem(&fields.span, message, help);
    }
    let [(_, near), (_, far), (_, join)] = nodes;
    let near = near.and_then(|node| table(context, "near", node, TableKind::Response, trust));
    let far = far.and_then(|node| table(context, "far", node, TableKind::Response, trust));
    let at = join.and_then(|node| context.quantity("join", node, Limit::Positive));
    let near_drive = fields.quantity(context, "near_drive", Limit::Positive);
    let (Some(response), Some(at), Some(node)) = (near, at, join) else {
        return (far, None);
    };
    if let Some(far) = &far {
        within_both(context, &node.span, at, &response, far);
    }
    let joined = NearJoin {
        response,
        drive: near_drive.unwrap_or(drive),
        at,
    };
    (far, Some(joined))
}

/// What has no meaning where nothing was measured at a distance.
fn only_near(
    context: &mut Context<'_>,
    distance: Option<&Node>,
    off_axis_node: Option<&Node>,
    off_axis: &[OffAxis],
) {
    if let Some(node) = distance {
        let message = "a near field has no distance: the microphone is at the diaphragm";
        let help = "leave distance out; the level at 1 m follows from the area of the diaphragm";
        context.problem(&node.span, message, help.to_owned());
    }
    if let Some(node) = off_axis_node
        && !off_axis.is_empty()
    {
        let message = "responses off the axis are held against one at a distance on it, and there is only a near field";
        let help = format!("add that one: {JOINED}, or leave off_axis out");
        context.problem(&node.span, message, help);
    }
}

/// Whether the table is of the near field; `None` where the words are none.
fn near_space(context: &mut Context<'_>, node: &Node) -> Option<bool> {
    context.one_of(
        "space",
        node,
        &[("near field", true), ("far field", false)],
        |other| format!("there is no space '{other}'"),
        "write space = \"near field\", or leave it out where it is the far field",
    )
}

/// A mistake where one table ends before the other takes over.
fn within_both(
    context: &mut Context<'_>,
    span: &Range<usize>,
    at: Hertz,
    near: &Table,
    far: &Table,
) {
    let ([near_from, near_to], [far_from, far_to]) = (near.ends_hz(), far.ends_hz());
    let (from, to) = (near_from.max(far_from), near_to.min(far_to));
    if from < at.si() && at.si() < to {
        return;
    }
    let words = |f_hz: f64| format!("{:.3}", Hertz(f_hz));
    let message = format!(
        "the near field is measured from {} to {} and the far field from {} to {}; {}",
        words(near_from),
        words(near_to),
        words(far_from),
        words(far_to),
        if from < to {
            format!("join = \"{at}\" is not in both")
        } else {
            "nothing is in both, so that they cannot be joined".to_owned()
        }
    );
    let help = if from < to {
        format!("join them between {} and {}", words(from), words(to))
    } else {
        "measure the near field further up, or the far field further down".to_owned()
    };
    context.problem(span, message, help);
}

fn port(
    context: &mut Context<'_>,
    node: &Node,
    near: Option<&Table>,
    trust: bool,
) -> Option<NearPort> {
    /// Most mouths of one box.
    const MOST: u32 = 12;
    let mut fields = context.fields("near_port", node, NEAR_PORT)?;
    let response_node = fields.need(context, "response", "\"low-port.txt\"");
    let response =
        response_node.and_then(|node| table(context, "response", node, TableKind::Response, trust));
    let size = (fields.need(context, "size", "\"100 mm\""))
        .and_then(|node| opening(context, "size", node));
    let count = match fields.take("count") {
        Some(node) => context.whole("count", node, 1, MOST),
        None => Some(1),
    };
    fields.finish(context);
    let response = response?;
    let lacks = [Some(&response), near]
        .into_iter()
        .flatten()
        .find(|table| table.phase_deg.is_none());
    if let Some(table) = lacks {
        let message = format!(
            "{} has no phase, without which port and diaphragm cannot be added",
            table.file
        );
        let help = "measure both with phase, or leave near_port out and let the near field be the diaphragm's alone";
        let span = response_node.map_or(&node.span, |node| &node.span);
        context.problem(span, message, help.to_owned());
        return None;
    }
    Some(NearPort {
        response,
        size: size?,
        count: count?,
    })
}

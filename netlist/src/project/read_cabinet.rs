//! The tree to a [`Cabinet`], and a driver's place on its front.

use super::fields::{Context, Fields, Limit};
use super::tree::Node;
use super::{Baffle, Cabinet, Position, RoomLoading};
use crate::quantity::Metres;

const ROOMS: [(&str, RoomLoading); 4] = [
    ("free", RoomLoading::Free),
    ("floor", RoomLoading::Floor),
    ("wall", RoomLoading::Wall),
    ("corner", RoomLoading::Corner),
];
const ON_BAFFLE: &str = "on_baffle = { right = \"0 m\", up = \"0.6 m\" }";

pub(super) fn cabinet(context: &mut Context<'_>, node: &Node) -> Option<Cabinet> {
    let mut fields = context.fields("[cabinet]", node, "[cabinet]")?;
    let width = fields.need_quantity::<Metres>(context, "width", Limit::Positive);
    let height = fields.need_quantity::<Metres>(context, "height", Limit::Positive);
    let depth = fields.need_quantity::<Metres>(context, "depth", Limit::Positive);
    let edge_node = fields.take("edge");
    let edge = edge_node
        .and_then(|node| context.quantity::<Metres>("edge", node, Limit::NotNegative))
        .unwrap_or(Metres(0.0));
    let room = fields.take("room").and_then(|node| room(context, node));
    fields.finish(context);
    let cabinet = Cabinet {
        width: width?,
        height: height?,
        depth: depth?,
        edge,
        room: room.unwrap_or_default(),
    };
    let most = cabinet.width.0.min(cabinet.height.0) / 2.0;
    if let Some(node) = edge_node
        && edge.0 > most
    {
        let message = format!(
            "an edge rounded to {edge} leaves nothing of a front of {} by {}",
            cabinet.width, cabinet.height
        );
        let help = format!("the radius is {} or less", Metres(most));
        context.problem(&node.span, message, help);
    }
    Some(cabinet)
}

fn room(context: &mut Context<'_>, node: &Node) -> Option<RoomLoading> {
    let names: Vec<&str> = ROOMS.iter().map(|(name, _)| *name).collect();
    let help = format!("it is one of {}", names.join(", "));
    let wrong = |other: &str| format!("there is no room '{other}'");
    context.one_of("room", node, &ROOMS, wrong, &help)
}

/// Where a driver, whose fields are given, is on the front: `on_baffle`, or its position where that is on it. One that has
/// the front put around its sound must be there.
pub(super) fn baffle(
    context: &mut Context<'_>,
    driver: &Fields<'_>,
    on_baffle: Option<&Node>,
    position: &Position,
    cabinet: Option<&Cabinet>,
    radiates: bool,
) -> Option<Baffle> {
    let (title, span) = (&driver.name, &driver.span);
    let stated = match on_baffle {
        Some(node) => Some(place(context, node)?),
        None => None,
    };
    let Some(cabinet) = cabinet else {
        if let Some(node) = on_baffle {
            let message =
                format!("{title} has a place on the front of a cabinet that is not there");
            let help = "say what the cabinet is, like [cabinet] with width, height and depth";
            context.problem(&node.span, message, help.to_owned());
        }
        return None;
    };
    let [right, up] = stated.unwrap_or([position.right, position.up]);
    let within = right.0.abs() < cabinet.width.0 / 2.0 && up.0 > 0.0 && up.0 < cabinet.height.0;
    if !within && !radiates {
        return None;
    }
    if !within {
        let message = format!("{title} is not on the front of the cabinet: {right} right, {up} up");
        let help = format!(
            "say where its middle is, right of the middle of the front and above its lower edge, like {ON_BAFFLE}"
        );
        let span = on_baffle.map_or(span, |node| &node.span);
        context.problem(span, message, help);
        return None;
    }
    Some(Baffle {
        cabinet: *cabinet,
        right,
        up,
    })
}

fn place(context: &mut Context<'_>, node: &Node) -> Option<[Metres; 2]> {
    let mut fields = context.fields("on_baffle", node, ON_BAFFLE)?;
    let right = fields.quantity(context, "right", Limit::Any);
    let up = fields.need_quantity(context, "up", Limit::Positive);
    fields.finish(context);
    Some([right.unwrap_or(Metres(0.0)), up?])
}

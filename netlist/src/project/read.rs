//! The tree to a [`Project`]: top level, amplifier, aim, listener.

use super::fields::{Context, Fields, Limit, meant};
use super::read_driver::{Drivers, drivers};
use super::read_range::band;
use super::tree::{Node, NodeValue};
use super::{
    Aim, Amplifier, Crossover, Judged, Listener, Project, Stock, Wiring, read_amplifier,
    read_cabinet, read_crossovers, read_parts, read_stock, read_wiring,
};
use crate::network::Network;
use crate::quantity::{Decibels, Metres};

pub(super) fn project(context: &mut Context<'_>, root: &Node) -> Option<Project> {
    let NodeValue::Table(entries) = &root.value else {
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
        Some(node) => read_amplifier::amplifier(context, node),
        None => Amplifier::default(),
    };
    let aim = match fields.take("aim") {
        Some(node) => aim(context, node),
        None => Aim::default(),
    };
    let listener = fields
        .take("listener")
        .and_then(|node| listener(context, node));
    let cabinet = (fields.take("cabinet")).and_then(|node| read_cabinet::cabinet(context, node));
    let drivers = drivers(context, &mut fields, cabinet.as_ref());
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
    let has_parts = parts_node.is_some();
    let mut crossovers = read_crossovers::crossovers(context, crossovers_node, &drivers, has_parts);
    let spares = spares(context, &drivers, &crossovers, network.as_ref());
    fields.finish(context);
    // Mistakes leave no project, and drivers or an order that say nothing.
    if context.mistakes() == 0 {
        read_crossovers::place_auto(&mut crossovers, &drivers, &aim);
    }
    Some(Project {
        title,
        note,
        amplifier,
        aim,
        listener,
        cabinet,
        drivers: drivers
            .list
            .into_iter()
            .filter_map(|(name, driver)| Some((name, driver?)))
            .filter(|(name, _)| spares.iter().all(|(spare, _)| spare != name))
            .collect(),
        spares,
        crossovers,
        stock,
        wiring,
        network,
    })
}

fn aim(context: &mut Context<'_>, node: &Node) -> Aim {
    let default = Aim::default();
    let Some(mut fields) = context.fields("[aim]", node, "[aim]") else {
        return default;
    };
    let [from, to] = band(context, &mut fields, [default.from, default.to]);
    let level = fields.take("level").and_then(|node| match &node.value {
        NodeValue::Text(text) if text.trim() == "auto" => None,
        _ => context.quantity::<Decibels>("level", node, Limit::Any),
    });
    let aim = Aim {
        from,
        to,
        level,
        tilt: fields
            .quantity(context, "tilt", Limit::Any)
            .unwrap_or(default.tilt),
        minimum_load: fields.quantity(context, "minimum_load", Limit::Positive),
        judged: (fields.take("judged"))
            .and_then(|node| judged(context, node))
            .unwrap_or_default(),
    };
    fields.finish(context);
    aim
}

fn judged(context: &mut Context<'_>, node: &Node) -> Option<Judged> {
    context.one_of(
        "judged",
        node,
        &[("axis", Judged::Axis), ("window", Judged::Window)],
        |other| format!("the sum cannot be judged on '{other}'"),
        "write judged = \"axis\", or \"window\" for the mean over the listening window",
    )
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

/// Drivers that are there to be tried in the place of another and play nowhere themselves.
fn spares(
    context: &mut Context<'_>,
    drivers: &Drivers,
    crossovers: &[Crossover],
    network: Option<&Network>,
) -> Vec<(String, String)> {
    let plays = |name: &str| {
        let fed = network.is_some_and(|network| network.driver_names().any(|fed| fed == name));
        let crossed = crossovers
            .iter()
            .any(|one| one.between.iter().any(|n| n == name));
        fed || crossed
    };
    let mut spares = Vec::new();
    for (name, driver) in &drivers.list {
        let Some(place) = (driver.as_ref()).and_then(|driver| driver.instead_of.as_ref()) else {
            continue;
        };
        let known = drivers
            .list
            .keys()
            .map(String::as_str)
            .filter(|n| n != name);
        if !known.clone().any(|known| known == place) {
            let others = known.clone().collect::<Vec<_>>().join(", ");
            let help = meant(place, known, format!("the others are {others}"));
            let message =
                format!("driver '{name}' is for the place of '{place}', which is no driver");
            context.problem(&drivers.span, message, help);
        } else if !plays(name) {
            spares.push((name.clone(), place.clone()));
        }
    }
    spares
}

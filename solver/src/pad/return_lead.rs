//! What lies in a driver's return lead, and drivers that no pad serves alone.

use netlist::network::{Network, NodeId};

use super::in_network::PadInNetwork;
use super::walk::{driver_ends, drivers, groups_at, move_nodes, touches};
use crate::synthesis::Pad;

/// The same circuit with what is in a driver's return lead moved before the driver: parts that carry one
/// current may change places; and the names of these parts. `None` when there is nothing to move, or when something else hangs between.
#[must_use]
pub fn return_lead_first(network: &Network, driver: &str) -> Option<(Network, Vec<String>)> {
    let (_, [a, b]) = driver_ends(network, driver)?;
    if [a, b].contains(&NodeId::GND) {
        return None;
    }
    [[a, b], [b, a]]
        .into_iter()
        .filter(|[_, back]| *back != NodeId::IN)
        .find_map(|[hot, back]| moved(network, hot, back))
}

/// The network with all between `hot` and `back`, and all between `back` and `gnd`, having changed places.
fn moved(network: &Network, hot: NodeId, back: NodeId) -> Option<(Network, Vec<String>)> {
    let ends = [hot, back, NodeId::GND, NodeId::IN];
    let (mut upper, mut lower): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    for group in groups_at(network, back, &ends, &[]) {
        let only = |end: NodeId| group.ends.contains(&end) && group.only([back, end]);
        if only(hot) && group.plain_or_drivers(network) {
            upper.extend(group.parts);
        } else if only(NodeId::GND) && group.plain(network) {
            lower.extend(group.parts);
        } else {
            return None;
        }
    }
    if lower.is_empty() {
        return None;
    }
    let mut out = network.clone();
    move_nodes(&mut out, |name, node| match node {
        at if at == hot && upper.contains(name) => back,
        at if at == back && upper.contains(name) => NodeId::GND,
        NodeId::GND if lower.contains(name) => hot,
        at => at,
    });
    Some((out, lower))
}

/// Name of another driver's part with which this driver is in series or shares a return lead, where no
/// L-pad of its own stands right before it: what attenuates there serves both.
#[must_use]
pub fn shared_with(network: &Network, place: &PadInNetwork) -> Option<String> {
    let own = matches!(place.pad, Some(Pad::LPad { .. })) && place.hot == place.driver_hot;
    let attenuated = place.pad.is_some() || !place.stays.is_empty();
    (!own && attenuated)
        .then(|| in_series(network, &place.driver_part))
        .flatten()
}

fn in_series(network: &Network, driver_part: &String) -> Option<String> {
    let all: Vec<String> = drivers(network).map(|(name, ..)| name.clone()).collect();
    for (name, _, ends) in drivers(network) {
        if ends.contains(&NodeId::GND) {
            continue;
        }
        for (from, to) in [(ends[0], ends[1]), (ends[1], ends[0])] {
            let walk_ends = [from, to, NodeId::GND, NodeId::IN];
            let mut met = vec![from];
            for group in groups_at(network, from, &walk_ends, &all) {
                met.extend(group.nodes);
            }
            // The side of the filter is no return.
            if from == NodeId::IN || (to != NodeId::IN && met.contains(&NodeId::IN)) {
                continue;
            }
            met.retain(|node| ![to, NodeId::GND, NodeId::IN].contains(node));
            for (other, _, _) in drivers(network) {
                let kind = &network.parts()[other].kind;
                let there = met.iter().any(|node| touches(kind, *node));
                if other == name || !there || touches(kind, to) {
                    continue;
                }
                if name == driver_part {
                    return Some(other.clone());
                }
                if other == driver_part {
                    return Some(name.clone());
                }
            }
        }
    }
    None
}

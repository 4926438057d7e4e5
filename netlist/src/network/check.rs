//! Structural checks: is this a network that can be solved, and is it what the builder meant?

use std::collections::BTreeSet;

use super::{Network, NetworkMistake, NodeId, Part, PartKind, Tap, couplings};
use crate::quantity::{Dimension, Quantity};

/// How far the parts of a `made_of` may be from the value that they make: rounding by hand.
const MADE_OF_SHARE: f64 = 0.01;

/// All structural mistakes of a network; `drivers` are the names that the project has.
///
/// A driver that the project has and the network does not feed is no mistake: one way may be tried
/// alone. Nor is a tap of an autoformer that leads nowhere.
#[must_use]
pub fn check(network: &Network, drivers: &[&str]) -> Vec<NetworkMistake> {
    if network.parts().is_empty() {
        return vec![NetworkMistake::NoParts];
    }
    let mut mistakes = Vec::new();
    for (name, part) in network.parts() {
        values(name, part, &mut mistakes);
        if let PartKind::Autoformer { between, taps, .. } = &part.kind {
            winding(network, name, *between, taps, &mut mistakes);
        }
    }
    driver_names(network, drivers, &mut mistakes);
    couplings::check(network, &mut mistakes);
    joints(network, &mut mistakes);
    mistakes
}

/// Values outside these bounds (Ω, H, F) are no parts, and could overflow where a network is solved.
pub const VALUE_RANGE_SI: std::ops::RangeInclusive<f64> = 1e-15..=1e15;

fn values(name: &str, part: &Part, mistakes: &mut Vec<NetworkMistake>) {
    let mut value = |field: &'static str, value: f64, may_be_0: bool| {
        let fits = value > 0.0 || (may_be_0 && value >= 0.0);
        let small = !may_be_0 && value < *VALUE_RANGE_SI.start();
        let beyond = fits && value.is_finite();
        let is = if !beyond {
            let must = if may_be_0 { "0 or more" } else { "above 0" };
            format!("{value}, but must be {must}")
        } else if small || value > *VALUE_RANGE_SI.end() {
            format!("{value:e} in SI units, which no part has")
        } else {
            return;
        };
        mistakes.push(NetworkMistake::Value {
            part: name.to_owned(),
            field,
            is,
            beyond,
        });
    };
    if let Some(si) = part.value_si() {
        value(part.kind.word(), si, false);
    }
    let ratings = [
        ("power", part.power.map(Quantity::si)),
        ("voltage", part.voltage.map(Quantity::si)),
        ("current", part.current.map(Quantity::si)),
    ];
    for (field, rating) in ratings {
        rating.into_iter().for_each(|si| value(field, si, false));
    }
    if let Some(loss_ohm) = part.loss_ohm() {
        let esr = matches!(part.kind, PartKind::Capacitor { .. });
        value(if esr { "esr" } else { "dcr" }, loss_ohm, true);
    }
    if let Some(tolerance) = part.tolerance {
        value("tolerance", tolerance.0, true);
    }
    let factor = match &part.kind {
        PartKind::Autoformer { coupling, .. } => Some(("coupling", *coupling)),
        PartKind::Coupling { factor, .. } => Some(("factor", *factor)),
        _ => None,
    };
    // Nearer to 1 the leakage is lost in rounding.
    let fine = |factor: &f64| (0.0..=1.0 - 1e-9).contains(factor);
    if let Some((field, factor)) = factor.filter(|(_, factor)| !fine(factor)) {
        let part = name.to_owned();
        mistakes.push(NetworkMistake::Factor {
            part,
            field,
            factor,
        });
    }
    made_of(name, part, mistakes);
}

fn made_of(name: &str, part: &Part, mistakes: &mut Vec<NetworkMistake>) {
    let (Some(sum), Some(value)) = (part.made_of_value(), part.value_si()) else {
        return;
    };
    // Written so that a sum that is no number is told as well.
    let agrees = (sum / value - 1.0).abs() <= MADE_OF_SHARE;
    if !agrees {
        let dimension = part.kind.dimension().unwrap_or(Dimension::Resistance);
        let show = |value: f64| dimension.show(value);
        mistakes.push(NetworkMistake::MadeOfDiffers {
            part: name.to_owned(),
            sum: show(sum),
            value: show(value),
        });
    }
}

fn winding(
    network: &Network,
    name: &str,
    between: [NodeId; 2],
    taps: &[Tap],
    mistakes: &mut Vec<NetworkMistake>,
) {
    let part = || name.to_owned();
    if taps.is_empty() {
        mistakes.push(NetworkMistake::NoTaps { part: part() });
    }
    for (index, tap) in taps.iter().enumerate() {
        let tap_name = || network.node_name(tap.node).to_owned();
        let ratio = tap.ratio;
        if !(ratio > 0.0 && ratio < 1.0) {
            mistakes.push(NetworkMistake::TapRatio {
                part: part(),
                tap: tap_name(),
                ratio,
            });
        }
        let before = &taps[..index];
        if between.contains(&tap.node) || before.iter().any(|other| other.node == tap.node) {
            mistakes.push(NetworkMistake::TapShorts {
                part: part(),
                tap: tap_name(),
            });
        }
        let alike = before
            .iter()
            .find(|other| other.ratio.total_cmp(&ratio).is_eq());
        if let Some(other) = alike {
            mistakes.push(NetworkMistake::TapsAlike {
                part: part(),
                first: network.node_name(other.node).to_owned(),
                tap: tap_name(),
                ratio,
            });
        }
    }
}

fn driver_names(network: &Network, drivers: &[&str], mistakes: &mut Vec<NetworkMistake>) {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    for (name, part) in network.parts() {
        let PartKind::Driver { driver, .. } = &part.kind else {
            continue;
        };
        if !drivers.contains(&driver.as_str()) {
            mistakes.push(NetworkMistake::UnknownDriver {
                part: name.clone(),
                driver: driver.clone(),
                known: drivers.iter().map(ToString::to_string).collect(),
            });
        }
        match seen.iter().find(|(one, _)| one == driver) {
            Some((_, first)) => mistakes.push(NetworkMistake::DriverTwice {
                part: name.clone(),
                first: (*first).to_owned(),
                driver: driver.clone(),
            }),
            None => seen.push((driver, name)),
        }
    }
}

fn joints(network: &Network, mistakes: &mut Vec<NetworkMistake>) {
    let at = network.parts_at_nodes();
    for (name, part) in network.parts() {
        if let Some([from, to]) = part.kind.between()
            && from == to
        {
            mistakes.push(NetworkMistake::BothEndsAtOneNode {
                part: name.clone(),
                node: network.node_name(from).to_owned(),
            });
        }
    }
    if at[NodeId::IN.0].is_empty() {
        mistakes.push(NetworkMistake::InUnused);
    }
    if at[NodeId::GND.0].is_empty() {
        mistakes.push(NetworkMistake::GndUnused);
    }
    let loose = loose_ends(network, &at, mistakes);
    let fed = network.reached(NodeId::IN, &[NodeId::GND]);
    let gnd = NodeId::GND.0;
    if !fed[gnd] && !at[NodeId::IN.0].is_empty() && !at[gnd].is_empty() && loose.is_empty() {
        mistakes.push(NetworkMistake::NoReturn);
    }
    // Without a way in, every part would be told to be cut off.
    if !at[NodeId::IN.0].is_empty() {
        cut_off(network, &at, fed, &loose, mistakes);
    }
}

/// Nodes where no current can flow.
fn loose_ends(
    network: &Network,
    at: &[Vec<usize>],
    mistakes: &mut Vec<NetworkMistake>,
) -> Vec<usize> {
    let mut loose: Vec<(usize, &str)> = Vec::new();
    for (node, parts) in at.iter().enumerate() {
        if node == NodeId::GND.0 || node == NodeId::IN.0 {
            continue;
        }
        let [only] = parts.as_slice() else {
            if parts.is_empty() {
                let node = network.node_name(NodeId(node)).to_owned();
                mistakes.push(NetworkMistake::UnusedNode { node });
            }
            continue;
        };
        // A tap may lead nowhere; a part in a ring with itself is told as such.
        let part = network.parts().get_index(*only);
        let end = part.filter(|(_, part)| {
            let ends = part.kind.between().unwrap_or_default();
            ends.contains(&NodeId(node)) && ends[0] != ends[1]
        });
        if let Some((name, _)) = end {
            loose.push((node, name));
        }
    }
    for &(node, part) in &loose {
        let name = network.node_name(NodeId(node));
        let in_other_case = network
            .node_names()
            .find(|other| *other != name && other.to_lowercase() == name.to_lowercase());
        // Two loose ends of two parts are likely one node in two spellings.
        let the_other = match loose.as_slice() {
            [one, two] if one.1 != two.1 => {
                let other = if one.0 == node { two.0 } else { one.0 };
                Some(network.node_name(NodeId(other)))
            }
            _ => None,
        };
        mistakes.push(NetworkMistake::LooseEnd {
            node: name.to_owned(),
            part: part.to_owned(),
            near: in_other_case.or(the_other).map(String::from),
        });
    }
    loose.into_iter().map(|(node, _)| node).collect()
}

/// Groups of nodes that the amplifier does not reach; one with a loose end has been told already.
fn cut_off(
    network: &Network,
    at: &[Vec<usize>],
    mut seen: Vec<bool>,
    loose: &[usize],
    mistakes: &mut Vec<NetworkMistake>,
) {
    seen[NodeId::GND.0] = true;
    for node in 0..at.len() {
        if seen[node] || at[node].is_empty() {
            continue;
        }
        let group = network.reached(NodeId(node), &[NodeId::GND]);
        let mut parts = BTreeSet::new();
        for (member, _) in group.iter().enumerate().filter(|(_, inside)| **inside) {
            seen[member] = true;
            if member != NodeId::GND.0 {
                parts.extend(at[member].iter().copied());
            }
        }
        if loose.iter().any(|node| group[*node]) {
            continue;
        }
        let mut drivers = 0;
        for part in &parts {
            let Some((name, part)) = network.parts().get_index(*part) else {
                continue;
            };
            if let PartKind::Driver { driver, .. } = &part.kind {
                drivers += 1;
                mistakes.push(NetworkMistake::DriverNotReached {
                    part: name.clone(),
                    driver: driver.clone(),
                });
            }
        }
        let first = parts
            .first()
            .and_then(|part| network.parts().get_index(*part));
        if let Some((name, _)) = first.filter(|_| drivers == 0) {
            mistakes.push(NetworkMistake::NotJoined {
                part: name.clone(),
                node: network.node_name(NodeId(node)).to_owned(),
            });
        }
    }
}

//! What every section of a network is for, from what leaving it out would do.

use netlist::network::{Network, NodeId, PartKind};

use super::assess::sounds;
use super::grow::block_of;
use super::job::Job;
use crate::goal::{Targets, figures};

/// Where a section lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// In the lead: what flows to the driver flows through it.
    InLead,
    /// From the lead to the return.
    Across,
}

/// A section and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Purpose {
    /// Its way.
    pub way: usize,
    /// Its parts, positions in the network.
    pub parts: Vec<usize>,
    /// Where it lies.
    pub lies: Lies,
    /// Whether it has a resistor, a coil, a capacitor.
    pub has: [bool; 3],
    /// Resonance of its coil and capacitor, Hz.
    pub resonance_hz: Option<f64>,
    /// Largest change of the sum without it, dB: what the sum would be less what it is.
    pub without_db: f64,
    /// Where that is, Hz.
    pub at_hz: f64,
    /// Rms deviation of the sum from the aim without it, dB.
    pub without_rms_db: f64,
}

/// The sections of `network`, way by way, from the amplifier on; `None` where it cannot be solved.
#[must_use]
pub fn purposes(job: &Job, network: &Network, targets: &Targets) -> Option<Vec<Purpose>> {
    let whole = sounds(job, network)?;
    let mut purposes = Vec::new();
    for (way, data) in job.ways.iter().enumerate() {
        let inside = block_of(network, &data.name);
        for (parts, lies) in sections(network, &inside) {
            let without = sounds(job, &left_out(network, &parts, lies))?;
            let judged = (0..job.grid.len()).filter(|&i| targets.judged[i]);
            let off = |i: usize| targets.sum_db(i, &without) - targets.sum_db(i, &whole);
            let worst = judged
                .clone()
                .max_by(|&a, &b| off(a).abs().total_cmp(&off(b).abs()))?;
            let level = job.aim.level.map(|level| level.0);
            let rms = figures(job.grid.f_hz(), &without, targets, level).rms_db;
            purposes.push(Purpose {
                way,
                has: kinds(network, &parts),
                resonance_hz: resonance_hz(network, &parts),
                parts,
                lies,
                without_db: off(worst),
                at_hz: job.grid.f_hz()[worst],
                without_rms_db: rms,
            });
        }
    }
    Some(purposes)
}

fn kinds(network: &Network, parts: &[usize]) -> [bool; 3] {
    let any = |is: fn(&PartKind) -> bool| parts.iter().any(|&part| is(&network.parts()[part].kind));
    [
        any(|kind| matches!(kind, PartKind::Resistor { .. })),
        any(|kind| matches!(kind, PartKind::Inductor { .. })),
        any(|kind| matches!(kind, PartKind::Capacitor { .. })),
    ]
}

/// Of one coil with one capacitor.
fn resonance_hz(network: &Network, parts: &[usize]) -> Option<f64> {
    let value = |is: fn(&PartKind) -> bool| {
        let mut all = parts
            .iter()
            .filter(|&&part| is(&network.parts()[part].kind));
        let first = all.next()?;
        all.next()
            .is_none()
            .then(|| network.parts()[*first].value_si())?
    };
    let l = value(|kind| matches!(kind, PartKind::Inductor { .. }))?;
    let c = value(|kind| matches!(kind, PartKind::Capacitor { .. }))?;
    Some(1.0 / (std::f64::consts::TAU * (l * c).sqrt()))
}

/// Parts that belong together: side by side between the same nodes, or in a chain with nothing else at the
/// nodes between them.
fn sections(network: &Network, inside: &[bool]) -> Vec<(Vec<usize>, Lies)> {
    let mut degrees = network.degrees();
    let mut groups: Vec<(Vec<usize>, [NodeId; 2])> = Vec::new();
    for (index, part) in network.parts().values().enumerate() {
        let two_ended = crate::stock::stock_kind(&part.kind).is_some();
        if let (true, true, Some(ends)) = (inside[index], two_ended, part.kind.between()) {
            groups.push((vec![index], ends));
        }
    }
    while let Some((i, j, ends)) = joinable(&groups, &degrees) {
        let (mut parts, old) = groups.remove(i);
        // Side by side two groups leave one fewer at each of their nodes.
        if same_ends(old, groups[j].1) {
            degrees[old[0].0] -= 1;
            degrees[old[1].0] -= 1;
        }
        groups[j].0.append(&mut parts);
        groups[j].0.sort_unstable();
        groups[j].1 = ends;
    }
    groups
        .into_iter()
        .map(|(parts, ends)| {
            let lies = if ends.contains(&NodeId::GND) {
                Lies::Across
            } else {
                Lies::InLead
            };
            (parts, lies)
        })
        .collect()
}

fn same_ends([a, b]: [NodeId; 2], [c, d]: [NodeId; 2]) -> bool {
    (a, b) == (c, d) || (a, b) == (d, c)
}

/// Two groups that act as one, the later first, and the ends of both together.
fn joinable(
    groups: &[(Vec<usize>, [NodeId; 2])],
    degrees: &[usize],
) -> Option<(usize, usize, [NodeId; 2])> {
    for i in 0..groups.len() {
        for j in 0..i {
            let ([a, b], [c, d]) = (groups[i].1, groups[j].1);
            if same_ends([a, b], [c, d]) && !(a == NodeId::GND || b == NodeId::GND) {
                return Some((i, j, [c, d]));
            }
            let grounded = |ends: [NodeId; 2]| ends.contains(&NodeId::GND);
            let between = [a, b]
                .into_iter()
                .find(|node| node.is_inner() && degrees[node.0] == 2 && [c, d].contains(node));
            // A chain counts as one section where it ends at the return.
            if let Some(node) = between
                && (grounded([a, b]) || grounded([c, d]))
            {
                let far = if a == node { b } else { a };
                let other = if c == node { d } else { c };
                return Some((i, j, [other, far]));
            }
        }
    }
    None
}

/// The network without a section: wires in the place of what lies in the lead, nothing where it lies across.
fn left_out(network: &Network, parts: &[usize], lies: Lies) -> Network {
    let mut without = network.clone();
    for &part in parts {
        let kind = &mut without.parts_mut()[part].kind;
        let Some(between) = kind.between() else {
            continue;
        };
        let ohm = match lies {
            Lies::InLead => 1e-6,
            Lies::Across => 1e9,
        };
        *kind = PartKind::Resistor {
            resistance: netlist::quantity::Ohms(ohm),
            between,
        };
    }
    without
}

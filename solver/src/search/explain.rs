//! What every section of a network is for, from what leaving it out would do.

use netlist::network::{Groups, Network, NodeId, PartKind};

use super::assess::sounds;
use super::grow::block_of;
use super::job::Job;
use crate::goal::{Targets, figures};
use crate::spectrum::Spectrum;

/// Where a section lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// In the lead: on a way from the amplifier to the driver.
    InLead,
    /// From the lead towards the return.
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
    /// Largest change of the sum without it, dB: what the sum would be less what it is. In the place of what lies in the
    /// lead there is a wire, or nothing where the driver is fed all the same and that does less.
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
        for (parts, ends) in sections(network, &inside) {
            let feed = DriverFeed::of(network, &inside, &parts, &data.name);
            let lies = match feed.holds(ends) {
                true => Lies::InLead,
                false => Lies::Across,
            };
            // What bridges others in the lead can be left open as well as be a wire: what does less is said.
            let ways_out: &[Leaving] = match (lies, feed.is_whole()) {
                (Lies::Across, _) => &[Leaving::Open],
                (Lies::InLead, false) => &[Leaving::Wire],
                (Lies::InLead, true) => &[Leaving::Wire, Leaving::Open],
            };
            let changes: Option<Vec<SumWithout>> = (ways_out.iter())
                .map(|&leaving| {
                    SumWithout::of(job, targets, &whole, &left_out(network, &parts, leaving))
                })
                .collect();
            let least = (changes?.into_iter()).min_by(|a, b| a.rms_db.total_cmp(&b.rms_db))?;
            purposes.push(Purpose {
                way,
                has: kinds(network, &parts),
                resonance_hz: resonance_hz(network, &parts),
                parts,
                lies,
                without_db: least.change_db,
                at_hz: least.at_hz,
                without_rms_db: least.rms_db,
            });
        }
    }
    Some(purposes)
}

/// The sum without a section.
struct SumWithout {
    /// Its largest change, dB, and where that is, Hz.
    change_db: f64,
    at_hz: f64,
    /// Its rms deviation from the aim, dB.
    rms_db: f64,
}

impl SumWithout {
    /// That of a network without it, against the sounds of the ways with it; `None` where it cannot be solved.
    fn of(job: &Job, targets: &Targets, whole: &[Spectrum], without: &Network) -> Option<Self> {
        let without = sounds(job, without)?;
        let off = |i: usize| targets.sum_db(i, &without) - targets.sum_db(i, whole);
        let worst = (0..job.grid.len())
            .filter(|&i| targets.judged[i])
            .max_by(|&a, &b| off(a).abs().total_cmp(&off(b).abs()))?;
        let level = job.aim.level.map(|level| level.0);
        Some(Self {
            change_db: off(worst),
            at_hz: job.grid.f_hz()[worst],
            rms_db: figures(job.grid.f_hz(), &without, targets, level).rms_db,
        })
    }
}

/// What joins `in` to the driver of a way but for one section, the return left out.
struct DriverFeed<'a> {
    network: &'a Network,
    /// The other parts of the way.
    others: Vec<&'a PartKind>,
    driver: NodeId,
}

impl<'a> DriverFeed<'a> {
    fn of(network: &'a Network, inside: &[bool], section: &[usize], driver: &str) -> Self {
        let mut others = Vec::new();
        let mut hot = NodeId::IN;
        for (number, part) in network.parts().values().enumerate() {
            match &part.kind {
                PartKind::Driver {
                    driver: name,
                    between: [a, b],
                    ..
                } if name == driver => hot = if *a == NodeId::GND { *b } else { *a },
                PartKind::Driver { .. } => {}
                kind if inside[number] && !section.contains(&number) => others.push(kind),
                _ => {}
            }
        }
        Self {
            network,
            others,
            driver: hot,
        }
    }

    /// Nodes that hang together when one of them is taken out.
    fn groups(&self, cut: NodeId) -> Groups {
        let mut groups = Groups::new(self.network.node_count());
        for kind in &self.others {
            let nodes = kind
                .nodes()
                .filter(|&node| node != NodeId::GND && node != cut);
            groups.unite(nodes.map(|node| node.0));
        }
        groups
    }

    /// Whether the driver is still fed without the section.
    fn is_whole(&self) -> bool {
        let mut groups = self.groups(NodeId::GND);
        groups.of(NodeId::IN.0) == groups.of(self.driver.0)
    }

    /// Whether a section between these ends lies on a way from `in` to the driver that passes no node twice: no single
    /// node parts both of its ends from both of these (Menger's theorem).
    fn holds(&self, ends: [NodeId; 2]) -> bool {
        if ends.contains(&NodeId::GND) {
            return false;
        }
        (1..self.network.node_count()).all(|cut| {
            let cut = NodeId(cut);
            let mut groups = self.groups(cut);
            let left = |nodes: [NodeId; 2]| nodes.into_iter().filter(move |&node| node != cut);
            left(ends).any(|end| {
                left([NodeId::IN, self.driver]).any(|to| groups.of(end.0) == groups.of(to.0))
            })
        })
    }
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
/// nodes between them; with the ends of each.
fn sections(network: &Network, inside: &[bool]) -> Vec<(Vec<usize>, [NodeId; 2])> {
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

/// How a section is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Leaving {
    /// Nothing in its place.
    Open,
    /// A wire in its place.
    Wire,
}

fn left_out(network: &Network, parts: &[usize], leaving: Leaving) -> Network {
    let mut without = network.clone();
    for &part in parts {
        let kind = &mut without.parts_mut()[part].kind;
        let Some(between) = kind.between() else {
            continue;
        };
        let ohm = match leaving {
            Leaving::Wire => 1e-6,
            Leaving::Open => 1e9,
        };
        *kind = PartKind::Resistor {
            resistance: netlist::quantity::Ohms(ohm),
            between,
        };
    }
    without
}

#[cfg(test)]
mod tests {
    use netlist::network::Part;
    use netlist::quantity::{Farads, Henries, Ohms};

    use super::*;

    /// A way whose driver is between `d` and `gnd`, of parts by name and ends.
    fn way(parts: &[(&str, &str, &str)]) -> Network {
        let mut network = Network::new();
        for (name, from, to) in parts {
            let between = [network.node(from), network.node(to)];
            let kind = match &name[..1] {
                "R" => PartKind::Resistor {
                    resistance: Ohms(8.0),
                    between,
                },
                "L" => PartKind::Inductor {
                    inductance: Henries(1e-3),
                    dcr: Ohms(0.3),
                    between,
                },
                _ => PartKind::Capacitor {
                    capacitance: Farads(1e-5),
                    esr: Ohms(0.0),
                    between,
                },
            };
            network.insert((*name).to_owned(), Part::new(kind));
        }
        let between = [network.node("d"), NodeId::GND];
        let driver = PartKind::Driver {
            driver: "mid".to_owned(),
            between,
            inverted: false,
        };
        network.insert("MID".to_owned(), Part::new(driver));
        network
    }

    /// Every section by the names of its parts: whether it lies in the lead, and whether the driver is fed without it.
    fn told(parts: &[(&str, &str, &str)]) -> Vec<(String, bool, bool)> {
        let network = way(parts);
        let inside = block_of(&network, "mid");
        let names: Vec<&String> = network.parts().keys().collect();
        (sections(&network, &inside).into_iter())
            .map(|(parts, ends)| {
                let feed = DriverFeed::of(&network, &inside, &parts, "mid");
                let named: Vec<&str> = parts.iter().map(|&part| names[part].as_str()).collect();
                (named.join("+"), feed.holds(ends), feed.is_whole())
            })
            .collect()
    }

    #[test]
    fn what_hangs_behind_the_driver_lies_across() {
        // A ladder, then a damped trap behind the driver that has a node of its own.
        let found = told(&[
            ("L1", "in", "a"),
            ("C1", "a", "gnd"),
            ("R1", "a", "d"),
            ("R2", "d", "x"),
            ("L2", "x", "y"),
            ("C2", "x", "y"),
            ("R3", "y", "gnd"),
            ("C3", "x", "gnd"),
        ]);
        let in_lead: Vec<&str> = (found.iter())
            .filter(|(_, in_lead, _)| *in_lead)
            .map(|(names, ..)| names.as_str())
            .collect();
        assert_eq!(in_lead, ["L1", "R1"]);
        assert!(
            found.iter().all(|(_, in_lead, fed)| *in_lead != *fed),
            "{found:?}"
        );
    }

    #[test]
    fn a_bridge_lies_in_the_lead_and_the_driver_is_fed_without_it() {
        let found = told(&[
            ("L1", "in", "a"),
            ("R1", "a", "d"),
            ("C1", "a", "gnd"),
            ("C2", "in", "d"),
        ]);
        let of = |name: &str| found.iter().find(|(names, ..)| names == name).unwrap();
        for name in ["L1", "R1", "C2"] {
            assert!(of(name).1 && of(name).2, "{found:?}");
        }
        assert!(!of("C1").1, "{found:?}");
    }
}

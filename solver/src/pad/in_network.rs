//! The pad of a driver in a network, and the network with another pad in its place.

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::quantity::Ohms;

use crate::synthesis::Pad;

/// Winding of an autoformer whose data nobody gave: 100 mH, 0.4 Ω, coupled by 0.999 (common practice).
const WINDING_H: f64 = 0.1;
const WINDING_OHM: f64 = 0.4;
const WINDING_COUPLING: f64 = 0.999;

/// Where a driver hangs in a network, and the pad in front of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PadInNetwork {
    /// Name of the driver's part.
    pub driver_part: String,
    /// Position of the driver among the drivers of the network.
    pub driver_number: usize,
    /// The pad; `None` where the driver hangs straight on the filter.
    pub pad: Option<Pad>,
    /// Names of the pad's parts, from the filter to the driver.
    pub parts: Vec<String>,
    /// Parts across the driver, besides the pad: an impedance correction.
    pub across: Vec<String>,
    /// Parts across the series resistor: the equalisation of a horn.
    pub bridge: Vec<String>,
    /// Parts from the driver's terminal to anywhere else: what the pad's formulas leave out.
    pub beside: Vec<String>,
    /// The filter's output.
    pub(super) top: NodeId,
    /// The driver's terminal.
    pub(super) hot: NodeId,
    /// The other terminal.
    pub(super) back: NodeId,
}

/// Looks for the pad of the first part that is this driver; `None` when the network does not feed it.
///
/// A pad is what lies at the driver's terminal: one resistor on to the filter, with or without one
/// across the driver (L-pad, series) or across the filter's output (shunt-series); or the tap of an
/// autoformer whose bottom is the driver's other terminal.
#[must_use]
pub fn find_pad(network: &Network, driver: &str) -> Option<PadInNetwork> {
    let mut number = 0;
    let mut found = None;
    for (name, part) in network.parts() {
        if let PartKind::Driver {
            driver: of,
            between,
            ..
        } = &part.kind
        {
            if of == driver {
                found = Some((name.clone(), *between));
                break;
            }
            number += 1;
        }
    }
    let (driver_part, [a, b]) = found?;
    let (hot, back) = if a == NodeId::GND { (b, a) } else { (a, b) };
    let mut place = PadInNetwork {
        driver_part,
        driver_number: number,
        pad: None,
        parts: Vec::new(),
        across: Vec::new(),
        bridge: Vec::new(),
        beside: Vec::new(),
        top: hot,
        hot,
        back,
    };
    place.look(network);
    Some(place)
}

impl PadInNetwork {
    fn look(&mut self, network: &Network) {
        let (hot, back) = (self.hot, self.back);
        let at_hot: Vec<(&String, &Part)> = (network.parts().iter())
            .filter(|(name, part)| **name != self.driver_part && touches(&part.kind, hot))
            .collect();
        // What the terminal and the amplifier share is no pad.
        if hot != NodeId::IN {
            self.resistors(network, &at_hot, back);
            if self.pad.is_none() {
                self.autoformer(network, &at_hot);
            }
        }
        // Straight on the filter, the filter's own parts are at the terminal.
        if self.pad.is_some() {
            self.neighbours(network);
        }
    }

    fn resistors(&mut self, network: &Network, at_hot: &[(&String, &Part)], back: NodeId) {
        let hot = self.hot;
        let mut series = Vec::new();
        let mut across = Vec::new();
        for (name, part) in at_hot {
            let PartKind::Resistor {
                resistance,
                between,
            } = &part.kind
            else {
                continue;
            };
            let other = between[usize::from(between[0] == hot)];
            if other == back {
                across.push(((*name).clone(), resistance.0));
            } else if other != NodeId::GND {
                series.push(((*name).clone(), resistance.0, other));
            }
        }
        let [(series_name, series_ohm, top)] = series.as_slice() else {
            return;
        };
        let series_ohm = *series_ohm;
        match across.as_slice() {
            [(shunt_name, shunt_ohm)] => {
                self.parts = vec![series_name.clone(), shunt_name.clone()];
                self.pad = Some(Pad::LPad {
                    series_ohm,
                    shunt_ohm: *shunt_ohm,
                });
            }
            [] => match resistor_between(network, *top, back) {
                Some((shunt_name, shunt_ohm)) => {
                    self.parts = vec![shunt_name, series_name.clone()];
                    self.pad = Some(Pad::ShuntSeries {
                        shunt_ohm,
                        series_ohm,
                    });
                }
                None => {
                    self.parts = vec![series_name.clone()];
                    self.pad = Some(Pad::Series { series_ohm });
                }
            },
            _ => return,
        }
        self.top = *top;
    }

    fn autoformer(&mut self, network: &Network, at_hot: &[(&String, &Part)]) {
        for (name, part) in at_hot {
            let PartKind::Autoformer { between, taps, .. } = &part.kind else {
                continue;
            };
            let tap = taps.iter().find(|tap| tap.node == self.hot);
            let (Some(tap), true) = (tap, between[1] == self.back) else {
                continue;
            };
            let across = resistor_between(network, between[0], self.back);
            self.parts = vec![(*name).clone()];
            self.parts
                .extend(across.iter().map(|(name, _)| name.clone()));
            self.pad = Some(Pad::Autoformer {
                ratio: tap.ratio,
                shunt_ohm: across.map(|(_, ohm)| ohm),
            });
            self.top = between[0];
            return;
        }
    }

    /// The network with another pad, or with none, in the place of the one that is there. Values of
    /// `pad` must be valid.
    ///
    /// Parts keep their names where there is one for the same purpose. A new autoformer has a winding of
    /// 100 mH and 0.4 Ω, coupled by 0.999.
    #[must_use]
    pub fn with_pad(&self, network: &Network, pad: Option<Pad>) -> Network {
        let mut out = Network::new();
        let names: Vec<String> = network.node_names().map(str::to_owned).collect();
        let fresh = |wanted: &str, taken: &dyn Fn(&str) -> bool| {
            let mut name = wanted.to_owned();
            while taken(&name) {
                name.push('\'');
            }
            name
        };
        let driver_node = if self.pad.is_some() {
            names[self.hot.0].clone()
        } else {
            fresh(&format!("{} pad", self.driver_part), &|name| {
                names.iter().any(|node| node == name)
            })
        };
        let top_name = &names[self.top.0];
        // Without a pad the driver hangs on the filter, with all that is beside it.
        let hot_name = if pad.is_some() {
            driver_node.as_str()
        } else {
            top_name
        };
        let mut gone: Vec<String> = Vec::new();
        for (name, part) in network.parts() {
            if self.parts.contains(name) {
                continue;
            }
            let is_driver = *name == self.driver_part;
            if let (true, Some(pad)) = (is_driver, pad) {
                let part_name = |of: &str| {
                    fresh(of, &|name| {
                        network.parts().contains_key(name) && !self.parts.iter().any(|p| p == name)
                    })
                };
                let back = &names[self.back.0];
                for (name, kind) in self.pad_parts(network, pad, &mut out, top_name, hot_name, back)
                {
                    out.insert(part_name(&name), Part::new(kind));
                }
            }
            // Where there was no pad, only the driver moves to the new node.
            let moves = self.pad.is_some() || is_driver;
            let mut part = part.clone();
            for node in nodes_mut(&mut part.kind) {
                let name = if *node == self.hot && moves {
                    hot_name
                } else {
                    &names[node.0]
                };
                *node = out.node(name);
            }
            // What bridged the pad is shorted without it.
            let shorted = part.kind.between().is_some_and(|[from, to]| from == to);
            if shorted || couples_one_of(&part.kind, &gone) {
                gone.push(name.clone());
                continue;
            }
            out.insert(name.clone(), part);
        }
        out
    }

    fn pad_parts(
        &self,
        network: &Network,
        pad: Pad,
        out: &mut Network,
        top: &str,
        hot: &str,
        back: &str,
    ) -> Vec<(String, PartKind)> {
        let mut resistor = |name: String, ohm: f64, from: &str, to: &str| {
            let between = [out.node(from), out.node(to)];
            let resistance = Ohms(ohm);
            (
                name,
                PartKind::Resistor {
                    resistance,
                    between,
                },
            )
        };
        let [series_name, shunt_name, winding_name] = self.part_names();
        match pad {
            Pad::LPad {
                series_ohm,
                shunt_ohm,
            } => vec![
                resistor(series_name, series_ohm, top, hot),
                resistor(shunt_name, shunt_ohm, hot, back),
            ],
            Pad::Series { series_ohm } => vec![resistor(series_name, series_ohm, top, hot)],
            Pad::ShuntSeries {
                shunt_ohm,
                series_ohm,
            } => vec![
                resistor(shunt_name, shunt_ohm, top, back),
                resistor(series_name, series_ohm, top, hot),
            ],
            Pad::Autoformer { ratio, shunt_ohm } => {
                let mut parts: Vec<_> = (shunt_ohm.iter())
                    .map(|ohm| resistor(shunt_name.clone(), *ohm, top, back))
                    .collect();
                let between = [out.node(top), out.node(back)];
                let winding = self.winding(network, out.node(hot), ratio, between);
                parts.push((winding_name, winding));
                parts
            }
        }
    }

    /// The winding that is there with its tap moved, or the usual one.
    fn winding(
        &self,
        network: &Network,
        node: NodeId,
        ratio: f64,
        between: [NodeId; 2],
    ) -> PartKind {
        // The whole winding is no tap: a hair below it is as good.
        let ratio = ratio.min(1.0 - 1e-6);
        let there = self.parts.iter().find_map(|name| {
            let part = network.parts().get(name)?;
            match &part.kind {
                PartKind::Autoformer {
                    inductance,
                    dcr,
                    coupling,
                    ..
                } => Some((*inductance, *dcr, *coupling)),
                _ => None,
            }
        });
        let usual = (
            netlist::quantity::Henries(WINDING_H),
            Ohms(WINDING_OHM),
            WINDING_COUPLING,
        );
        let (inductance, dcr, coupling) = there.unwrap_or(usual);
        PartKind::Autoformer {
            inductance,
            dcr,
            coupling,
            between,
            taps: vec![Tap { node, ratio }],
        }
    }

    /// Names for a series resistor, a shunt resistor and a winding.
    fn part_names(&self) -> [String; 3] {
        let own = |wanted: &str, place: Option<usize>| {
            let there = place.and_then(|place| self.parts.get(place)).cloned();
            there.unwrap_or_else(|| format!("{} {wanted}", self.driver_part))
        };
        let places = match self.pad {
            Some(Pad::LPad { .. } | Pad::Series { .. }) => [Some(0), Some(1), None],
            Some(Pad::ShuntSeries { .. }) => [Some(1), Some(0), None],
            Some(Pad::Autoformer { .. }) => [None, Some(1), Some(0)],
            None => [None; 3],
        };
        [
            own("series", places[0]),
            own("shunt", places[1]),
            own("winding", places[2]),
        ]
    }
}

pub(super) fn couples_one_of(kind: &PartKind, coils: &[String]) -> bool {
    match kind {
        PartKind::Coupling { inductors, .. } => inductors.iter().any(|coil| coils.contains(coil)),
        _ => false,
    }
}

pub(super) fn touches(kind: &PartKind, node: NodeId) -> bool {
    let taps = match kind {
        PartKind::Autoformer { taps, .. } => taps.as_slice(),
        _ => &[],
    };
    let ends = kind.between().is_some_and(|ends| ends.contains(&node));
    ends || taps.iter().any(|tap| tap.node == node)
}

/// The only resistor between two nodes.
fn resistor_between(network: &Network, a: NodeId, b: NodeId) -> Option<(String, f64)> {
    let mut found = network.parts().iter().filter_map(|(name, part)| {
        let PartKind::Resistor {
            resistance,
            between,
        } = &part.kind
        else {
            return None;
        };
        let fits = *between == [a, b] || *between == [b, a];
        fits.then(|| (name.clone(), resistance.0))
    });
    match (found.next(), found.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}

pub(super) fn nodes(kind: &PartKind) -> Vec<NodeId> {
    let mut kind = kind.clone();
    nodes_mut(&mut kind).into_iter().map(|node| *node).collect()
}

pub(super) fn nodes_mut(kind: &mut PartKind) -> Vec<&mut NodeId> {
    match kind {
        PartKind::Resistor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Driver { between, .. } => between.iter_mut().collect(),
        PartKind::Autoformer { between, taps, .. } => {
            let ends = between.iter_mut();
            ends.chain(taps.iter_mut().map(|tap| &mut tap.node))
                .collect()
        }
        PartKind::Coupling { .. } => Vec::new(),
    }
}

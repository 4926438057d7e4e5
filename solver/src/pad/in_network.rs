//! The place of a driver's pad in a network, and the network with another pad there.

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::quantity::{Henries, Ohms};

use super::walk::{couples_one_of, rewired};
use crate::synthesis::{AutoformerWinding, Pad, whole_is_no_tap};

/// Where a driver hangs in a network, and the pad in front of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PadInNetwork {
    /// Name of the driver's part.
    pub driver_part: String,
    /// Position of the driver among the drivers of the network.
    pub driver_number: usize,
    /// The pad, several resistors that act as one taken together; `None` where none was recognised: a
    /// new one then goes right before the driver.
    pub pad: Option<Pad>,
    /// Names of the pad's parts, from the filter to the driver.
    pub parts: Vec<String>,
    /// Of these the ones in series, each with its share of the power.
    pub series: Vec<(String, f64)>,
    /// Of these the shunts, each with its share of the power.
    pub shunt: Vec<(String, f64)>,
    /// The autoformer that is the pad, or the one that a new pad would take: its data.
    pub winding: AutoformerWinding,
    /// Parts across the driver, besides the pad: an impedance correction.
    pub across: Vec<String>,
    /// Other drivers across the driver, with what leads to them.
    pub across_drivers: Vec<String>,
    /// Parts across the series resistor: the equalisation of a horn.
    pub bridge: Vec<String>,
    /// Parts from the driver's terminal to anywhere else: what the pad's formulas leave out.
    pub beside: Vec<String>,
    /// Parts between the pad and the driver, where the pad stands before the filter or a part of it.
    pub behind: Vec<String>,
    /// Resistors and autoformers of this way that are not the pad, and stay whatever the pad becomes.
    pub stays: Vec<String>,
    /// Whether what is behind the pad is the rest of a larger pad, such as the third resistor of a T: it
    /// counts in the attenuation.
    pub tail: bool,
    /// The pad's input: the filter's output.
    pub(super) top: NodeId,
    /// The pad's output: the driver's terminal, or the filter's input behind the pad.
    pub(super) hot: NodeId,
    /// The other terminal.
    pub(super) back: NodeId,
    /// The driver's terminal.
    pub(super) driver_hot: NodeId,
}

impl PadInNetwork {
    /// Whether the pad stands before the filter or before a part of it, not right before the driver.
    #[must_use]
    pub fn ahead_of_filter(&self) -> bool {
        self.hot != self.driver_hot && !self.tail
    }

    /// Whether the pad stands right at the amplifier.
    #[must_use]
    pub fn at_amplifier(&self) -> bool {
        self.pad.is_some() && self.top == NodeId::IN
    }

    /// Name of the autoformer that is the pad.
    #[must_use]
    pub fn winding_part(&self) -> Option<&String> {
        (self.parts.first()).filter(|_| matches!(self.pad, Some(Pad::Autoformer { .. })))
    }

    /// With data for the winding of a new autoformer; one that is there keeps its own.
    #[must_use]
    pub fn wound(mut self, winding: AutoformerWinding) -> Self {
        if self.winding_part().is_none() {
            self.winding = winding;
        }
        self
    }

    /// The network with another pad, or with none, in the place of the one that is there. Values of
    /// `pad` must be valid.
    ///
    /// Parts keep their names where there is one for the same purpose. Several resistors that acted as one
    /// become one. A new autoformer has the data of [`PadInNetwork::winding`].
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
                for (name, kind) in self.pad_parts(pad, &mut out, top_name, hot_name, back) {
                    out.insert(part_name(&name), Part::new(kind));
                }
            }
            // Where there was no pad, only the driver moves to the new node.
            let moves = self.pad.is_some() || is_driver;
            let part = rewired(part, |node| match node == self.hot && moves {
                true => out.node(hot_name),
                false => out.node(&names[node.0]),
            });
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
        pad: Pad,
        out: &mut Network,
        top: &str,
        hot: &str,
        back: &str,
    ) -> Vec<(String, PartKind)> {
        let [series_name, shunt_name, winding_name] = self.part_names();
        let ends = [top, hot, back].map(|name| out.node(name));
        let [top, hot, back] = ends;
        let resistor = |name: &str, ohm: Option<f64>, between: [NodeId; 2]| {
            let resistance = Ohms(ohm?);
            let kind = PartKind::Resistor {
                resistance,
                between,
            };
            Some((name.to_owned(), kind))
        };
        let series = resistor(&series_name, pad.series_ohm(), [top, hot]);
        let at_output = matches!(pad, Pad::LPad { .. });
        let shunted = if at_output { hot } else { top };
        let shunt = resistor(&shunt_name, pad.shunt_ohm(), [shunted, back]);
        let winding =
            (pad.ratio()).map(|ratio| (winding_name, self.winding(out, hot, ratio, [top, back])));
        let in_order = match at_output {
            true => [series, shunt],
            false => [shunt, series],
        };
        in_order.into_iter().flatten().chain(winding).collect()
    }

    /// The winding with its tap moved; other taps lead nowhere.
    fn winding(
        &self,
        out: &mut Network,
        hot: NodeId,
        ratio: f64,
        between: [NodeId; 2],
    ) -> PartKind {
        let ratio = whole_is_no_tap(ratio);
        let node = hot;
        let mut taps = vec![Tap { node, ratio }];
        for other in &self.winding.taps {
            if other.total_cmp(&ratio).is_ne() {
                let name = format!("{} tap {other}", self.driver_part);
                let node = out.node(&name);
                taps.push(Tap {
                    node,
                    ratio: *other,
                });
            }
        }
        PartKind::Autoformer {
            inductance: Henries(self.winding.inductance_h),
            dcr: Ohms(self.winding.dcr_ohm),
            coupling: self.winding.coupling,
            between,
            taps,
        }
    }

    /// Names for a series resistor, a shunt resistor and a winding.
    fn part_names(&self) -> [String; 3] {
        let own = |wanted: &str, there: Option<&String>| {
            let there = there.cloned();
            there.unwrap_or_else(|| format!("{} {wanted}", self.driver_part))
        };
        let first = |of: &'_ [(String, f64)]| of.first().map(|(name, _)| name.clone());
        [
            own("series", first(&self.series).as_ref()),
            own("shunt", first(&self.shunt).as_ref()),
            own("winding", self.winding_part()),
        ]
    }

    /// The network with the driver straight on the pad's input: without its pad, what is across or bridges
    /// it, other drivers among that, and what is behind it.
    #[must_use]
    pub fn without_pad(&self, network: &Network) -> Network {
        let removed = [
            &*self.parts,
            &self.across,
            &self.across_drivers,
            &self.bridge,
            &self.behind,
        ]
        .concat();
        let names: Vec<String> = network.node_names().map(str::to_owned).collect();
        let mut out = Network::new();
        for (name, part) in network.parts() {
            if removed.contains(name) || couples_one_of(&part.kind, &removed) {
                continue;
            }
            let is_driver = *name == self.driver_part;
            let part = rewired(part, |node| {
                let to_top = node == self.hot || (is_driver && node == self.driver_hot);
                out.node(&names[if to_top { self.top } else { node }.0])
            });
            out.insert(name.clone(), part);
        }
        out
    }
}

//! The place of a driver's pad in a network, and the network with another pad there.

use netlist::network::{Network, NodeId, Part, PartKind, Tap, primed_name};
use netlist::quantity::{Henries, Ohms};

use super::walk::{move_nodes, part_of, take_out};
use crate::synthesis::{AutoformerWinding, Pad, whole_is_no_tap};

/// Where a driver hangs in a network, and the pad in front of it.
#[derive(Debug, Clone, PartialEq, Default)]
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
        let mut out = network.clone();
        take_out(&mut out, |name, _| self.parts.contains(name));
        let new_node = format!("{} pad", self.driver_part);
        let hot = match (pad, self.pad) {
            // Without a pad the driver hangs on the filter, with all that is beside it.
            (None, _) => self.top,
            (_, Some(_)) => self.hot,
            (_, None) => out.node(&primed_name(&new_node, |name| {
                network.find_node(name).is_some()
            })),
        };
        // Where there was no pad, only the driver moves to the new node.
        let moves = |name: &str| self.pad.is_some() || name == self.driver_part;
        move_nodes(&mut out, |name, node| {
            match node == self.hot && moves(name) {
                true => hot,
                false => node,
            }
        });
        let at = (out.parts().get_index_of(&self.driver_part)).expect("the driver is in it");
        let parts = pad.map_or_else(Vec::new, |pad| self.pad_parts(pad, &mut out, hot));
        for (number, (name, kind)) in parts.into_iter().enumerate() {
            let name = primed_name(&name, |name| out.parts().contains_key(name));
            (out.parts_mut()).shift_insert(at + number, name, Part::new(kind));
        }
        // What bridged the pad is shorted without it.
        take_out(&mut out, |_, part| {
            (part.kind.between()).is_some_and(|[from, to]| from == to)
        });
        out.without_bare_nodes()
    }

    /// The parts of a pad from the filter to `hot`, with names that may be taken.
    fn pad_parts(&self, pad: Pad, out: &mut Network, hot: NodeId) -> Vec<(String, PartKind)> {
        let named = |what: &str, there: Option<&String>| match there {
            Some(name) => name.clone(),
            None => format!("{} {what}", self.driver_part),
        };
        let resistor = |what: &str, there: &[(String, f64)], ohm: f64, between: [NodeId; 2]| {
            let kind = PartKind::Resistor {
                resistance: Ohms(ohm),
                between,
            };
            (named(what, there.first().map(|(name, _)| name)), kind)
        };
        let (top, back) = (self.top, self.back);
        let at_output = matches!(pad, Pad::LPad { .. });
        let series = pad.series_ohm();
        let series = series.map(|ohm| resistor("series", &self.series, ohm, [top, hot]));
        let shunted = if at_output { hot } else { top };
        let shunt = pad.shunt_ohm();
        let shunt = shunt.map(|ohm| resistor("shunt", &self.shunt, ohm, [shunted, back]));
        let winding = pad.ratio().map(|ratio| {
            let name = named("winding", self.winding_part());
            (name, self.winding(out, hot, ratio))
        });
        match at_output {
            true => [series, shunt, winding],
            false => [shunt, series, winding],
        }
        .into_iter()
        .flatten()
        .collect()
    }

    /// The winding with its tap moved; other taps lead nowhere.
    fn winding(&self, out: &mut Network, hot: NodeId, ratio: f64) -> PartKind {
        let ratio = whole_is_no_tap(ratio);
        let others = (self.winding.taps.iter()).filter(|other| other.total_cmp(&ratio).is_ne());
        let others = others.map(|other| Tap {
            node: out.node(&format!("{} tap {other}", self.driver_part)),
            ratio: *other,
        });
        PartKind::Autoformer {
            inductance: Henries(self.winding.inductance_h),
            dcr: Ohms(self.winding.dcr_ohm),
            coupling: self.winding.coupling,
            between: [self.top, self.back],
            taps: std::iter::once(Tap { node: hot, ratio })
                .chain(others)
                .collect(),
        }
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
        ];
        let goes = |name: &String| removed.iter().any(|of| of.contains(name));
        part_of(
            network,
            |name, _| goes(name),
            |name, node| {
                let own = *name == self.driver_part && node == self.driver_hot;
                match own || node == self.hot {
                    true => self.top,
                    false => node,
                }
            },
        )
    }
}

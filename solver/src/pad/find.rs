//! Finds the pad of a driver in a network.
//!
//! Right before the driver a pad is one resistor on to the filter, with or without one across the driver
//! (L-pad, series) or across the filter's output (shunt-series); or the tap of an autoformer. Resistors
//! that lie side by side or one after the other with nothing between act as one. What lies across the
//! driver, such as an impedance correction, is behind the pad; what bridges the series resistor, such as
//! the capacitor of a horn's equalisation, belongs to it. Another driver across the driver is behind the
//! pad too. Where resistors alone stand before such a pad, as in a T, the first ones are the pad, and those
//! after them its tail, which counts in the attenuation.
//!
//! Elsewhere in the way a pad is a resistor, or the tap of an autoformer, through which all goes that the
//! driver gets, and behind which nothing but this driver hangs. One only is taken for the pad.

use netlist::network::{Network, NodeId, PartKind};

use super::in_network::PadInNetwork;
use super::walk::{
    JoinedResistors, at, conducts, driver_ends, drivers, groups_at, is_driver, joined_resistors,
    reach, touches,
};
use crate::synthesis::{AutoformerWinding, Pad, PadKind};

/// Looks for the pad of the first part that is this driver; `None` when the network does not feed it.
#[must_use]
pub fn find_pad(network: &Network, driver: &str) -> Option<PadInNetwork> {
    let (driver_part, [driver_hot, back]) = driver_ends(network, driver)?;
    let driver_number = drivers(network).position(|(part, ..)| part == driver_part)?;
    let way = PadWay {
        network,
        driver_part,
        driver_number,
        driver_hot,
        back,
        joined: joined_resistors(network, &[driver_hot, back, NodeId::GND, NodeId::IN]),
    };
    // What the terminal and the amplifier share is no pad.
    if driver_hot == NodeId::IN {
        return Some(way.place(driver_hot, driver_hot));
    }
    let found = (way.at_driver())
        .or_else(|| way.tap_at_driver())
        .or_else(|| way.elsewhere());
    let found = found.and_then(|found| way.whole(found));
    let mut place = found.unwrap_or_else(|| way.place(driver_hot, driver_hot));
    // Straight on the filter, the filter's own parts are at the terminal.
    if place.pad.is_some() && place.hot == driver_hot {
        way.neighbours(&mut place);
    }
    place.stays = way.others(&place);
    Some(place)
}

/// The way of a driver in a network.
struct PadWay<'a> {
    network: &'a Network,
    driver_part: &'a String,
    driver_number: usize,
    driver_hot: NodeId,
    back: NodeId,
    joined: Vec<JoinedResistors>,
}

impl PadWay<'_> {
    /// Where walks end.
    fn ends(&self) -> [NodeId; 3] {
        [NodeId::GND, NodeId::IN, self.back]
    }

    /// A place between two nodes where no pad is recognised yet.
    fn place(&self, top: NodeId, hot: NodeId) -> PadInNetwork {
        PadInNetwork {
            driver_part: self.driver_part.clone(),
            driver_number: self.driver_number,
            top,
            hot,
            back: self.back,
            driver_hot: self.driver_hot,
            ..PadInNetwork::default()
        }
    }

    /// A pad of resistors whose series resistor leads from `top` to `hot`: with a shunt at its output, or one at its input,
    /// or none. `None` where it is a part of the filter, or another driver hangs behind it.
    fn of_resistors(
        &self,
        series: &JoinedResistors,
        [top, hot]: [NodeId; 2],
    ) -> Option<PadInNetwork> {
        let at_driver = hot == self.driver_hot;
        if top == self.back || [NodeId::GND, self.driver_hot].contains(&top) {
            return None;
        }
        let bridge = self.bridge(series)?;
        let mut without: Vec<String> = series.names().cloned().collect();
        without.extend_from_slice(&bridge);
        let at_output = self.joined_between(hot, self.back);
        // The amplifier's terminal is all ways': before the filter a resistor there is no part of this pad.
        let at_input =
            (self.joined_between(top, self.back)).filter(|_| at_driver || top != NodeId::IN);
        let behind = match at_driver {
            // A lone resistor that something else goes round is a part of the filter.
            true => (at_output.is_some() || self.cuts(&without, top)).then(Vec::new),
            false => self.behind(&without, top, hot),
        };
        let shunt = at_output.or(at_input);
        let mut parts: Vec<String> = series.names().cloned().collect();
        let (kind, at) = match at_output {
            Some(_) => (PadKind::LPad, parts.len()),
            None => (PadKind::ShuntSeries, 0),
        };
        parts.splice(
            at..at,
            shunt.into_iter().flat_map(JoinedResistors::names).cloned(),
        );
        let mut behind = behind?;
        behind.retain(|name| !parts.contains(name));
        Some(PadInNetwork {
            pad: Some(Pad::of(kind, series.ohm, shunt.map(|shunt| shunt.ohm))),
            parts,
            series: series.shares.clone(),
            shunt: shunt.map_or_else(Vec::new, |shunt| shunt.shares.clone()),
            bridge,
            behind,
            ..self.place(top, hot)
        })
    }

    fn own(&self) -> Vec<String> {
        vec![self.driver_part.clone()]
    }

    /// What the driver hangs together with when some parts are taken out.
    fn far(&self, without: &[String]) -> super::walk::Reached {
        reach(self.network, self.own(), &self.ends(), without)
    }

    /// Whether without these parts nothing reaches the driver from `top`.
    fn cuts(&self, without: &[String], top: NodeId) -> bool {
        let far = self.far(without);
        !far.nodes.contains(&NodeId::IN) && !far.nodes.contains(&top)
    }

    /// Groups of plain parts that lie between two nodes and nowhere else.
    fn between(&self, a: NodeId, b: NodeId, without: &[String]) -> Vec<Vec<String>> {
        let [gnd, amplifier, back] = self.ends();
        let ends = [a, b, gnd, amplifier, back];
        (groups_at(self.network, a, &ends, without).into_iter())
            .filter(|group| group.only([a, b]) && group.ends.contains(&b))
            .filter(|group| group.plain(self.network))
            .map(|group| group.parts)
            .collect()
    }

    fn joined_between(&self, a: NodeId, b: NodeId) -> Option<&JoinedResistors> {
        self.joined.iter().find(|r| r.beyond(a) == Some(b))
    }

    /// What bridges a series resistor; `None` when that lets a direct current past it, so that it is no pad
    /// but an equaliser or a trap.
    fn bridge(&self, series: &JoinedResistors) -> Option<Vec<String>> {
        let [a, b] = series.ends;
        let mut without: Vec<String> = series.names().cloned().collect();
        without.extend(self.own());
        let groups = self.between(a, b, &without);
        let passed = groups
            .iter()
            .any(|group| conducts(self.network, group, a, b));
        (!passed).then(|| groups.into_iter().flatten().collect())
    }

    /// A pad of resistors right before the driver.
    fn at_driver(&self) -> Option<PadInNetwork> {
        let (hot, back) = (self.driver_hot, self.back);
        let across = self.between(hot, back, &self.own()).concat();
        let mut series = self.joined.iter().filter_map(|resistor| {
            let top = resistor.beyond(hot)?;
            let on = top != back && top != NodeId::GND;
            let corrects = resistor.names().any(|name| across.contains(name));
            (on && !corrects).then_some((resistor, top))
        });
        match (series.next(), series.next()) {
            (Some((series, top)), None) => self.of_resistors(series, [top, hot]),
            _ => None,
        }
    }

    /// The tap of an autoformer on which the driver hangs.
    fn tap_at_driver(&self) -> Option<PadInNetwork> {
        let parts = self.network.parts().keys();
        parts
            .filter_map(|name| self.tap(name))
            .find(|found| found.hot == self.driver_hot)
    }

    /// An autoformer as a pad; its bottom is the driver's other terminal, and only one tap is in use.
    fn tap(&self, name: &String) -> Option<PadInNetwork> {
        let PartKind::Autoformer {
            inductance,
            dcr,
            coupling,
            between: [top, bottom],
            taps,
        } = &self.network.parts()[name].kind
        else {
            return None;
        };
        let in_use = |node: NodeId| {
            let mut parts = self.network.parts().iter();
            parts.any(|(other, part)| other != name && touches(&part.kind, node))
        };
        let mut used = taps.iter().filter(|tap| in_use(tap.node));
        let (Some(tap), None) = (used.next(), used.next()) else {
            return None;
        };
        if *bottom != self.back {
            return None;
        }
        // The amplifier's terminal is all ways': before the filter a resistor there is no part of this pad.
        let own = *top != NodeId::IN || tap.node == self.driver_hot;
        let shunt = self.joined_between(*top, self.back).filter(|_| own);
        let names = shunt.into_iter().flat_map(JoinedResistors::names);
        Some(PadInNetwork {
            pad: Some(Pad::Autoformer {
                ratio: tap.ratio,
                shunt_ohm: shunt.map(|shunt| shunt.ohm),
            }),
            parts: std::iter::once(name).chain(names).cloned().collect(),
            shunt: shunt.map_or_else(Vec::new, |shunt| shunt.shares.clone()),
            winding: AutoformerWinding {
                inductance_h: inductance.0,
                dcr_ohm: dcr.0,
                coupling: *coupling,
                taps: (taps.iter())
                    .filter(|other| other.node != tap.node)
                    .map(|tap| tap.ratio)
                    .collect(),
            },
            ..self.place(*top, tap.node)
        })
    }

    /// The pad that stands before the filter, or before a part of it, where there is one only.
    fn elsewhere(&self) -> Option<PadInNetwork> {
        if self.back != NodeId::GND {
            return None;
        }
        let resistors = self.joined.iter().flat_map(|series| {
            let [a, b] = series.ends;
            [(series, [a, b]), (series, [b, a])]
        });
        let inner = |hot: NodeId| hot.is_inner() && hot != self.driver_hot;
        let resistors = (resistors.filter(|(_, [_, hot])| inner(*hot)))
            .filter_map(|(series, ends)| self.of_resistors(series, ends));
        let taps = (self.network.parts().keys()).filter_map(|name| {
            let mut found = self.tap(name)?;
            found.behind = self.behind(std::slice::from_ref(name), found.top, found.hot)?;
            Some(found)
        });
        let mut found: Vec<PadInNetwork> = resistors.chain(taps).collect();
        // Of several only an L-pad is surely one.
        if found.len() > 1 {
            found.retain(|found| matches!(found.pad, Some(Pad::LPad { .. })));
        }
        match found.len() {
            1 => found.pop(),
            _ => None,
        }
    }

    /// The parts behind a pad at `hot` when these of its parts are taken out: `None` when something else
    /// leads to the driver, or another driver hangs there too.
    fn behind(&self, without: &[String], top: NodeId, hot: NodeId) -> Option<Vec<String>> {
        let far = self.far(without);
        let another = (far.parts.iter())
            .any(|name| name != self.driver_part && is_driver(self.network, name));
        let alone = self.cuts(without, top) && far.nodes.contains(&hot) && !another;
        alone.then(|| {
            let parts = far.parts.into_iter();
            parts.filter(|name| name != self.driver_part).collect()
        })
    }

    /// The first pad of a row of resistors that ends in this one; `None` when there is such a row, and what
    /// hangs there is no pad of this driver alone.
    fn whole(&self, mut found: PadInNetwork) -> Option<PadInNetwork> {
        while let Some((series, top)) = self.resistor_before(&found) {
            // With something in the return lead the rest has three terminals.
            if self.back != NodeId::GND {
                return None;
            }
            found = self.of_resistors(series, [top, found.top])?;
            found.tail = true;
        }
        Some(found)
    }

    /// The series resistor before a pad of resistors, where nothing but resistors lies between them; and its
    /// far end.
    fn resistor_before(&self, found: &PadInNetwork) -> Option<(&JoinedResistors, NodeId)> {
        let here = found.top;
        // A pad in the midst of the filter has no tail.
        if here == NodeId::IN || (found.hot != self.driver_hot && !found.tail) {
            return None;
        }
        found.pad?.series_ohm()?;
        let mut others = self.joined.iter().filter(|r| {
            let far = r.beyond(here);
            r.shares != found.series
                && far.is_some_and(|far| far != self.back && far != NodeId::GND)
        });
        let (Some(series), None) = (others.next(), others.next()) else {
            return None;
        };
        let bridge = self.bridge(series)?;
        let resistor = |name: &String| {
            let kind = &self.network.parts()[name].kind;
            matches!(kind, PartKind::Resistor { .. })
        };
        let alone = at(self.network, here)
            .all(|name| resistor(name) || found.bridge.contains(name) || bridge.contains(name));
        Some((series, series.beyond(here)?)).filter(|_| alone)
    }

    /// Sorts what else hangs at the driver's terminal by where it leads.
    fn neighbours(&self, place: &mut PadInNetwork) {
        let [gnd, amplifier, back] = self.ends();
        let ends = [place.hot, place.top, back, gnd, amplifier];
        let mut without = self.own();
        without.extend_from_slice(&place.parts);
        without.extend_from_slice(&place.bridge);
        let network = self.network;
        let at_hot = |name: &&String| touches(&network.parts()[*name].kind, place.hot);
        for group in groups_at(network, place.hot, &ends, &without) {
            match group.only([place.hot, back]) {
                true if group.plain(network) => place.across.extend(group.parts),
                true if group.plain_or_drivers(network) => place.across_drivers.extend(group.parts),
                _ => place
                    .beside
                    .extend(group.parts.iter().find(at_hot).cloned()),
            }
        }
    }

    /// Resistors and autoformers of this way that are not the pad.
    fn others(&self, place: &PadInNetwork) -> Vec<String> {
        // What is in the driver's return lead is of this way too.
        let ends = [NodeId::GND, NodeId::IN];
        let reached = reach(self.network, self.own(), &ends, &[]).parts;
        let parts = self.network.parts().iter();
        let others = parts.filter(|(name, part)| {
            let attenuates = matches!(
                part.kind,
                PartKind::Resistor { .. } | PartKind::Autoformer { .. }
            );
            let counted = [
                &place.parts,
                &place.across,
                &place.across_drivers,
                &place.bridge,
            ];
            attenuates && reached.contains(name) && !counted.iter().any(|of| of.contains(name))
        });
        others.map(|(name, _)| name.clone()).collect()
    }
}

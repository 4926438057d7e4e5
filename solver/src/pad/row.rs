//! Resistors in a row before a driver that make one larger pad, such as a T.

use netlist::network::{NodeId, PartKind};

use super::find::PadWay;
use super::in_network::PadInNetwork;
use super::walk::{JoinedResistors, at};

impl PadWay<'_> {
    /// The first pad of a row of resistors that ends in this one; `None` when there is such a row, and what
    /// hangs there is no pad of this driver alone.
    pub(super) fn whole(&self, mut found: PadInNetwork) -> Option<PadInNetwork> {
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
}

//! Candidate networks for one way: which sections it has, and values to start from.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::quantity::{Farads, Henries, Ohms};

use super::{Ladder, LadderKind, Pad, PadKind, Prototype, Side, SynthesisError};

/// The sections of one way, from the amplifier to the driver: high pass, low pass, pad with
/// equaliser, impedance correction across the driver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct WayShape {
    /// Electrical order of the high pass, 0 (none) to 4.
    pub high_pass: u8,
    /// Electrical order of the low pass, 0 (none) to 4.
    pub low_pass: u8,
    /// A resistor in series with the first shunt capacitor of the low pass.
    pub damped: bool,
    /// Pad.
    pub pad: PadForm,
    /// What bypasses the pad's series resistor.
    pub equaliser: EqualiserForm,
    /// A resistor and a capacitor across the driver.
    pub correction: bool,
    /// A parallel trap in series with the driver.
    pub notch: bool,
}

/// Where and how a way is attenuated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PadForm {
    /// Not at all.
    None,
    /// L-pad between the filter and the driver.
    After,
    /// Series resistor between the filter and the driver.
    Series,
    /// L-pad in front of the filter.
    Before,
}

/// What lets the top pass a pad's series resistor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EqualiserForm {
    /// Nothing.
    None,
    /// A capacitor.
    Capacitor,
    /// A capacitor and a coil in series.
    Resonant,
}

/// What a way's starting values are worked out from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayStart {
    /// Corner of the high pass, Hz.
    pub from_hz: f64,
    /// Corner of the low pass, Hz.
    pub to_hz: f64,
    /// Impedance level of the driver near the corners, ohm.
    pub load_ohm: f64,
    /// Attenuation wanted, dB.
    pub attenuation_db: f64,
    /// Frequency of a response peak to cut, Hz.
    pub notch_hz: f64,
}

impl WayShape {
    /// Number of parts, the driver not counted.
    #[must_use]
    pub fn part_count(self) -> usize {
        let pad = match self.pad {
            PadForm::None => 0,
            PadForm::Series => 1,
            PadForm::After | PadForm::Before => 2,
        };
        let equaliser = match self.equaliser {
            EqualiserForm::None => 0,
            EqualiserForm::Capacitor => 1,
            EqualiserForm::Resonant => 2,
        };
        usize::from(self.high_pass + self.low_pass)
            + usize::from(self.damped)
            + pad
            + equaliser
            + 2 * usize::from(self.correction)
            + 3 * usize::from(self.notch)
    }

    /// Shapes worth trying for the lowest way: nothing is attenuated, a low pass of any order.
    #[must_use]
    pub fn for_lowest() -> Vec<WayShape> {
        let mut shapes = Vec::new();
        for low_pass in 1..=4 {
            for damped in [false, true] {
                for correction in [false, true] {
                    for notch in [false, true] {
                        if damped && low_pass < 2 {
                            continue;
                        }
                        shapes.push(WayShape {
                            high_pass: 0,
                            low_pass,
                            damped,
                            pad: PadForm::None,
                            equaliser: EqualiserForm::None,
                            correction,
                            notch,
                        });
                    }
                }
            }
        }
        shapes
    }

    /// Shapes worth trying for a way above the lowest; a low pass only for one that is not the
    /// highest.
    #[must_use]
    pub fn for_upper(highest: bool) -> Vec<WayShape> {
        let mut shapes = Vec::new();
        let low_orders = if highest { 0..=0 } else { 0..=3 };
        for high_pass in 1..=4 {
            for low_pass in low_orders.clone() {
                for pad in [
                    PadForm::None,
                    PadForm::After,
                    PadForm::Series,
                    PadForm::Before,
                ] {
                    for equaliser in [
                        EqualiserForm::None,
                        EqualiserForm::Capacitor,
                        EqualiserForm::Resonant,
                    ] {
                        let bypassed = equaliser != EqualiserForm::None;
                        if bypassed && !matches!(pad, PadForm::After | PadForm::Series) {
                            continue;
                        }
                        // A low pass and a lift of the top undo each other.
                        if bypassed && low_pass > 1 {
                            continue;
                        }
                        shapes.push(WayShape {
                            high_pass,
                            low_pass,
                            damped: false,
                            pad,
                            equaliser,
                            correction: false,
                            notch: false,
                        });
                    }
                }
            }
        }
        shapes
    }

    /// Adds the parts of this way, the driver last, to a network. Part names follow on from those
    /// that are there; nodes are named after the way.
    ///
    /// # Errors
    /// If a starting value is not positive and finite.
    pub fn build(
        self,
        network: &mut Network,
        way: &str,
        inverted: bool,
        start: &WayStart,
    ) -> Result<(), SynthesisError> {
        let mut wires = Wires {
            network,
            way,
            here: NodeId::IN,
            count: 0,
        };
        let pad = match self.pad {
            PadForm::None => None,
            PadForm::Series => Some(Pad::size(
                PadKind::Series,
                start.attenuation_db,
                start.load_ohm,
            )?),
            PadForm::After | PadForm::Before => Some(Pad::size(
                PadKind::LPad,
                start.attenuation_db,
                start.load_ohm,
            )?),
        };
        let pad = pad.map(|pad| (pad.series_ohm().unwrap_or(1.0), pad.shunt_ohm()));
        let filter_ohm = match (self.pad, pad) {
            (PadForm::Series, Some((series, _))) => start.load_ohm + series,
            _ => start.load_ohm,
        };
        if let (PadForm::Before, Some((series, shunt))) = (self.pad, pad) {
            wires.resistor(series, true);
            wires.resistor(shunt.unwrap_or(start.load_ohm), false);
        }
        if self.high_pass > 0 {
            let prototype = Prototype::Butterworth {
                order: self.high_pass,
            };
            wires.ladder(
                &Ladder::new(prototype, Side::HighPass, start.from_hz, filter_ohm)?,
                false,
            );
        }
        if self.low_pass > 0 {
            let prototype = Prototype::Butterworth {
                order: self.low_pass,
            };
            let ladder = Ladder::new(prototype, Side::LowPass, start.to_hz, filter_ohm)?;
            wires.ladder(&ladder, self.damped);
        }
        if let (PadForm::After | PadForm::Series, Some((series, shunt))) = (self.pad, pad) {
            let from = wires.here;
            wires.resistor(series, true);
            let to = wires.here;
            let corner = 2.0 * start.to_hz.min(10.0 * start.from_hz);
            let c = 1.0 / (std::f64::consts::TAU * corner * series);
            match self.equaliser {
                EqualiserForm::None => {}
                EqualiserForm::Capacitor => wires.add(capacitor(c, [from, to])),
                EqualiserForm::Resonant => {
                    let middle = wires.node();
                    wires.add(capacitor(c, [from, middle]));
                    let omega = std::f64::consts::TAU * 2.0 * corner;
                    wires.add(inductor(1.0 / (omega * omega * c), [middle, to]));
                }
            }
            if let Some(shunt) = shunt {
                wires.resistor(shunt, false);
            }
        }
        if self.notch {
            let from = wires.here;
            let omega = std::f64::consts::TAU * start.notch_hz;
            wires.resistor(start.load_ohm, true);
            let between = [from, wires.here];
            let l = start.load_ohm / (3.0 * omega);
            wires.add(inductor(l, between));
            wires.add(capacitor(1.0 / (omega * omega * l), between));
        }
        if self.correction {
            let here = wires.here;
            let middle = wires.node();
            wires.add(resistor(1.2 * start.load_ohm, [here, middle]));
            let c = 1.0 / (std::f64::consts::TAU * start.to_hz * start.load_ohm);
            wires.add(capacitor(c, [middle, NodeId::GND]));
        }
        let between = [wires.here, NodeId::GND];
        let driver = PartKind::Driver {
            driver: way.to_owned(),
            between,
            inverted,
        };
        let name = unused_driver_name(wires.network, way);
        wires.network.insert(name, Part::new(driver));
        Ok(())
    }
}

/// A part name for a driver that no other part has.
fn unused_driver_name(network: &Network, way: &str) -> String {
    let mut name = way.to_uppercase();
    while network.parts().contains_key(&name) {
        name.push('_');
    }
    name
}

struct Wires<'a> {
    network: &'a mut Network,
    way: &'a str,
    here: NodeId,
    count: usize,
}

impl Wires<'_> {
    fn node(&mut self) -> NodeId {
        self.count += 1;
        let name = format!("{}{}", self.way, self.count);
        self.network.node(&name)
    }

    fn add(&mut self, kind: PartKind) {
        let letter = match kind {
            PartKind::Resistor { .. } => 'R',
            PartKind::Inductor { .. } => 'L',
            _ => 'C',
        };
        let name = (1..)
            .map(|i| format!("{letter}{i}"))
            .find(|name| !self.network.parts().contains_key(name))
            .expect("numbers do not end");
        self.network.insert(name, Part::new(kind));
    }

    /// Ends of a part in series (which moves on to a new node) or to `gnd`.
    fn ends(&mut self, in_series: bool) -> [NodeId; 2] {
        if !in_series {
            return [self.here, NodeId::GND];
        }
        let from = self.here;
        self.here = self.node();
        [from, self.here]
    }

    fn resistor(&mut self, ohm: f64, in_series: bool) {
        let between = self.ends(in_series);
        self.add(resistor(ohm, between));
    }

    fn ladder(&mut self, ladder: &Ladder, damped: bool) {
        let mut damped = damped;
        for element in &ladder.elements {
            let value = element.value_si;
            match element.kind {
                LadderKind::SeriesInductor => {
                    let between = self.ends(true);
                    self.add(inductor(value, between));
                }
                LadderKind::SeriesCapacitor => {
                    let between = self.ends(true);
                    self.add(capacitor(value, between));
                }
                LadderKind::ShuntInductor => self.add(inductor(value, [self.here, NodeId::GND])),
                LadderKind::ShuntCapacitor => {
                    let mut from = self.here;
                    if std::mem::take(&mut damped) {
                        let middle = self.node();
                        self.add(resistor(1.5, [from, middle]));
                        from = middle;
                    }
                    self.add(capacitor(value, [from, NodeId::GND]));
                }
            }
        }
    }
}

fn resistor(ohm: f64, between: [NodeId; 2]) -> PartKind {
    PartKind::Resistor {
        resistance: Ohms(ohm),
        between,
    }
}

fn inductor(henry: f64, between: [NodeId; 2]) -> PartKind {
    PartKind::Inductor {
        inductance: Henries(henry),
        dcr: Ohms(0.0),
        between,
    }
}

fn capacitor(farad: f64, between: [NodeId; 2]) -> PartKind {
    PartKind::Capacitor {
        capacitance: Farads(farad),
        esr: Ohms(0.0),
        between,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_builds_a_sound_network_of_the_stated_size() {
        let start = WayStart {
            from_hz: 650.0,
            to_hz: 6500.0,
            load_ohm: 8.0,
            attenuation_db: 10.0,
            notch_hz: 2500.0,
        };
        let mut shapes = WayShape::for_lowest();
        shapes.extend(WayShape::for_upper(false));
        shapes.extend(WayShape::for_upper(true));
        assert!(shapes.len() > 100);
        for shape in shapes {
            let mut network = Network::new();
            shape.build(&mut network, "mid", false, &start).unwrap();
            assert_eq!(network.parts().len(), shape.part_count() + 1, "{shape:?}");
            let mistakes = netlist::network::check(&network, &["mid"]);
            assert!(mistakes.is_empty(), "{shape:?}: {mistakes:?}");
        }
    }
}

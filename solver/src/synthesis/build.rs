//! A way's shape as parts of a network, with closed-form values to start from.

use netlist::network::{Network, NodeId, Part, PartKind, Tap, numbered_name};
use netlist::quantity::{Farads, Henries, Ohms};

use super::shape::{PadForm, WayShape, WayStart};
use super::{Ladder, LadderKind, LadderSide, Pad, PadKind, Prototype, SynthesisError};

/// Resistor across the winding of an autoformer, in units of the driver's impedance.
const ACROSS_WINDING: f64 = 1.5;

impl WayShape {
    /// Adds the parts of this way, the driver last, to a network. Part names follow on from those
    /// that are there; nodes are named after the way.
    ///
    /// # Errors
    /// If a starting value is not positive and finite, or the shape has an autoformer and the stock
    /// none.
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
        let kind = match self.pad {
            PadForm::None | PadForm::Autoformer { .. } => None,
            PadForm::Series => Some(PadKind::Series),
            PadForm::After => Some(PadKind::LPad),
        };
        let size = |kind| Pad::size(kind, start.attenuation_db, start.load_ohm);
        let pad = kind.map(size).transpose()?;
        let pad = pad.map(|pad| (pad.series_ohm().unwrap_or(1.0), pad.shunt_ohm()));
        let autoformer = match self.pad {
            PadForm::Autoformer { steps } => {
                let range = start.autoformer.ok_or(SynthesisError::NoAutoformer)?;
                Some((range, range.ratio(steps)))
            }
            _ => None,
        };
        let filter_ohm = match (self.pad, pad) {
            (PadForm::Series, Some((series, _))) => start.load_ohm + series,
            (PadForm::Autoformer { .. }, _) => {
                let ratio = autoformer.map_or(1.0, |(_, ratio)| ratio);
                let stepped_up = start.load_ohm / (ratio * ratio);
                1.0 / (1.0 / stepped_up + 1.0 / (ACROSS_WINDING * start.load_ohm))
            }
            _ => start.load_ohm,
        };
        if self.high_pass > 0 {
            let prototype = Prototype::Butterworth {
                order: self.high_pass,
            };
            wires.ladder(&Ladder::new(
                prototype,
                LadderSide::HighPass,
                start.from_hz,
                filter_ohm,
            )?);
        }
        if self.low_pass > 0 {
            let prototype = Prototype::Butterworth {
                order: self.low_pass,
            };
            let ladder = Ladder::new(prototype, LadderSide::LowPass, start.to_hz, filter_ohm)?;
            wires.ladder(&ladder);
        }
        if let (PadForm::After | PadForm::Series, Some((series, shunt))) = (self.pad, pad) {
            wires.resistor(series, true);
            if let Some(shunt) = shunt {
                wires.resistor(shunt, false);
            }
        }
        if let Some((range, ratio)) = autoformer {
            wires.resistor(ACROSS_WINDING * start.load_ohm, false);
            let top = wires.here;
            let node = wires.node();
            wires.add(PartKind::Autoformer {
                inductance: range.inductance,
                dcr: range.dcr,
                coupling: range.coupling,
                between: [top, NodeId::GND],
                taps: vec![Tap { node, ratio }],
            });
            wires.here = node;
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
        let letter = kind.letter().expect("a part of a filter");
        let name = numbered_name(letter, |name| self.network.parts().contains_key(name));
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

    fn ladder(&mut self, ladder: &Ladder) {
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
                    self.add(capacitor(value, [self.here, NodeId::GND]));
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
    use netlist::project::AutoformerRange;
    use netlist::quantity::Decibels;

    use super::*;

    #[test]
    fn every_shape_builds_a_sound_network_of_the_stated_size() {
        let start = WayStart {
            from_hz: 650.0,
            to_hz: 6500.0,
            load_ohm: 8.0,
            attenuation_db: 10.0,
            autoformer: Some(AutoformerRange {
                inductance: Henries(40e-3),
                dcr: Ohms(0.4),
                coupling: 0.999,
                step: Decibels(1.0),
                to: Decibels(20.0),
            }),
        };
        let pads = [
            PadForm::None,
            PadForm::Series,
            PadForm::After,
            PadForm::Autoformer { steps: 9 },
        ];
        let orders = (0..=4).flat_map(|high| (0..=4).map(move |low| (high, low)));
        let shapes = orders.flat_map(|(high_pass, low_pass)| {
            pads.map(|pad| WayShape {
                high_pass,
                low_pass,
                pad,
            })
        });
        for shape in shapes {
            let mut network = Network::new();
            shape.build(&mut network, "mid", false, &start).unwrap();
            assert_eq!(network.parts().len(), shape.part_count() + 1, "{shape:?}");
            let mistakes = netlist::network::check(&network, &["mid"]);
            assert!(mistakes.is_empty(), "{shape:?}: {mistakes:?}");
        }
    }

    #[test]
    fn an_autoformer_that_nobody_sells_is_an_error() {
        let start = WayStart {
            from_hz: 650.0,
            to_hz: 6500.0,
            load_ohm: 8.0,
            attenuation_db: 10.0,
            autoformer: None,
        };
        let shape = WayShape {
            high_pass: 2,
            low_pass: 0,
            pad: PadForm::Autoformer { steps: 10 },
        };
        let error = shape.build(&mut Network::new(), "mid", false, &start);
        assert_eq!(error, Err(SynthesisError::NoAutoformer));
    }
}

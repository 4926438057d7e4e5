//! A way's shape as parts of a network, with closed-form values to start from.

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::quantity::{Farads, Henries, Ohms};

use super::shape::{CorrectionForm, EqualiserForm, PadForm, WayShape, WayStart};
use super::{Ladder, LadderKind, Pad, PadKind, Prototype, Side, SynthesisError};

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
        let pad = match self.pad {
            PadForm::None | PadForm::Autoformer { .. } => None,
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
        if self.notch {
            let from = wires.here;
            let omega = std::f64::consts::TAU * start.notch_hz;
            wires.resistor(start.load_ohm, true);
            let between = [from, wires.here];
            let l = start.load_ohm / (3.0 * omega);
            wires.add(inductor(l, between));
            wires.add(capacitor(1.0 / (omega * omega * l), between));
        }
        wires.correction(self.correction, start);
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
            PartKind::Autoformer { .. } => 'T',
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

    fn correction(&mut self, form: CorrectionForm, start: &WayStart) {
        if form == CorrectionForm::None {
            return;
        }
        let first = self.node();
        self.add(resistor(1.2 * start.load_ohm, [self.here, first]));
        match form {
            CorrectionForm::None => {}
            CorrectionForm::Zobel => {
                let c = 1.0 / (std::f64::consts::TAU * start.to_hz * start.load_ohm);
                self.add(capacitor(c, [first, NodeId::GND]));
            }
            CorrectionForm::Resonant => {
                // A peak of a quality factor about 1, its dual.
                let omega = std::f64::consts::TAU * start.resonance_hz;
                let second = self.node();
                self.add(capacitor(1.0 / (omega * start.load_ohm), [first, second]));
                self.add(inductor(start.load_ohm / omega, [second, NodeId::GND]));
            }
        }
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
            notch_hz: 2500.0,
            resonance_hz: 400.0,
            autoformer: Some(AutoformerRange {
                inductance: Henries(40e-3),
                dcr: Ohms(0.4),
                coupling: 0.999,
                step: Decibels(1.0),
                to: Decibels(20.0),
            }),
        };
        let mut shapes = WayShape::for_lowest();
        shapes.extend(WayShape::for_upper(false, &[9, 10]));
        shapes.extend(WayShape::for_upper(true, &[]));
        assert!(shapes.len() > 100);
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
            notch_hz: 2500.0,
            resonance_hz: 400.0,
            autoformer: None,
        };
        let shape = WayShape {
            high_pass: 2,
            low_pass: 0,
            damped: false,
            pad: PadForm::Autoformer { steps: 10 },
            equaliser: EqualiserForm::None,
            correction: CorrectionForm::None,
            notch: false,
        };
        let error = shape.build(&mut Network::new(), "mid", false, &start);
        assert_eq!(error, Err(SynthesisError::NoAutoformer));
    }
}

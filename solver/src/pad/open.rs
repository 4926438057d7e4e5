//! The network about a pad with the pad taken out, as the nodal solver has it; and what it becomes with any pad put in.
//!
//! The pad's input is `in`. Solved once, each pad is a change of one branch (see [`crate::nodal`]): whatever its kind, it is
//! a shunt at the output and a source of so many turns behind an impedance from the input to the output.

use netlist::network::{Network, NodeId, Part, PartKind};
use num_complex::Complex64;

use super::in_network::PadInNetwork;
use super::walk::part_of;
use crate::grid::Grid;
use crate::nodal::{Plan, Values, Workspace};
use crate::spectrum::Spectrum;
use crate::synthesis::{AutoformerWinding, Pad};

/// What is about a pad that is taken out, over a grid.
#[derive(Debug, Clone)]
pub(super) struct OpenPlace {
    points: Vec<PadPort>,
    /// Voltage at the driver over that at the pad's output.
    onward: Spectrum,
    /// Impedance at the driver's terminal with the pad's output held at 0 V, the driver among it; ohm.
    driver_ohm: Spectrum,
}

/// The same at one frequency, for one volt at the pad's input.
#[derive(Debug, Clone, Copy)]
pub(super) struct PadPort {
    /// Admittance at the input: what bridges the series resistor, siemens.
    input_siemens: Complex64,
    /// Voltage at the output.
    output_v: Complex64,
    /// Impedance at the output, the input held at 0 V; ohm.
    output_ohm: Complex64,
    /// Admittance of all that is behind the output, siemens.
    pub(super) behind_siemens: Complex64,
}

/// What a pad does at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadOnLoad {
    /// Voltage at the pad's output over that at its input.
    pub transfer: Complex64,
    /// Impedance that the filter sees, in ohm.
    pub seen_ohm: Complex64,
    /// Impedance at the pad's output looking back, in ohm.
    pub behind_ohm: Complex64,
}

impl PadOnLoad {
    /// Attenuation from the pad's input to its output, in dB.
    #[must_use]
    pub fn attenuation_db(&self) -> f64 {
        -20.0 * self.transfer.norm().log10()
    }
}

/// A pad at one frequency, as it lies between its two terminals.
#[derive(Debug, Clone, Copy)]
pub(super) struct PadBranches {
    /// Volts that it gives without load for one volt at its input.
    turns: Complex64,
    /// Behind this impedance, ohm.
    series_ohm: Complex64,
    /// Admittance across its input, siemens.
    input_siemens: Complex64,
    /// Admittance across its output, siemens.
    output_siemens: f64,
}

impl PadBranches {
    /// No pad: a wire.
    pub(super) const WIRE: Self = Self {
        turns: Complex64::ONE,
        series_ohm: Complex64::ZERO,
        input_siemens: Complex64::ZERO,
        output_siemens: 0.0,
    };

    /// Of a pad at an angular frequency; an autoformer without a winding is ideal.
    pub(super) fn new(pad: Pad, winding: Option<&AutoformerWinding>, omega: f64) -> Self {
        let mut this = Self::WIRE;
        this.series_ohm = pad.series_ohm().unwrap_or(0.0).into();
        let shunt_siemens = pad.shunt_ohm().map_or(0.0, f64::recip);
        match pad {
            Pad::LPad { .. } => this.output_siemens = shunt_siemens,
            _ => this.input_siemens = shunt_siemens.into(),
        }
        if let Pad::Autoformer { ratio, .. } = pad {
            this.turns = ratio.into();
            if let Some(winding) = winding {
                let [own, mutual, tap] = winding.impedances_ohm(ratio, omega);
                this.turns = mutual / own;
                this.series_ohm = tap - mutual * this.turns;
                this.input_siemens += own.inv();
            }
        }
        this
    }
}

impl PadPort {
    /// Nothing but an impedance behind the pad, in ohm.
    pub(super) fn plain(behind_ohm: Complex64) -> Self {
        Self {
            input_siemens: Complex64::ZERO,
            output_v: Complex64::ZERO,
            output_ohm: behind_ohm,
            behind_siemens: behind_ohm.inv(),
        }
    }

    /// With a pad put in, fed from `source_ohm`.
    pub(super) fn with(&self, pad: &PadBranches, source_ohm: Complex64) -> PadOnLoad {
        let put = self.put(pad);
        let output_ohm = put.output_ohm + put.transfer * put.transfer * put.behind(source_ohm);
        PadOnLoad {
            transfer: put.transfer,
            seen_ohm: put.input_siemens.inv(),
            behind_ohm: output_ohm / (1.0 - output_ohm * self.behind_siemens),
        }
    }

    /// With a pad put in: two branches at once by the law of [`crate::nodal`], solved for all. With the pad as volts r
    /// behind z₀ and y across its output, and V, z and D of the place without it,
    /// `M = z₀ (1 + y z) + z`, `V' = (V z₀ + r z) / M`, `z' = z₀ z / M`,
    /// `D' = D + ((r − V)² + y (z₀ V² + z r²)) / M`.
    #[inline]
    pub(super) fn put(&self, pad: &PadBranches) -> PadPut {
        let (volts, ohm) = (self.output_v, self.output_ohm);
        let (turns, series_ohm, y) = (pad.turns, pad.series_ohm, pad.output_siemens);
        let per_ohm = (series_ohm * (1.0 + y * ohm) + ohm).inv();
        let across = turns - volts;
        let shunted = y * (series_ohm * volts * volts + ohm * turns * turns);
        let held = series_ohm == Complex64::ZERO;
        PadPut {
            input_siemens: self.input_siemens
                + pad.input_siemens
                + (across * across + shunted) * per_ohm,
            // Held without any rounding, so that what is even shows as even.
            transfer: match held {
                true => turns,
                false => (volts * series_ohm + turns * ohm) * per_ohm,
            },
            output_ohm: ohm * series_ohm * per_ohm,
        }
    }
}

/// A place with a pad put in, for one volt at the pad's input.
#[derive(Debug, Clone, Copy)]
pub(super) struct PadPut {
    /// Admittance at the input, siemens.
    pub(super) input_siemens: Complex64,
    /// Voltage at the output.
    pub(super) transfer: Complex64,
    /// Impedance at the output with the input held at 0 V, ohm.
    output_ohm: Complex64,
}

impl PadPut {
    /// Level at the output, in dB of the open-circuit voltage of a source of `source_ohm`.
    #[inline]
    pub(super) fn level_db(&self, source_ohm: Complex64) -> f64 {
        let share = 1.0 + source_ohm * self.input_siemens;
        10.0 * (self.transfer.norm_sqr() / share.norm_sqr()).log10()
    }

    /// What a source of so many ohm is at the input, ohm.
    fn behind(&self, source_ohm: Complex64) -> Complex64 {
        source_ohm / (1.0 + source_ohm * self.input_siemens)
    }
}

impl OpenPlace {
    /// At a place of the grid.
    pub(super) fn at(&self, i: usize) -> PadPort {
        self.points[i]
    }

    /// Voltage at the driver over that at the pad's output.
    pub(super) fn onward(&self, i: usize) -> Complex64 {
        self.onward.at(i)
    }

    /// Impedance that a driver of `z_ohm` sees when the pad's output is `source_ohm`; ohm.
    pub(super) fn at_driver_ohm(
        &self,
        i: usize,
        z_ohm: Complex64,
        source_ohm: Complex64,
    ) -> Complex64 {
        let output_ohm = source_ohm / (1.0 + source_ohm * self.points[i].behind_siemens);
        let onward = self.onward.at(i);
        let with_driver = self.driver_ohm.at(i) + onward * onward * output_ohm;
        with_driver / (1.0 - with_driver / z_ohm)
    }

    /// The same without what bridges the series resistor.
    pub(super) fn without_bridge(mut self) -> Self {
        for point in &mut self.points {
            *point = PadPort::plain(point.behind_siemens.inv());
        }
        self
    }
}

impl PadInNetwork {
    /// What is about the pad, its driver being `z_ohm` over the grid. Other drivers across it count where `z_ohm_of` gives
    /// their impedance, lead included. `None` where nothing but the driver is there.
    pub(super) fn open(
        &self,
        network: &Network,
        grid: &Grid,
        z_ohm: &Spectrum,
        z_ohm_of: &dyn Fn(&str) -> Option<Spectrum>,
    ) -> Option<OpenPlace> {
        let (alone, [output, terminal], loads) = self.alone(network, z_ohm, z_ohm_of)?;
        // Parts of a network that can be solved have sensible values.
        let plan = Plan::compile(&alone).ok()?;
        let loads: Vec<&Spectrum> = loads.iter().collect();
        let mut workspace = Workspace::new(&plan, grid, &loads).ok()?;
        let ports = plan.ports(&Values::of(&alone), &mut workspace);
        let [output, terminal] = [output, terminal].map(|node| [node.0, NodeId::GND.0]);
        let mut place = OpenPlace {
            points: Vec::with_capacity(grid.len()),
            onward: Spectrum::from_fn(grid.len(), |_| Complex64::ONE),
            driver_ohm: Spectrum::zeros(grid.len()),
        };
        for i in 0..grid.len() {
            let output_v = ports.transfer(i)[output[0]];
            let output_ohm = ports.between(i, output, output);
            place.points.push(PadPort {
                input_siemens: ports.admittance(i),
                output_v,
                output_ohm,
                behind_siemens: (1.0 - output_v) / output_ohm,
            });
            if terminal != output {
                let mutual_ohm = ports.between(i, output, terminal);
                let onward = mutual_ohm / output_ohm;
                let own_ohm = ports.between(i, terminal, terminal);
                place.onward.set(i, onward);
                place.driver_ohm.set(i, own_ohm - mutual_ohm * onward);
            }
        }
        Some(place)
    }

    /// All from the pad's input to the driver without the pad, the input being `in`; the pad's output and the driver's
    /// terminal in it, and the impedances of its drivers.
    fn alone(
        &self,
        network: &Network,
        z_ohm: &Spectrum,
        z_ohm_of: &dyn Fn(&str) -> Option<Spectrum>,
    ) -> Option<(Network, [NodeId; 2], Vec<Spectrum>)> {
        let mut names = [&*self.across, &self.bridge, &self.behind].concat();
        let driver = |name: &String| match &network.parts()[name].kind {
            PartKind::Driver { driver, .. } => Some(driver.clone()),
            _ => None,
        };
        let known = |name: &String| driver(name).is_none_or(|name| z_ohm_of(&name).is_some());
        if self.across_drivers.iter().all(known) {
            names.extend_from_slice(&self.across_drivers);
        }
        if names.is_empty() {
            return None;
        }
        names.push(self.driver_part.clone());
        let goes = |name: &String, part: &Part| {
            !matches!(part.kind, PartKind::Coupling { .. }) && !names.contains(name)
        };
        let alone = part_of(network, goes, |_, node| match node {
            node if node == self.top => NodeId::IN,
            node if node == self.back => NodeId::GND,
            node => node,
        });
        let loads = (alone.parts().keys()).filter_map(|name| {
            let of = driver(name)?;
            Some(if *name == self.driver_part {
                Some(z_ohm.clone())
            } else {
                z_ohm_of(&of)
            })
        });
        let loads: Option<Vec<Spectrum>> = loads.collect();
        let place = |node: NodeId| alone.find_node(network.node_name(node));
        let ends = [place(self.hot)?, place(self.driver_hot)?];
        Some((alone, ends, loads?))
    }
}

#[cfg(test)]
mod tests {
    use netlist::quantity::{Farads, Henries, Ohms};

    use super::*;
    use crate::nodal::{STIFF, Solution};
    use crate::pad::{PadLoad, find_pad};
    use crate::synthesis::PadKind;

    #[test]
    fn a_small_winding_takes_more_at_low_frequencies() {
        let winding = AutoformerWinding {
            inductance_h: 0.02,
            ..AutoformerWinding::usual()
        };
        let pad = Pad::Autoformer {
            ratio: 0.5,
            shunt_ohm: None,
        };
        let at = |f_hz: f64| {
            let source = Complex64::new(8.0, 0.0);
            let branches = PadBranches::new(pad, Some(&winding), std::f64::consts::TAU * f_hz);
            let on = PadPort::plain(8.0.into()).with(&branches, source);
            (on.seen_ohm / (on.seen_ohm + source) * on.transfer).norm()
        };
        assert!(at(40.0) < 0.7 * at(1000.0));
    }

    /// What bridges the series resistor of a pad stays there, whatever takes the pad's place.
    #[test]
    fn a_bridged_pad_of_any_kind_is_what_the_network_with_it_says() {
        let mut network = Network::new();
        let [top, hot] = ["top", "hot"].map(|name| network.node(name));
        let capacitor = |farad: f64, between| PartKind::Capacitor {
            capacitance: Farads(farad),
            esr: Ohms(0.02),
            between,
        };
        let resistor = |ohm: f64, between| PartKind::Resistor {
            resistance: Ohms(ohm),
            between,
        };
        let coil = PartKind::Inductor {
            inductance: Henries(1e-3),
            dcr: Ohms(0.3),
            between: [hot, NodeId::GND],
        };
        let driver = PartKind::Driver {
            driver: "mid".to_owned(),
            between: [hot, NodeId::GND],
            inverted: false,
        };
        for (name, kind) in [
            ("C1", capacitor(1e-5, [NodeId::IN, top])),
            ("R1", resistor(9.1, [top, hot])),
            ("C2", capacitor(2.2e-6, [top, hot])),
            ("L1", coil),
            ("MID", driver),
        ] {
            network.insert(name, Part::new(kind));
        }
        let place = find_pad(&network, "mid").unwrap();
        assert_eq!(place.bridge, ["C2"]);
        let mut load = PadLoad::resistor(8.0);
        let omega = load.grid.omega().to_vec();
        load.z_ohm = Spectrum::from_fn(omega.len(), |i| Complex64::new(6.0, 1e-4 * omega[i]));
        let load = load.beside(&network, &place, &|_| None);
        let tap = Pad::Autoformer {
            ratio: 0.4,
            shunt_ohm: Some(18.0),
        };
        let sized = [PadKind::LPad, PadKind::Series, PadKind::ShuntSeries]
            .map(|kind| Pad::size(kind, 9.0, 8.0).unwrap());
        for pad in sized.into_iter().chain([tap]) {
            let with = place.with_pad(&network, Some(pad));
            let plan = Plan::compile(&with).unwrap();
            let mut workspace = Workspace::new(&plan, &load.grid, &[&load.z_ohm]).unwrap();
            let mut solution = Solution::new(&plan, &workspace);
            plan.run(&Values::of(&with), &STIFF, &mut workspace, &mut solution);
            let [top, hot] = ["top", "hot"].map(|name| with.find_node(name).unwrap());
            for i in 0..load.grid.len() {
                let wanted = solution.node_at(hot, i) / solution.node_at(top, i);
                let found = load.on(pad, i, Complex64::ZERO).transfer;
                let off = (found - wanted).norm() / wanted.norm();
                assert!(off < 1e-9, "{pad:?} at {i}: {off:e}");
            }
        }
    }
}

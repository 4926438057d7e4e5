//! What drives a pad: a voltage behind an impedance, over frequency.
//!
//! Any network in front of a pad is to it no more than an open-circuit voltage behind an impedance: what the nodal
//! solution gives at these two nodes. Found once, it serves every pad that is tried: with z seen at the pad's input the
//! pad gets `emf · z/(z + ahead)`.

use netlist::network::Network;
use netlist::project::Project;
use num_complex::Complex64;
use serde::Serialize;

use super::in_network::PadInNetwork;
use super::load::PadLoad;
use crate::amplifier::source_impedance;
use crate::loudspeaker::driver_behind_lead;
use crate::nodal::{Plan, PlanError, SourceImpedance, Values, Workspace};
use crate::sound::Side;
use crate::spectrum::Spectrum;
use crate::wiring::cable_ohm;

/// Where a feed comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PadSourceKind {
    /// The amplifier alone.
    Amplifier,
    /// Textbook filters of second order (Butterworth) at the driver's crossovers.
    #[serde(rename = "textbook filter")]
    Textbook,
    /// The network of the project.
    Network,
}

/// What drives a pad.
#[derive(Debug, Clone)]
pub struct PadSource {
    /// Where it comes from.
    pub kind: PadSourceKind,
    /// Open-circuit voltage at the pad's place for 1 V open circuit of the amplifier.
    pub emf: Spectrum,
    /// Impedance looking back from the pad, in ohm.
    pub source_ohm: Spectrum,
    /// Open-circuit voltage of the amplifier with which heat is worked out, rms: for programme and for a sine.
    pub open_circuit_v: f64,
}

impl PadSource {
    /// The same at another open-circuit voltage than 1 V, rms.
    #[must_use]
    pub fn at_volts(self, open_circuit_v: f64) -> Self {
        Self {
            open_circuit_v,
            ..self
        }
    }

    /// The amplifier straight on the pad; its output impedance over the grid of the load.
    #[must_use]
    pub fn amplifier(load: &PadLoad, output: &SourceImpedance) -> Self {
        let points = load.grid.len();
        Self {
            kind: PadSourceKind::Amplifier,
            emf: Spectrum::from_fn(points, |_| Complex64::ONE),
            source_ohm: Spectrum::from_fn(points, |i| output.at(i)),
            open_circuit_v: 1.0,
        }
    }

    /// Textbook filters at the driver's crossovers: Butterworth, second order, of lossless parts, for a
    /// resistor `filter_ohm`. The high pass comes first. Without a crossover it is the amplifier.
    ///
    /// High pass at ω: C = 1/(√2·ω·R) in series, L = √2·R/ω across. Low pass: L = √2·R/ω in series,
    /// C = 1/(√2·ω·R) across.
    #[must_use]
    pub fn textbook(load: &PadLoad, output: &SourceImpedance, filter_ohm: f64) -> Self {
        let mut feed = Self::amplifier(load, output);
        if load.crossovers.is_empty() {
            return feed;
        }
        feed.kind = PadSourceKind::Textbook;
        let root = std::f64::consts::SQRT_2;
        for &(crossover_hz, side) in &load.crossovers {
            for (i, f_hz) in load.grid.f_hz().iter().enumerate() {
                let ratio = f_hz / crossover_hz;
                let coil = Complex64::new(0.0, root * filter_ohm * ratio);
                let capacitor = Complex64::new(0.0, -root * filter_ohm / ratio);
                let (series, shunt) = match side {
                    Side::Rising => (capacitor, coil),
                    Side::Falling => (coil, capacitor),
                };
                let ahead = feed.source_ohm.at(i) + series;
                let divided = shunt / (ahead + shunt);
                feed.emf.set(i, feed.emf.at(i) * divided);
                feed.source_ohm.set(i, ahead * divided);
            }
        }
        feed
    }

    /// The network of a project in front of a driver's pad, with the real loads of the other drivers; cable and
    /// leads are taken into amplifier and drivers.
    ///
    /// # Errors
    /// If the network without the pad cannot be solved.
    pub fn network(
        project: &Project,
        network: &Network,
        place: &PadInNetwork,
        load: &PadLoad,
    ) -> Result<Self, PlanError> {
        let bare = place.without_pad(network);
        let plan = Plan::compile(&bare)?;
        // Drivers across this one are not there.
        let own = network.driver_names().nth(place.driver_number);
        let mut left = plan.drivers().iter();
        let number = left
            .position(|name| Some(name.as_str()) == own)
            .unwrap_or_default();
        let Some((output, _)) = plan.driver_outputs().nth(number) else {
            unreachable!("the place was found in this network");
        };
        let source = source_impedance(&project.amplifier, &load.grid).plus(cable_ohm(project));
        let loads: Vec<Spectrum> = (plan.drivers().iter())
            .map(|name| driver_behind_lead(project, name, &load.grid).z_ohm)
            .collect();
        let mut workspace = Workspace::new(&plan, &load.grid, &loads.iter().collect::<Vec<_>>())?;
        let ports = plan.ports(&Values::of(&bare), &mut workspace);
        let [plus, minus] = [output.positive, output.negative].map(|node| node.0);
        let mut feed = Self {
            kind: PadSourceKind::Network,
            emf: Spectrum::zeros(load.grid.len()),
            source_ohm: Spectrum::zeros(load.grid.len()),
            open_circuit_v: 1.0,
        };
        for i in 0..load.grid.len() {
            let volts = ports.transfer(i)[plus] - ports.transfer(i)[minus];
            let amplifier_ohm = source.at(i);
            let less = (1.0 + amplifier_ohm * ports.admittance(i)).inv();
            // With the driver there; without it an impedance more is seen, and no current flows in that.
            let own_ohm = loads[number].at(i);
            let seen_ohm = ports.between(i, [plus, minus], [plus, minus])
                + amplifier_ohm * volts * volts * less;
            let source_ohm = seen_ohm / (1.0 - seen_ohm / own_ohm);
            // A filter that lets nothing at all through has no impedance to speak of.
            let source_ohm = if source_ohm.is_finite() {
                source_ohm
            } else {
                Complex64::ZERO
            };
            (feed.emf).set(i, volts * less * (1.0 + source_ohm / own_ohm));
            feed.source_ohm.set(i, source_ohm);
        }
        Ok(feed)
    }
}

//! What a goal is about: what is acceptable, what may be moved, and the loudspeaker around the network.

use super::target::Targets;
use crate::grid::Grid;
use crate::nodal::Drive;
use crate::spectrum::Spectrum;

/// Deviations that are just acceptable; a term counts the square of its own over this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// Rms deviation of the sum from the aim, dB; infinite leaves the sum out.
    pub sum_db: f64,
    /// Match of each way, dB.
    pub match_db: f64,
    /// Phase match at each crossover, degrees; infinite leaves it out.
    pub phase_deg: f64,
    /// Load below the least allowed, as a share of it.
    pub load: f64,
    /// Level given away where no level is asked for, dB; infinite makes it worth nothing.
    pub level_db: f64,
    /// Voltage of a delicate driver at and below its resonance beyond what is allowed, dB.
    pub protection_db: f64,
}

/// A delicate driver that is to be kept from its resonance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Protected {
    /// Its way.
    pub way: usize,
    /// Its resonance, Hz.
    pub resonance_hz: f64,
    /// Its lower crossover, Hz.
    pub crossover_hz: f64,
    /// Most voltage at and below the resonance, against that which its target asks for at the crossover, dB.
    pub most_db: f64,
}

/// What a part's loss does when its value moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueLaw {
    /// The loss stays.
    FixedLoss,
    /// `loss = scale · value^exponent`: a coil of given wire.
    Power {
        /// Loss at a value of 1.
        scale: f64,
        /// Exponent.
        exponent: f64,
    },
}

impl ValueLaw {
    /// The loss that belongs to a value, given the present one.
    #[must_use]
    pub fn loss(self, value: f64, present: f64) -> f64 {
        match self {
            ValueLaw::FixedLoss => present,
            ValueLaw::Power { scale, exponent } => scale * value.powf(exponent),
        }
    }

    pub(super) fn derivative(self, value: f64) -> f64 {
        match self {
            ValueLaw::FixedLoss => 0.0,
            ValueLaw::Power { scale, exponent } => scale * exponent * value.powf(exponent - 1.0),
        }
    }
}

/// A part value that may be moved; the search works on its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variable {
    /// Position of the part in the network.
    pub part: usize,
    /// What its loss does.
    pub law: ValueLaw,
}

/// What an [`Objective`] is about, besides the network.
#[derive(Debug, Clone)]
pub struct Setting<'a> {
    /// Frequencies; those of everything else here.
    pub grid: &'a Grid,
    /// The amplifier.
    pub drive: Drive,
    /// Impedance of the driver of each way, ohm.
    pub loads_z_ohm: Vec<&'a Spectrum>,
    /// Sound of each way for one volt at its driver, at the listener, in pascal.
    pub sound: Vec<&'a Spectrum>,
    /// Targets of the ways.
    pub targets: Targets,
    /// Least load asked for, ohm.
    pub least_load_ohm: f64,
    /// What is acceptable.
    pub weights: Weights,
    /// Aim level, dB SPL; `None` lets the search find it.
    pub level_db: Option<f64>,
    /// Level of the least sensitive driver: as loud as it could be, dB SPL.
    pub loudest_db: f64,
    /// Delicate drivers.
    pub protected: Vec<Protected>,
}

//! What drives a network: a voltage behind an impedance.

use std::sync::Arc;

use num_complex::Complex64;

use super::lanes::{LANES, Lanes};
use crate::spectrum::Spectrum;

/// The amplifier as the network meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Open-circuit voltage, rms; must not be 0. The same at all frequencies.
    pub open_circuit_v: f64,
    /// What is between that voltage and `in`.
    pub output_impedance_ohm: SourceImpedance,
}

/// One volt without impedance, for what does not depend on the amplifier.
pub const STIFF: Drive = Drive {
    open_circuit_v: 1.0,
    output_impedance_ohm: SourceImpedance::NONE,
};

/// The impedance behind which a network is driven, ohm.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceImpedance {
    /// A resistance, 0 or more, at all frequencies.
    Resistance(f64),
    /// A value for each frequency of the grid that the network is solved on.
    Over(Arc<Spectrum>),
}

impl From<f64> for SourceImpedance {
    fn from(ohm: f64) -> Self {
        Self::Resistance(ohm)
    }
}

impl SourceImpedance {
    /// None at all: the voltage at `in` is held whatever the network draws.
    pub const NONE: Self = Self::Resistance(0.0);

    /// Whether it is none at any frequency.
    #[must_use]
    pub fn is_none(&self) -> bool {
        match self {
            Self::Resistance(ohm) => *ohm <= 0.0,
            Self::Over(z_ohm) => z_ohm.iter().all(|z| z == Complex64::ZERO),
        }
    }

    /// At a place of the grid, ohm.
    #[must_use]
    pub fn at(&self, i: usize) -> Complex64 {
        match self {
            Self::Resistance(ohm) => (*ohm).into(),
            Self::Over(z_ohm) => z_ohm.at(i),
        }
    }

    /// With a resistance in series, ohm.
    #[must_use]
    pub fn plus(&self, ohm: f64) -> Self {
        match self {
            Self::Resistance(own) => Self::Resistance(own + ohm),
            Self::Over(z_ohm) => {
                let sum = Spectrum::from_fn(z_ohm.len(), |i| z_ohm.at(i) + ohm);
                Self::Over(Arc::new(sum))
            }
        }
    }

    /// On another grid, to which `moved` takes a spectrum of this one.
    #[must_use]
    pub fn on(&self, moved: impl FnOnce(&Spectrum) -> Spectrum) -> Self {
        match self {
            Self::Resistance(ohm) => Self::Resistance(*ohm),
            Self::Over(z_ohm) => Self::Over(Arc::new(moved(z_ohm))),
        }
    }

    /// One chunk of a grid of `points` frequencies; lanes beyond it repeat the last.
    #[inline(always)]
    pub(crate) fn lanes(&self, chunk: usize, points: usize) -> Lanes {
        match self {
            Self::Resistance(ohm) => Lanes::real(*ohm),
            Self::Over(z_ohm) => lanes_of(z_ohm, chunk, points),
        }
    }
}

/// One chunk of a spectrum; lanes beyond its end repeat the last frequency.
pub(crate) fn lanes_of(spectrum: &Spectrum, chunk: usize, points: usize) -> Lanes {
    let mut lanes = Lanes::ZERO;
    for lane in 0..LANES {
        let at = (chunk * LANES + lane).min(points - 1);
        lanes.set_lane(lane, spectrum.at(at));
    }
    lanes
}

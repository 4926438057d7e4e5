//! What a pad should be.

use super::study::Study;
use crate::synthesis::PadKind;

/// What the decibels of a target are counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// From the pad's input: [`Study::mean_db`].
    Attenuation,
    /// From what the driver gets straight on the feed: [`Study::insertion_db`].
    Insertion,
}

impl Counted {
    /// The decibels of a pad, in the mean over the driver's band.
    pub(super) fn of(self, study: &Study) -> f64 {
        match self {
            Self::Attenuation => study.mean_db,
            Self::Insertion => study.insertion_db,
        }
    }
}

/// What a pad should be.
#[derive(Debug, Clone, PartialEq)]
pub struct PadTarget {
    /// How it is built.
    pub kind: PadKind,
    /// Mean attenuation over the driver's band, in dB.
    pub attenuation_db: f64,
    /// What these decibels are counted from.
    pub counted: Counted,
    /// |Z| to keep, one a frequency of the load's grid, in ohm: what the filter should see; for a pad that
    /// stands before the filter, what the filter should be driven from.
    pub kept_ohm: Vec<f64>,
    /// Least |Z| that the filter may see, in ohm; 0 for no limit.
    pub least_ohm: f64,
    /// Turns ratios of the taps at hand, for an autoformer; none for a winding to order, which has any.
    pub taps: Vec<f64>,
}

impl PadTarget {
    /// The same for another attenuation.
    #[must_use]
    pub fn at(&self, attenuation_db: f64) -> Self {
        Self {
            attenuation_db,
            ..self.clone()
        }
    }
}

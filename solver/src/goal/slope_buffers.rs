//! Where the slopes of the goal are worked out, allocated once.

use super::terms::Terms;
use crate::spectrum::Spectrum;

/// Coefficients of one term, over its frequencies.
#[derive(Debug, Clone)]
pub(super) struct TermCoefficients {
    /// Of the voltage at the driver of each way that it looks at.
    pub(super) voltage: Vec<Spectrum>,
    /// Of what a part gives to all ways through `in`.
    pub(super) drawn: Spectrum,
}

/// SlopeBuffers for the derivatives.
#[derive(Debug, Clone, Default)]
pub(super) struct SlopeBuffers {
    pub(super) terms: Vec<TermCoefficients>,
    /// One variable's own sensitivity of a way, and what it gives to all; loss included.
    pub(super) own: Spectrum,
    pub(super) drawn: Spectrum,
    pub(super) inverse_omega: Vec<f64>,
}

impl SlopeBuffers {
    pub(super) fn new(terms: &Terms, ways: usize, omega: &[f64]) -> Self {
        let coefficients = terms.list.iter().map(|term| {
            let zeros = Spectrum::zeros(term.scale.len());
            TermCoefficients {
                voltage: vec![zeros.clone(); term.about.ways(ways).len()],
                drawn: zeros,
            }
        });
        Self {
            terms: coefficients.collect(),
            own: Spectrum::zeros(omega.len()),
            drawn: Spectrum::zeros(omega.len()),
            inverse_omega: omega.iter().map(|omega| omega.recip()).collect(),
        }
    }
}

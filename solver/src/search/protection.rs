//! Diaphragms with little room to move, kept from their resonance by the filter.
//!
//! Below its resonance, where a horn no longer loads it, a diaphragm moves about as far at every frequency
//! for one voltage; so the largest voltage there against that at the crossover says how far it moves.

use netlist::network::Network;
use serde::Serialize;

use super::assess::SolvedWays;
use super::job::Job;
use crate::goal::Protected;

/// A delicate driver that gets more than this below its resonance is not kept from it at all.
const UNPROTECTED_DB: f64 = -3.0;

/// Voltage of a driver at and below its resonance against that at its lower crossover.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BelowResonance {
    /// At the resonance, dB.
    pub at_resonance_db: f64,
    /// The most at or below the resonance, dB.
    pub most_db: f64,
    /// Where that is, Hz.
    pub most_at_hz: f64,
    /// An octave below the resonance, or at the lowest frequency there is, dB.
    pub octave_below_db: f64,
}

impl Job {
    /// Delicate drivers with something below them that could carry on: all but the lowest way.
    #[must_use]
    pub fn protected(&self) -> Vec<Protected> {
        (1..self.ways.len())
            .filter_map(|way| {
                let resonance_hz = self.ways[way].resonance_hz?;
                self.ways[way].delicate.then_some(Protected {
                    way,
                    resonance_hz,
                    crossover_hz: self.crossovers[way - 1].frequency.0,
                    most_db: self.most_below_resonance_db,
                })
            })
            .collect()
    }
}

/// Looks at a driver's voltage, one value a frequency of `f_hz`; `None` without a frequency.
#[must_use]
pub fn below_resonance(
    f_hz: &[f64],
    voltage: impl Fn(usize) -> f64,
    resonance_hz: f64,
    crossover_hz: f64,
) -> Option<BelowResonance> {
    let level_db = |i: usize| 20.0 * voltage(i).max(1e-12).log10();
    let nearest = |hz: f64| {
        let off = |i: usize| (f_hz[i] / hz).ln().abs();
        (0..f_hz.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))
    };
    let at_crossover_db = level_db(nearest(crossover_hz)?);
    let at_resonance = nearest(resonance_hz)?;
    let most = (0..=at_resonance).max_by(|&a, &b| level_db(a).total_cmp(&level_db(b)))?;
    Some(BelowResonance {
        at_resonance_db: level_db(at_resonance) - at_crossover_db,
        most_db: level_db(most) - at_crossover_db,
        most_at_hz: f_hz[most],
        octave_below_db: level_db(nearest(0.5 * resonance_hz)?) - at_crossover_db,
    })
}

/// By how much a network gives a delicate driver more than [`UNPROTECTED_DB`] at or below its resonance, dB; the most of
/// all drivers.
pub(super) fn wide_open_db(job: &Job, network: &Network) -> f64 {
    let Ok(solved) = SolvedWays::of(job, network) else {
        return 0.0;
    };
    let excess = job.protected().into_iter().filter_map(|protected| {
        let voltage = |i: usize| solved.voltage[protected.way].at(i).norm();
        let (resonance_hz, crossover_hz) = (protected.resonance_hz, protected.crossover_hz);
        below_resonance(job.grid.f_hz(), voltage, resonance_hz, crossover_hz)
            .map(|below| below.most_db - UNPROTECTED_DB)
    });
    excess.fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A second-order Butterworth high pass has `1/√(1 + (f₀/f)⁴)`: against its corner, where it is 3 dB
    /// down, 9.3 dB less an octave below.
    #[test]
    fn butterworth_an_octave_above_the_resonance() {
        let f_hz: Vec<f64> = (0..400).map(|i| 100.0 * 1.01f64.powi(i)).collect();
        let voltage = |i: usize| (1.0 + (1000.0 / f_hz[i]).powi(4)).sqrt().recip();
        let found = below_resonance(&f_hz, voltage, 500.0, 1000.0).unwrap();
        assert!((found.at_resonance_db + 9.29).abs() < 0.1, "{found:?}");
        assert!((found.most_db - found.at_resonance_db).abs() < 1e-12);
        assert!((found.octave_below_db + 21.1).abs() < 0.2, "{found:?}");
        // A peak below the resonance counts.
        let peak = |i: usize| if i == 10 { 2.0 } else { voltage(i) };
        let found = below_resonance(&f_hz, peak, 500.0, 1000.0).unwrap();
        assert!(found.most_db > 8.9 && (found.most_at_hz - f_hz[10]).abs() < 1e-9);
        assert!(below_resonance(&[], voltage, 500.0, 1000.0).is_none());
    }
}

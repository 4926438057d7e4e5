//! Which further measurement would best tell the likely hypotheses apart.
//!
//! What a measurement is expected to tell, in bits, is the mutual information between it and which of the
//! hypotheses holds. With the divergence `D_ij` of the curves of two of them (half the squares of their
//! difference over the noise, after everything that may differ has been fitted), a lower bound is, after
//! Kolchinsky and Tracey, Entropy 19 (2017) 361, with Bhattacharyya distances `D_ij / 4`,
//!
//! ```text
//! I ≥ −Σ_i p_i log₂ Σ_j p_j e^(−D_ij/4)
//! ```

use serde::Serialize;

use super::assembly::{Assembly, AssemblyCurve};
use super::bench::{Bench, SweepGrid};
use super::evidence::Normal;
use super::fit::rows;
use super::rank::{RankedBuild, Ranking};
use crate::grid::Grid;

/// A further measurement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Next {
    /// What to measure.
    pub measure: NextMeasure,
    /// The driver that it is about.
    pub driver: String,
    /// What it is expected to tell, bit.
    pub gain: f64,
}

/// What may be measured next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NextMeasure {
    /// The impedance with one driver disconnected.
    ImpedanceWithout,
    /// The impedance with all other drivers disconnected.
    ImpedanceOnly,
    /// The response of one way.
    Response,
}

impl Next {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self.measure {
            NextMeasure::ImpedanceWithout => format!("impedance without {}", self.driver),
            NextMeasure::ImpedanceOnly => format!("impedance of {} alone", self.driver),
            NextMeasure::Response => format!("response of {}", self.driver),
        }
    }
}

/// Hypotheses that are looked at, and the least share of one.
const MOST: usize = 10;
const LEAST_SHARE: f64 = 0.004;
/// Points of a measurement that is thought of.
const POINTS: usize = 80;
/// Less is not worth the work, bit.
const LEAST_GAIN: f64 = 0.05;
/// Deviation of a measured response in a room: about 0.7 dB, and of its level, as logarithms.
const RESPONSE_NOISE: f64 = 0.08;
const RESPONSE_LEVEL: f64 = 0.2;

/// What is seen of one hypothesis.
struct Seen {
    rows: Vec<f64>,
    slopes: Vec<f64>,
}

/// Further measurements, the one that is expected to tell most first; none where little is left to tell.
pub(super) fn next(bench: &Bench, ranking: &Ranking) -> Vec<Next> {
    let some: Vec<&RankedBuild> = (ranking.candidates.iter())
        .filter(|candidate| candidate.share > LEAST_SHARE)
        .take(MOST)
        .collect();
    if some.len() < 2 {
        return Vec::new();
    }
    let all: f64 = some.iter().map(|candidate| candidate.share).sum();
    let p: Vec<f64> = some.iter().map(|candidate| candidate.share / all).collect();
    let assemblies: Vec<Option<Assembly>> = (some.iter())
        .map(|candidate| {
            let fit = &ranking.fits[candidate.fit];
            let own = candidate.changes == fit.changes;
            let changes = if own { &fit.start } else { &candidate.changes };
            Assembly::new(bench, changes).ok()
        })
        .collect();
    let drivers = bench.plan.drivers();
    let mut list = Vec::new();
    for (place, driver) in drivers.iter().enumerate() {
        for measure in [
            NextMeasure::ImpedanceWithout,
            NextMeasure::ImpedanceOnly,
            NextMeasure::Response,
        ] {
            if drivers.len() < 2 && measure != NextMeasure::Response {
                continue;
            }
            let set = set(bench, place, measure);
            if bench.sets.iter().any(|known| known.off == set.off)
                && measure != NextMeasure::Response
            {
                continue;
            }
            let seen: Option<Vec<Seen>> = (some.iter().zip(&assemblies))
                .map(|(candidate, assembly)| {
                    let fit = &ranking.fits[candidate.fit];
                    let state = (&fit.u[..], &fit.sigma[..]);
                    see(bench, assembly.as_ref()?, &set, state, (place, measure))
                })
                .collect();
            let weight = match measure {
                NextMeasure::Response => vec![RESPONSE_NOISE.powi(-2); POINTS],
                _ => set.weights(ranking.noise),
            };
            if let Some(seen) = seen {
                list.push(Next {
                    measure,
                    driver: driver.clone(),
                    gain: information(&p, &seen, &weight),
                });
            }
        }
    }
    list.retain(|next| next.gain >= LEAST_GAIN);
    list.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    list
}

/// The measurement that is thought of, without values.
fn set(bench: &Bench, place: usize, measure: NextMeasure) -> SweepGrid {
    let grid = Grid::log_spaced(20.0, 20e3, POINTS).expect("the audio band");
    let off = (0..bench.models.len())
        .map(|driver| match measure {
            NextMeasure::ImpedanceWithout => driver == place,
            NextMeasure::ImpedanceOnly => driver != place,
            NextMeasure::Response => false,
        })
        .collect();
    SweepGrid {
        off,
        // As dense as a sweep of 500 points.
        dense: vec![8.0; POINTS],
        ..SweepGrid::empty(bench, grid)
    }
}

fn see(
    bench: &Bench,
    assembly: &Assembly,
    set: &SweepGrid,
    state: (&[f64], &[f64]),
    (place, measure): (usize, NextMeasure),
) -> Option<Seen> {
    if measure == NextMeasure::Response {
        return Some(Seen {
            rows: assembly.ln_volts(bench, set, state, place)?,
            slopes: vec![RESPONSE_LEVEL; POINTS],
        });
    }
    let curve: AssemblyCurve = assembly.curve(bench, set, state.0, state.1)?;
    Some(Seen {
        rows: curve.ln_z.iter().map(|ln_z| ln_z.re).collect(),
        slopes: rows(set, &curve),
    })
}

fn information(p: &[f64], seen: &[Seen], weight: &[f64]) -> f64 {
    let divergence = |one: &Seen, other: &Seen| {
        let off: Vec<f64> = one
            .rows
            .iter()
            .zip(&other.rows)
            .map(|(a, b)| b - a)
            .collect();
        let normal = Normal::new(one.slopes.len() / off.len(), &one.slopes, &off, weight);
        let squares = normal.squares;
        let explained = normal.solve().map_or(0.0, |solved| solved.explained);
        0.5 * (squares - explained).max(0.0)
    };
    let mut bits = 0.0;
    for (i, one) in seen.iter().enumerate() {
        let mut sum = 0.0;
        for (j, other) in seen.iter().enumerate() {
            let apart = if i == j { 0.0 } else { divergence(one, other) };
            sum += p[j] * (-0.25 * apart).exp();
        }
        bits -= p[i] * sum.log2();
    }
    bits.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(level: f64) -> Seen {
        Seen {
            rows: vec![level; 4],
            slopes: vec![0.0; 4],
        }
    }

    #[test]
    fn nothing_is_told_of_like_curves_and_all_of_unlike_ones() {
        let p = [0.5, 0.25, 0.25];
        let weight = [1.0; 4];
        let told = |levels: [f64; 3]| information(&p, &levels.map(seen), &weight);
        assert!(told([1.0, 1.0, 1.0]).abs() < 1e-12);
        // The entropy of p is 1.5 bit.
        assert!((told([0.0, 1e3, -1e3]) - 1.5).abs() < 1e-9);
        let some = told([0.0, 2.0, 2.0]);
        assert!(some > 0.1 && some < 1.0, "{some}");
    }
}

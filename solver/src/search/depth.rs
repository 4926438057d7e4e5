//! What the depth between acoustic centres does to a crossover, and slopes that suit it.

use netlist::project::{Alignment, AlignmentPair, Family};
use netlist::quantity::Quantity;

use super::job::Job;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::sound::unevenness_db;

/// The cost of depth at one crossover.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// How much farther the upper driver is, in metre; negative when it is nearer.
    pub offset_m: f64,
    /// The angle that this is at the crossover, degrees.
    pub angle_deg: f64,
    /// Largest deviation of the ideal slopes' sum from flat within an octave of the crossover with
    /// this offset, dB.
    pub deviation_db: f64,
    /// The same without the offset.
    pub deviation_aligned_db: f64,
}

/// Depth at each crossover, for given alignments.
#[must_use]
pub fn depths(job: &Job, alignments: &[AlignmentPair]) -> Vec<Depth> {
    (alignments.iter().enumerate())
        .map(|(c, &pair)| {
            let f_hz = job.crossovers[c].frequency.si();
            Depth::at(pair, f_hz, job.later_s(c))
        })
        .collect()
}

impl Depth {
    /// Where the upper way comes `delay_s` later.
    #[must_use]
    pub fn at(pair: AlignmentPair, f_hz: f64, delay_s: f64) -> Self {
        Self {
            offset_m: delay_s * SPEED_OF_SOUND_M_PER_S,
            angle_deg: 360.0 * f_hz * delay_s,
            deviation_db: deviation_db(pair, f_hz, delay_s),
            deviation_aligned_db: deviation_db(pair, f_hz, 0.0),
        }
    }
}

/// The slopes whose ideal sum suffers least where the upper way comes `delay_s` later.
#[must_use]
pub fn slopes_for(f_hz: f64, delay_s: f64) -> AlignmentPair {
    best_pairs(f_hz, delay_s)[0]
}

/// Largest deviation of the sum of two ideal slopes from flat within an octave, with the better
/// polarity, when the upper way comes `delay_s` later.
fn deviation_db(pair: AlignmentPair, f_hz: f64, delay_s: f64) -> f64 {
    let [as_wired, swapped] = unevenness_db(pair, f_hz, delay_s);
    as_wired.min(swapped)
}

/// Pairs that compete at a crossover where the choice is ours.
const PAIRS: usize = 3;
/// Most sets of slopes that are tried.
const CHOICES: usize = 8;

/// Slopes to try, one pair a crossover in each set: those asked for, and where that is "auto" the
/// pairs whose ideal sum suffers least from the depth at hand, with the usual fourth-order ones.
#[must_use]
pub fn alignment_choices(job: &Job) -> Vec<Vec<AlignmentPair>> {
    let mut sets: Vec<Vec<AlignmentPair>> = vec![Vec::new()];
    for (c, crossover) in job.crossovers.iter().enumerate() {
        let pairs = match crossover.alignment {
            Some(pair) => vec![pair],
            None => best_pairs(crossover.frequency.si(), job.later_s(c)),
        };
        // The best pairs of all crossovers come first, and stay when there are too many sets.
        sets = (pairs.iter())
            .flat_map(|&pair| {
                sets.iter().map(move |set| {
                    let mut set = set.clone();
                    set.push(pair);
                    set
                })
            })
            .collect();
    }
    sets.truncate(CHOICES);
    sets
}

/// The slopes that suit the depth best when they are ideal; those asked for where some are.
#[must_use]
pub fn choose_alignments(job: &Job) -> Vec<AlignmentPair> {
    alignment_choices(job).swap_remove(0)
}

/// The best pairs for an offset, best first, and the usual one.
fn best_pairs(f_hz: f64, delay_s: f64) -> Vec<AlignmentPair> {
    use Family::{Bessel, Butterworth, LinkwitzRiley};
    // Below the second order a compression driver is not protected (common practice).
    let sides: Vec<Alignment> = [
        (LinkwitzRiley, 2),
        (Bessel, 2),
        (Butterworth, 3),
        (Bessel, 3),
        (LinkwitzRiley, 4),
        (Butterworth, 4),
        (Bessel, 4),
        (LinkwitzRiley, 6),
    ]
    .into_iter()
    .map(|(family, order)| Alignment { family, order })
    .collect();
    let usual = AlignmentPair {
        lower: sides[4],
        upper: sides[4],
    };
    let mut ranked: Vec<(f64, AlignmentPair)> = (sides.iter())
        .flat_map(|&lower| {
            (sides.iter()).map(move |&upper| {
                let pair = AlignmentPair { lower, upper };
                let orders = f64::from(lower.order + upper.order);
                // Of pairs that are alike the usual orders win.
                let cost = deviation_db(pair, f_hz, delay_s) + 0.05 * (orders - 8.0).abs();
                (cost, pair)
            })
        })
        .collect();
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut pairs: Vec<AlignmentPair> = ranked.iter().take(PAIRS).map(|(_, pair)| *pair).collect();
    if !pairs.contains(&usual) {
        pairs.push(usual);
    }
    pairs
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    /// A third-order Butterworth slope and a fourth-order Linkwitz–Riley one are 45° apart, so that it matters which of
    /// the two comes later, whatever the polarity: by their polynomials.
    #[test]
    fn the_upper_way_comes_later() {
        let pair = AlignmentPair {
            lower: Alignment {
                family: Family::Butterworth,
                order: 3,
            },
            upper: Alignment {
                family: Family::LinkwitzRiley,
                order: 4,
            },
        };
        let f_hz = 1000.0;
        let most_db = |delay_s: f64| {
            let with = |sign: f64| {
                let off_db = (0..=400).map(|i| {
                    let x = 0.5 * 4f64.powf(f64::from(i) / 400.0);
                    let s = Complex64::new(0.0, x);
                    let lower = ((s + 1.0) * (s * s + s + 1.0)).inv();
                    let upper = s.powi(4) / (s * s + 2f64.sqrt() * s + 1.0).powi(2);
                    let late =
                        Complex64::from_polar(sign, -std::f64::consts::TAU * x * f_hz * delay_s);
                    let sum = lower + upper * late;
                    20.0 * sum.norm().log10().abs()
                });
                off_db.fold(0.0, f64::max)
            };
            with(1.0).min(with(-1.0))
        };
        for delay_s in [-0.2e-3, -0.1e-3, 0.0, 0.06e-3, 0.15e-3] {
            let found = deviation_db(pair, f_hz, delay_s);
            let right = most_db(delay_s);
            assert!((found - right).abs() < 0.02, "{delay_s}: {found} {right}");
        }
        assert!((most_db(0.15e-3) - most_db(-0.15e-3)).abs() > 0.3);
    }
}

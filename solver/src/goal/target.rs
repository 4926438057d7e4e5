//! What each way and the sum should be, over a grid.

use netlist::project::{Aim, AlignmentPair, Crossover};
use num_complex::Complex64;

use crate::grid::Grid;
use crate::sound::{self, Coherence, Side};
use crate::spectrum::Spectrum;

/// Below this level under the aim a way's target is not looked at.
const MATCH_FLOOR_DB: f64 = -24.0;
/// Above this level under the aim it counts in full.
const MATCH_FULL_DB: f64 = -12.0;

/// How much a way counts where it is so many dB above the aim's level: not at all where it is inaudible
/// beside the others.
pub(crate) fn match_weight(relative_db: f64) -> f64 {
    ((relative_db - MATCH_FLOOR_DB) / (MATCH_FULL_DB - MATCH_FLOOR_DB)).clamp(0.0, 1.0)
}

/// Target of one way.
#[derive(Debug, Clone, PartialEq)]
pub struct WayTarget {
    /// Level of the target relative to the aim level, tilt included, in dB.
    pub level_db: Vec<f64>,
    /// Weight of each frequency in the match, from 0 to 1.
    pub weight: Vec<f64>,
}

/// Targets of all ways, lowest first, and of the sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Ways, lowest first.
    pub ways: Vec<WayTarget>,
    /// The aim relative to its level, in dB: the tilt.
    pub tilt_db: Vec<f64>,
    /// Whether a frequency is in the aim's band; beyond it only the load is judged.
    pub judged: Vec<bool>,
    /// For each crossover, whether a frequency is within half an octave of it.
    pub near_crossover: Vec<Vec<bool>>,
    /// For each crossover, what turns the phase between its two ways to 0 where it is as it should be.
    pub between: Vec<PhaseReference>,
    /// How the ways add where the sum is judged; `None` on the axis.
    pub window: Option<Coherence>,
}

/// The phase between the two ways of a crossover that its alignment asks for.
///
/// The two sides of an even alignment are in phase, or opposed so that one driver's wires are swapped;
/// those of an odd one are a quarter of a turn apart, and its sum is flat with either polarity.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseReference {
    /// For each polarity in which the alignment's own sum is as flat as it can be: unit numbers over
    /// the grid, `conj(falling · conj(rising))` over its size, with the polarity's sign.
    pub turns: Vec<Spectrum>,
}

/// Of the two polarities, one whose ideal sum is this much less flat than the other's is wrong, dB.
const POLARITY_WITHIN_DB: f64 = 0.5;

impl PhaseReference {
    /// For an alignment pair at a crossover, over `grid`.
    #[must_use]
    pub fn new(pair: AlignmentPair, crossover_hz: f64, grid: &Grid) -> Self {
        let uneven_db = sound::unevenness_db(pair, crossover_hz, 0.0);
        let least_db = uneven_db[0].min(uneven_db[1]);
        let falling = sound::target(pair.lower, Side::Falling, crossover_hz, grid);
        let rising = sound::target(pair.upper, Side::Rising, crossover_hz, grid);
        let turns = [1.0, -1.0]
            .into_iter()
            .zip(uneven_db)
            .filter(|&(_, db)| db <= least_db + POLARITY_WITHIN_DB)
            .map(|(sign, _)| {
                Spectrum::from_fn(grid.len(), |i| {
                    let between = (falling.at(i) * rising.at(i).conj() * sign).conj();
                    let size = between.norm();
                    if size > 0.0 {
                        between / size
                    } else {
                        sign.into()
                    }
                })
            })
            .collect();
        Self { turns }
    }

    /// Number of the polarity to count from: the one from which the ways are off least in the mean.
    /// `between` is `lower · conj(upper)` at a frequency of `near`.
    pub fn nearest(
        &self,
        near: impl Iterator<Item = usize> + Clone,
        between: impl Fn(usize) -> Complex64,
    ) -> usize {
        if self.turns.len() < 2 {
            return 0;
        }
        let off = |turn: &Spectrum| -> f64 {
            near.clone()
                .map(|i| (between(i) * turn.at(i)).arg().abs())
                .sum()
        };
        usize::from(off(&self.turns[1]) < off(&self.turns[0]))
    }
}

impl Targets {
    /// Targets for crossovers (lowest first) with given alignments.
    ///
    /// # Panics
    /// If there is not one alignment pair a crossover.
    #[must_use]
    pub fn new(
        aim: &Aim,
        crossovers: &[Crossover],
        alignments: &[AlignmentPair],
        grid: &Grid,
    ) -> Self {
        assert_eq!(
            crossovers.len(),
            alignments.len(),
            "one alignment pair a crossover"
        );
        let tilt_db: Vec<f64> = (grid.f_hz().iter()).map(|f| aim.tilt_db(*f)).collect();
        let (from_hz, to_hz) = (aim.from.0, aim.to.0);
        let judged: Vec<bool> = (grid.f_hz().iter())
            .map(|f| *f >= from_hz && *f <= to_hz)
            .collect();
        let ones = Spectrum::from_fn(grid.len(), |_| 1.0.into());
        let mut shapes = vec![ones; crossovers.len() + 1];
        for (i, (crossover, pair)) in crossovers.iter().zip(alignments).enumerate() {
            let f_hz = crossover.frequency.0;
            let falling = sound::target(pair.lower, Side::Falling, f_hz, grid);
            let rising = sound::target(pair.upper, Side::Rising, f_hz, grid);
            shapes[i] = shapes[i].times(&falling);
            shapes[i + 1] = shapes[i + 1].times(&rising);
        }
        let ways = shapes
            .into_iter()
            .map(|shape| {
                let relative_db: Vec<f64> =
                    shape.iter().map(|t| sound::gain_db(t.norm())).collect();
                let weight = (relative_db.iter().zip(&judged))
                    .map(|(&db, &judged)| if judged { match_weight(db) } else { 0.0 })
                    .collect();
                let level_db = relative_db
                    .iter()
                    .zip(&tilt_db)
                    .map(|(a, b)| a + b)
                    .collect();
                WayTarget { level_db, weight }
            })
            .collect();
        let half_octave = std::f64::consts::SQRT_2;
        let near_crossover = crossovers
            .iter()
            .map(|crossover| {
                let f0 = crossover.frequency.0;
                let near = |f: &f64| *f >= f0 / half_octave && *f <= f0 * half_octave;
                grid.f_hz().iter().map(near).collect()
            })
            .collect();
        let between = crossovers
            .iter()
            .zip(alignments)
            .map(|(crossover, &pair)| PhaseReference::new(pair, crossover.frequency.0, grid))
            .collect();
        Self {
            ways,
            tilt_db,
            judged,
            near_crossover,
            between,
            window: None,
        }
    }

    /// The same judged over a window: each way's level and that of the sum are those of their mean power over it.
    #[must_use]
    pub fn over_window(mut self, window: Coherence) -> Self {
        for (way, target) in self.ways.iter_mut().enumerate() {
            // As much more on the axis as the way loses over the window.
            for (i, level_db) in target.level_db.iter_mut().enumerate() {
                let kept = window.of_way(way, i).max(LEAST_KEPT);
                *level_db -= 10.0 * kept.log10();
            }
        }
        self.window = Some(window);
        self
    }

    /// Level of the sum where it is judged, dB SPL, of ways with these sounds on the axis.
    #[must_use]
    pub fn sum_db(&self, i: usize, ways: &[Spectrum]) -> f64 {
        let sounds: Vec<Complex64> = ways.iter().map(|way| way.at(i)).collect();
        Coherence::judged_db(self.window.as_ref(), i, &sounds)
    }
}

/// A way that loses more than this over the window is not asked to make up for it: 6 dB.
const LEAST_KEPT: f64 = 0.25;

//! How the ways of a loudspeaker add over a window of directions.
//!
//! With p the sounds of the ways on the axis and d what becomes of each in a direction, the mean power over the window
//! is Σ w·|Σ p_a·d_a|² = Σ_ab p_a·p_b*·G_ab, G_ab = Σ w·d_a·d_b*: a Hermitian form in the sounds on the axis, whose
//! coefficients no network changes. On the axis alone all G are 1 and it is |Σ p|².

use netlist::project::{Driver, Plane};
use num_complex::Complex64;

use super::directivity::Directivity;
use super::ear::Ear;
use super::level::power_level_db;
use super::way::way_of;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// The form over a grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Coherence {
    ways: usize,
    /// G_ab for a ≤ b, row by row.
    upper: Vec<Spectrum>,
}

impl Coherence {
    /// Of drivers in order, over directions with weights that add to 1.
    #[must_use]
    pub fn over(
        rays: &[((Plane, i32), f64)],
        drivers: &[&Driver],
        ear: &Ear,
        pivot: [f64; 3],
        grid: &Grid,
    ) -> Self {
        let ways = drivers.len();
        let leaves: Vec<Directivity> = (drivers.iter())
            .map(|driver| Directivity::of(driver, grid))
            .collect();
        let heard = |way: usize, ear: &Ear| way_of(&drivers[way].position, &leaves[way], ear, grid);
        let axis: Vec<Spectrum> = (0..ways).map(|way| heard(way, ear)).collect();
        let mut upper = vec![Spectrum::zeros(grid.len()); ways * (ways + 1) / 2];
        for &((plane, angle), weight) in rays {
            let turned = match angle {
                0 => *ear,
                _ => ear.turned(plane, f64::from(angle), pivot),
            };
            let becomes: Vec<Spectrum> = (axis.iter().enumerate())
                .map(|(way, axis)| {
                    let there = heard(way, &turned);
                    Spectrum::from_fn(grid.len(), |i| there.at(i) / axis.at(i))
                })
                .collect();
            let mut pair = 0;
            for a in 0..ways {
                for b in a..ways {
                    let form = &mut upper[pair];
                    for i in 0..grid.len() {
                        let product = becomes[a].at(i) * becomes[b].at(i).conj();
                        form.set(i, form.at(i) + weight * product);
                    }
                    pair += 1;
                }
            }
        }
        Self { ways, upper }
    }

    /// G_ab for a ≤ b, row by row.
    #[must_use]
    pub fn pairs(&self) -> &[Spectrum] {
        &self.upper
    }

    fn pair(&self, a: usize, b: usize) -> usize {
        a * self.ways - a * (a + 1) / 2 + b
    }

    /// Mean power of one way alone over the window against that on the axis.
    #[must_use]
    pub fn of_way(&self, way: usize, i: usize) -> f64 {
        self.upper[self.pair(way, way)].re[i]
    }

    /// G_ab.
    #[inline(always)]
    #[must_use]
    pub fn between(&self, a: usize, b: usize, i: usize) -> Complex64 {
        if a <= b {
            self.upper[self.pair(a, b)].at(i)
        } else {
            self.upper[self.pair(b, a)].at(i).conj()
        }
    }

    /// Mean power over the window at frequency `i`, the ways having these sounds on the axis.
    #[inline(always)]
    #[must_use]
    pub fn power(&self, i: usize, sound: impl Fn(usize) -> Complex64) -> f64 {
        let mut power = 0.0;
        for a in 0..self.ways {
            let one = sound(a);
            power += one.norm_sqr() * self.of_way(a, i);
            for b in a + 1..self.ways {
                power += 2.0 * (one * sound(b).conj() * self.between(a, b, i)).re;
            }
        }
        power
    }

    /// Mean square of the sum of ways where it is judged: over the window, or on the axis where there is none.
    #[must_use]
    pub fn judged(window: Option<&Self>, i: usize, sounds: &[Complex64]) -> f64 {
        match window {
            None => sounds.iter().sum::<Complex64>().norm_sqr(),
            Some(window) => window.power(i, |way| sounds[way]).max(0.0),
        }
    }

    /// Level of that sum, dB SPL.
    #[must_use]
    pub fn judged_db(window: Option<&Self>, i: usize, sounds: &[Complex64]) -> f64 {
        power_level_db(Self::judged(window, i, sounds))
    }

    /// How the level of that sum follows the sound of each way: it changes by Re(Σ slope·δp) neper. No numbers in
    /// silence.
    #[must_use]
    pub fn judged_slopes(window: Option<&Self>, i: usize, sounds: &[Complex64]) -> Vec<Complex64> {
        let power = Self::judged(window, i, sounds);
        let sum: Complex64 = sounds.iter().sum();
        (0..sounds.len())
            .map(|way| match window {
                None => sum.conj() / power,
                Some(window) => window.slope(i, way, |other| sounds[other]) / power,
            })
            .collect()
    }

    /// Half the slope of the power in the sound of a way: it changes by 2·Re(slope·δp).
    #[must_use]
    pub fn slope(&self, i: usize, way: usize, sound: impl Fn(usize) -> Complex64) -> Complex64 {
        (0..self.ways)
            .map(|other| sound(other).conj() * self.between(way, other, i))
            .sum()
    }

    /// The same at some frequencies of its grid.
    #[must_use]
    pub fn at(&self, kept: &[usize]) -> Self {
        Self {
            ways: self.ways,
            upper: self.upper.iter().map(|all| all.picked(kept)).collect(),
        }
    }
}

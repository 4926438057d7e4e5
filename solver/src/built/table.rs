//! A measured driver's impedance and how another sample of it may differ: all of it somewhat higher or
//! lower, its resonances at somewhat other frequencies, their peaks of another height.
//!
//! `ln Z(x) = ln Z₀(x − w(x)) + g(x)` over `x = ln f`, with a constant and piecewise linear functions
//! `w` (shift) and `g` (gain) whose knots are the peaks and dips of the magnitude. Where the table has no phase, and the
//! minimum phase stands for it, `g` has an imaginary part as well, with a knot in every octave: what is not known is no
//! mistake of the builder's.

use std::f64::consts::LN_2;

use netlist::project::{Driver, Source};
use num_complex::Complex64;

use super::over::{SIGMA_ALL, SIGMA_SHIFT};
use crate::grid::Grid;
use crate::load::{Conditions, driver_load};
use crate::spectrum::unwrap;

/// Band over which a driver is known, Hz; a table's end slopes are held beyond it.
const BAND_HZ: [f64; 2] = [5.0, 60e3];
/// Points over that band: 192 to an octave.
const POINTS: usize = 2600;
/// A peak or dip that stands out by less than this share is ripple.
const LEAST_PROMINENCE: f64 = 0.08;
/// Most knots of one driver.
const MOST_KNOTS: usize = 9;
/// Standard deviation of the height of a peak: a resonance's loss varies more than its frequency, and of the two
/// peaks of a vented box one grows at the cost of the other where driver and vent are tuned apart.
const SIGMA_PEAK: f64 = 0.12;
/// The same for a dip and for the ends, beyond what moves all of it.
const SIGMA_DIP: f64 = 0.02;
/// The same of a phase that was worked out, rad: off by up to 20 degrees (judgement; what `check` says of such a phase).
const SIGMA_PHASE: f64 = 0.2;
/// Knots of that phase, an octave from each other, and where the first is, Hz.
const PHASE_KNOTS: usize = 11;
const FIRST_PHASE_KNOT_HZ: f64 = 20.0;

/// A curve with the ways in which that of another sample may differ.
#[derive(Debug, Clone)]
pub(super) struct TableModel {
    first_x: f64,
    step_x: f64,
    ln_ohm: Vec<f64>,
    phase: Vec<f64>,
    /// Knots over ln f, rising.
    knots: Vec<Knot>,
    /// Whether the phase was worked out from the magnitude.
    phase_worked_out: bool,
}

#[derive(Debug, Clone, Copy)]
struct Knot {
    x: f64,
    peak: bool,
}

impl TableModel {
    /// The driver behind a lead of that resistance, in ohm.
    pub(super) fn new(driver: &Driver, lead_ohm: f64) -> Self {
        let grid = Grid::log_spaced(BAND_HZ[0], BAND_HZ[1], POINTS).expect("a band");
        let load = driver_load(driver, &grid, &Conditions::default()).behind_lead(lead_ohm);
        let ln_ohm: Vec<f64> = load.z_ohm.iter().map(|z| z.norm().ln()).collect();
        let mut phase: Vec<f64> = load.z_ohm.iter().map(|z| z.arg()).collect();
        unwrap(&mut phase, std::f64::consts::TAU);
        let first_x = BAND_HZ[0].ln();
        let step_x = (BAND_HZ[1] / BAND_HZ[0]).ln() / (POINTS - 1) as f64;
        let knots = knots(&ln_ohm)
            .into_iter()
            .map(|(at, peak)| Knot {
                x: first_x + step_x * at as f64,
                peak,
            })
            .collect();
        Self {
            first_x,
            step_x,
            ln_ohm,
            phase,
            knots,
            phase_worked_out: match &driver.source {
                Source::Measured(measured) => measured.impedance.phase_deg.is_none(),
                Source::Cone(_) | Source::Compression(_) | Source::Horn(_) => false,
            },
        }
    }

    /// Standard deviations of the ways in which it may differ: all of it, the gain at each knot, the
    /// shift at each knot that is a peak, and the phase in each octave where it is not known.
    pub(super) fn sigmas(&self) -> Vec<f64> {
        let gains = self.knots.iter().map(|knot| match knot.peak {
            true => SIGMA_PEAK,
            false => SIGMA_DIP,
        });
        let shifts = self.knots.iter().filter(|knot| knot.peak);
        std::iter::once(SIGMA_ALL)
            .chain(gains)
            .chain(shifts.map(|_| SIGMA_SHIFT))
            .chain(std::iter::repeat_n(SIGMA_PHASE, self.phase_knots()))
            .collect()
    }

    /// Number of knots at which the phase may differ.
    fn phase_knots(&self) -> usize {
        match self.phase_worked_out {
            true => PHASE_KNOTS,
            false => 0,
        }
    }

    /// Impedance at a frequency for these differences, and its derivative in each of them, in ohm.
    pub(super) fn at(
        &self,
        f_hz: f64,
        differences: &[f64],
        slopes: &mut Vec<Complex64>,
    ) -> Complex64 {
        let x = f_hz.ln();
        let knots = self.knots.len();
        let mut gain = differences[0];
        let mut shift = 0.0;
        slopes.clear();
        slopes.push(Complex64::ONE);
        for k in 0..knots {
            let hat = hat(self.knots.len(), |k| self.knots[k].x, k, x);
            gain += hat * differences[1 + k];
            slopes.push(hat.into());
        }
        let peaks: Vec<f64> = (self.knots.iter().filter(|knot| knot.peak))
            .map(|knot| knot.x)
            .collect();
        for k in 0..peaks.len() {
            let hat = hat(peaks.len(), |k| peaks[k], k, x);
            shift += hat * differences[1 + knots + k];
            slopes.push(hat.into());
        }
        let first_turn = 1 + knots + peaks.len();
        let mut turn = 0.0;
        for k in 0..self.phase_knots() {
            let octave = |k: usize| FIRST_PHASE_KNOT_HZ.ln() + k as f64 * LN_2;
            let hat = hat(PHASE_KNOTS, octave, k, x);
            turn += hat * differences[first_turn + k];
            slopes.push(hat.into());
        }
        let (ln_z, slope) = self.ln_z(x - shift);
        let z = (ln_z + Complex64::new(gain, turn)).exp();
        for (number, derivative) in slopes.iter_mut().enumerate() {
            *derivative *= match number {
                _ if number <= knots => z,
                _ if number < first_turn => -slope * z,
                _ => Complex64::I * z,
            };
        }
        z
    }

    /// Logarithm of the impedance and its slope over ln f.
    fn ln_z(&self, x: f64) -> (Complex64, Complex64) {
        let place = ((x - self.first_x) / self.step_x).clamp(0.0, (POINTS - 1) as f64 - 1e-6);
        let (i, part) = (place as usize, place.fract());
        let at = |i: usize| Complex64::new(self.ln_ohm[i], self.phase[i]);
        let (low, high) = (at(i), at(i + 1));
        // Over a few points: a measured table's noise is no slope.
        const REACH: usize = 6;
        let (from, to) = (i.saturating_sub(REACH - 1), (i + REACH).min(POINTS - 1));
        let slope = (at(to) - at(from)) / ((to - from) as f64 * self.step_x);
        (low + (high - low) * part, slope)
    }
}

/// Piecewise linear function that is 1 at knot `k` and 0 at the others; constant beyond the ends.
fn hat(count: usize, at: impl Fn(usize) -> f64, k: usize, x: f64) -> f64 {
    let here = at(k);
    if x <= here {
        if k == 0 {
            return 1.0;
        }
        let before = at(k - 1);
        ((x - before) / (here - before)).max(0.0)
    } else {
        if k + 1 == count {
            return 1.0;
        }
        let after = at(k + 1);
        ((after - x) / (after - here)).max(0.0)
    }
}

/// Peaks (`true`) and the dips between and around them, rising; those that stand out most where there
/// are many.
fn knots(ln_ohm: &[f64]) -> Vec<(usize, bool)> {
    let mut turns: Vec<(usize, bool)> = Vec::new();
    // Turning points that the curve leaves by more than the least prominence.
    let (mut low, mut high) = (0, 0);
    let mut rising: Option<bool> = None;
    for (i, &value) in ln_ohm.iter().enumerate() {
        if value < ln_ohm[low] {
            low = i;
        }
        if value > ln_ohm[high] {
            high = i;
        }
        if rising != Some(true) && value > ln_ohm[low] + LEAST_PROMINENCE {
            turns.push((low, false));
            (high, rising) = (i, Some(true));
        } else if rising != Some(false) && value < ln_ohm[high] - LEAST_PROMINENCE {
            turns.push((high, true));
            (low, rising) = (i, Some(false));
        }
    }
    let end = ln_ohm.len() - 1;
    turns.push((end, false));
    turns.retain(|(i, peak)| !*peak || (*i > 0 && *i < end));
    // The least of the steps between neighbours goes first, with both of its ends.
    while turns.len() > MOST_KNOTS {
        let step = |k: usize| (ln_ohm[turns[k].0] - ln_ohm[turns[k + 1].0]).abs();
        let least = (0..turns.len() - 1).min_by(|&a, &b| step(a).total_cmp(&step(b)));
        let Some(k) = least else { break };
        turns.drain(k..k + 2);
    }
    turns.dedup_by_key(|turn| turn.0);
    turns
}

#[cfg(test)]
mod tests {
    use netlist::project::{Compression, Horn, LossyInductance, Resonance, Source};
    use netlist::quantity::{Decibels, Henries, Hertz, Kelvins, Ohms};

    use super::*;

    fn driver() -> Driver {
        let resonance = |r, f, q| Resonance {
            r: Ohms(r),
            f: Hertz(f),
            q,
        };
        Driver {
            count: 1,
            wired: netlist::project::Wired::Parallel,
            source: Source::Compression(Compression {
                re: Ohms(6.4),
                inductance: LossyInductance::SeriesParallel {
                    l1: Henries(0.05e-3),
                    l2: Henries(0.09e-3),
                    r2: Ohms(5.0),
                },
                resonances: vec![resonance(11.0, 385.0, 2.6), resonance(6.0, 900.0, 5.0)],
                level: Decibels(108.0),
                horn: Horn {
                    cutoff: Hertz(330.0),
                    order: 2,
                    q: 0.7,
                },
                mass_corner: None,
                top: None,
                coil_rise: Kelvins(0.0),
            }),
            usable: None,
            resonance: None,
            power: None,
            position: Default::default(),
            baffle: None,
            stands_in: None,
            instead_of: None,
            size: None,
            coverage: None,
        }
    }

    #[test]
    fn knots_are_the_resonances_and_what_lies_between_them() {
        let model = TableModel::new(&driver(), 0.0);
        let peaks: Vec<f64> = (model.knots.iter().filter(|knot| knot.peak))
            .map(|knot| knot.x.exp())
            .collect();
        assert_eq!(peaks.len(), 2, "{peaks:?}");
        assert!((peaks[0] / 385.0 - 1.0).abs() < 0.05 && (peaks[1] / 900.0 - 1.0).abs() < 0.05);
        assert!(model.knots.windows(2).all(|pair| pair[0].x < pair[1].x));
    }

    #[test]
    fn without_differences_it_is_the_driver_and_slopes_are_those_of_differences() {
        let model = TableModel::new(&driver(), 0.1);
        let mut slopes = Vec::new();
        let none = vec![0.0; model.sigmas().len()];
        for f_hz in [30.0, 200.0, 400.0, 650.0, 1000.0, 9000.0] {
            let grid = Grid::new(vec![f_hz]).unwrap();
            let right = driver_load(&driver(), &grid, &Conditions::default())
                .z_ohm
                .at(0)
                + 0.1;
            let found = model.at(f_hz, &none, &mut slopes);
            assert!(
                (found - right).norm() < 2e-3 * right.norm(),
                "{f_hz}: {found} {right}"
            );
            let slopes = slopes.clone();
            for (k, slope) in slopes.iter().enumerate() {
                let moved = |by: f64| {
                    let mut differences = none.clone();
                    differences[k] = by;
                    model.at(f_hz, &differences, &mut Vec::new())
                };
                let step = 0.02;
                let central = (moved(step) - moved(-step)) / (2.0 * step);
                let off = (central - slope).norm() / right.norm();
                assert!(off < 0.1, "{f_hz} {k}: {central} {slope}");
            }
        }
    }
}

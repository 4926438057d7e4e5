//! Noise that stands for programme: the simulated programme signal of IEC 60268-1.
//!
//! The standard gives a filter for pink noise. Pink noise has the same power in every octave, so that
//! the squared magnitude of the filter is the power of the signal over log-frequency. Here the power
//! from 20 Hz to 20 kHz is 1, and there is none outside.
//!
//! The filter, from the noise to the output (IEC 60268-1, figure of the clause on the simulated programme
//! signal): 430 Ω and 2.2 µF in series; 3.3 kΩ and 91 nF across; 330 Ω and 2.2 µF in series; 3.3 kΩ and
//! 68 nF across; 0.47 µF in series; 10 kΩ across.
//!
//! Of the two that the standard gives, the table of third-octave levels defines the signal and the filter
//! realises it: it is within all tolerances of the table, by 0.18 dB at the closest (5 kHz), and has up to
//! 12 % less power above a crossover than the table's middle (0.1021 against 0.1152 above 2.5 kHz). The filter
//! is taken here: it is what noise generators hold, has a value at every frequency, and shares
//! that depend on steps of a table would jump. A rating has far more margin than this difference.
//!
//! | file | what |
//! |---|---|
//! | `noise` | the signal as a wave, and its peaks behind a filter |
//! | `loudness` | the amplifier's rated power into its rated load, for noise and sine |

mod loudness;
mod noise;

pub use loudness::Loudness;
pub use noise::{Noise, SECONDS};

use std::f64::consts::{LN_2, TAU};

use num_complex::Complex64;

use crate::grid::Grid;

/// Ends of the band in which the signal has power, in hertz.
pub const BAND_HZ: [f64; 2] = [20.0, 20_000.0];

/// Peak over rms of the signal as it is used in power tests (IEC 60268-7 allows 1.8 to 2.2).
pub const CREST_FACTOR: f64 = 2.0;

/// Widest step of integration, in octaves; Simpson's rule is then good to far more digits than shown.
const STEP_OCTAVES: f64 = 1.0 / 24.0;

/// The standard's filter: output over the electromotive force of the noise, 10 kΩ being the only load.
#[must_use]
pub fn filter(f_hz: f64) -> Complex64 {
    let omega = TAU * f_hz;
    let series = |ohm: f64, farad: f64| Complex64::new(ohm, -1.0 / (omega * farad));
    let shunt = |ohm: f64, farad: f64| Complex64::new(1.0 / ohm, omega * farad);
    // From one volt at the output backwards.
    let mut current = Complex64::new(1.0 / 10e3, 0.0);
    let mut voltage = 1.0 + current * series(0.0, 0.47e-6);
    current += voltage * shunt(3.3e3, 68e-9);
    voltage += current * series(330.0, 2.2e-6);
    current += voltage * shunt(3.3e3, 91e-9);
    voltage += current * series(430.0, 2.2e-6);
    voltage.inv()
}

/// Share of the signal's power from `from_hz` to `to_hz`: 1 from 20 Hz to 20 kHz, 0 where the band is
/// empty or lies outside.
#[must_use]
pub fn power_share(from_hz: f64, to_hz: f64) -> f64 {
    area(from_hz, to_hz) / area(BAND_HZ[0], BAND_HZ[1])
}

/// Share of the signal's power that each frequency of a grid stands for: the power between the geometric
/// means with its neighbours, from the first frequency of the grid to the last.
///
/// The mean of anything over the signal is `Σ weight · value`: with `|V|²/R` for 1 V rms of signal the
/// power in a resistance R. A grid from 20 Hz to 20 kHz has weights of sum 1; a shorter one has the share of
/// its band. A grid of one frequency stands for the whole signal.
#[must_use]
pub fn power_weights(grid: &Grid) -> Vec<f64> {
    let f_hz = grid.f_hz();
    if f_hz.len() == 1 {
        return vec![1.0];
    }
    let whole = area(BAND_HZ[0], BAND_HZ[1]);
    let edge = |i: usize| (f_hz[i] * f_hz[i + 1]).sqrt();
    let last = f_hz.len() - 1;
    (0..f_hz.len())
        .map(|i| {
            let from = if i == 0 { f_hz[0] } else { edge(i - 1) };
            let to = if i == last { f_hz[last] } else { edge(i) };
            area(from, to) / whole
        })
        .collect()
}

/// Integral of the squared magnitude of the filter over ln f, within the band.
fn area(from_hz: f64, to_hz: f64) -> f64 {
    let from = from_hz.max(BAND_HZ[0]);
    let to = to_hz.min(BAND_HZ[1]);
    if from >= to {
        return 0.0;
    }
    let width = (to / from).ln();
    let steps = 2 * (width / (2.0 * LN_2 * STEP_OCTAVES)).ceil().max(1.0) as usize;
    let sum: f64 = (0..=steps)
        .map(|i| {
            let weight = match i {
                _ if i == 0 || i == steps => 1.0,
                _ if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let f_hz = from * (width * i as f64 / steps as f64).exp();
            weight * filter(f_hz).norm_sqr()
        })
        .sum();
    sum * width / (3.0 * steps as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shares_of_bands_add_up() {
        assert!((power_share(20.0, 20_000.0) - 1.0).abs() < 1e-12);
        assert!((power_share(1.0, 1e6) - 1.0).abs() < 1e-12);
        let parts = power_share(20.0, 650.0) + power_share(650.0, 20_000.0);
        assert!((parts - 1.0).abs() < 1e-9, "{parts}");
        for (from, to) in [(500.0, 500.0), (900.0, 300.0), (30e3, 40e3)] {
            assert!(power_share(from, to).abs() < 1e-300);
        }
    }

    #[test]
    fn weights_are_the_power_of_the_grid_however_coarse() {
        for points in [2, 3, 17, 600] {
            let grid = Grid::log_spaced(20.0, 20_000.0, points).unwrap();
            let sum: f64 = power_weights(&grid).iter().sum();
            assert!((sum - 1.0).abs() < 1e-6, "{points}: {sum}");
        }
        let grid = Grid::log_spaced(650.0, 6500.0, 50).unwrap();
        let sum: f64 = power_weights(&grid).iter().sum();
        assert!((sum - power_share(650.0, 6500.0)).abs() < 1e-9, "{sum}");
        // What lies outside of the band has no power.
        let grid = Grid::new(vec![1.0, 5.0, 200.0, 20e3, 90e3]).unwrap();
        let weights = power_weights(&grid);
        assert!(weights[0].abs() < 1e-300 && weights.iter().all(|w| *w >= 0.0));
        assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-6);
        assert_eq!(power_weights(&Grid::new(vec![1e3]).unwrap()), [1.0]);
    }
}

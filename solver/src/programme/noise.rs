//! The programme signal as a wave: what its peaks are behind a filter.
//!
//! The peaks of the signal are clipped, so that at the amplifier they are just twice the rms value. Behind a
//! filter they are not: a filter undoes the clipping, and what is left of the noise in a narrow band is nearly
//! Gaussian again, with peaks of three to five times its rms value. No factor tells them; so the wave is
//! made, clipped, passed through the part's transfer function and looked at.
//!
//! The wave is drawn once, with a fixed seed: all bins of a Fourier series over [`SECONDS`] with the
//! magnitude of the standard's filter on pink noise and a random phase, which is Gaussian noise, clipped to
//! the crest factor of [`super::CREST_FACTOR`]. Hours of the same noise have higher peaks yet: by the extreme
//! value of Gaussian noise, √(2·ln n) of n independent values, two hours of a band of 1 kHz about 1.3 times
//! those of these seconds, less where the clipped wave bounds them. Ratings must have that margin.

use std::f64::consts::TAU;
use std::sync::{Arc, OnceLock};

use num_complex::Complex64;
use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rustfft::{Fft, FftPlanner};

use super::{BAND_HZ, CREST_FACTOR, filter};
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Samples of the wave.
const SAMPLES: usize = 1 << 18;
/// Samples each second: what clipping makes beyond 20 kHz has room.
const SAMPLES_PER_S: f64 = 65_536.0;
/// How long the wave is, in seconds; it is a period of a periodic one.
pub const SECONDS: f64 = SAMPLES as f64 / SAMPLES_PER_S;
/// The same wave in every run.
const SEED: u64 = 60_268;
/// The level of clipping is found to this part of itself.
const CLIP_CLOSE: f64 = 1e-12;

/// The clipped noise as its Fourier series, of rms value 1.
pub struct Noise {
    /// Bins from 0 to half of [`SAMPLES`], by `1/SECONDS` hertz.
    bins: Vec<Complex64>,
    inverse: Arc<dyn Fft<f64>>,
}

impl Noise {
    /// The one wave, drawn at the first call.
    #[must_use]
    pub fn get() -> &'static Self {
        static NOISE: OnceLock<Noise> = OnceLock::new();
        NOISE.get_or_init(Self::draw)
    }

    fn draw() -> Self {
        let mut planner = FftPlanner::new();
        let (forward, inverse) = (
            planner.plan_fft_forward(SAMPLES),
            planner.plan_fft_inverse(SAMPLES),
        );
        let mut values = gaussian(inverse.as_ref());
        clip(&mut values, CREST_FACTOR);
        let scale = 1.0 / (rms(&values) * SAMPLES as f64);
        let mut bins: Vec<Complex64> = values.iter().map(|x| Complex64::new(*x, 0.0)).collect();
        forward.process(&mut bins);
        bins.truncate(SAMPLES / 2 + 1);
        bins.iter_mut().for_each(|bin| *bin *= scale);
        Self { bins, inverse }
    }

    /// The largest magnitudes of the wave, of rms value 1, behind two transfer functions that are known over a grid, which
    /// cost no more than one: in between they are taken along straight lines in frequency, beyond the ends of the grid as
    /// at them.
    #[must_use]
    pub fn peaks(&self, grid: &Grid, first: &Spectrum, second: Option<&Spectrum>) -> [f64; 2] {
        let mut wave = vec![Complex64::ZERO; SAMPLES];
        let mut segment = Segment::of(grid);
        for (k, bin) in self.bins.iter().enumerate() {
            segment.move_to(k as f64 / SECONDS);
            let a = bin * segment.value(first);
            let b = second.map_or(Complex64::ZERO, |second| bin * segment.value(second));
            // Two real waves are the real and the imaginary part of one complex wave.
            let i = Complex64::I;
            if k == 0 || 2 * k == SAMPLES {
                wave[k] = Complex64::new(a.re, b.re);
            } else {
                wave[k] = a + i * b;
                wave[SAMPLES - k] = a.conj() + i * b.conj();
            }
        }
        self.inverse.process(&mut wave);
        let most = |value: &dyn Fn(&Complex64) -> f64| {
            wave.iter().map(value).fold(0.0, |a: f64, b| a.max(b.abs()))
        };
        [most(&|z| z.re), most(&|z| z.im)]
    }
}

/// Where a frequency is between those of a grid.
struct Segment<'a> {
    f_hz: &'a [f64],
    /// The first of the grid that is not below; frequencies only rise.
    above: usize,
    share: f64,
}

impl<'a> Segment<'a> {
    fn of(grid: &'a Grid) -> Self {
        Self {
            f_hz: grid.f_hz(),
            above: 0,
            share: 0.0,
        }
    }

    fn move_to(&mut self, f_hz: f64) {
        while self.above < self.f_hz.len() && self.f_hz[self.above] < f_hz {
            self.above += 1;
        }
        self.share = match self.above {
            0 => 0.0,
            above if above == self.f_hz.len() => 0.0,
            above => {
                let (from, to) = (self.f_hz[above - 1], self.f_hz[above]);
                (f_hz - from) / (to - from)
            }
        };
    }

    fn value(&self, spectrum: &Spectrum) -> Complex64 {
        let last = self.f_hz.len() - 1;
        match self.above {
            0 => spectrum.at(0),
            above if above > last => spectrum.at(last),
            above => {
                let (from, to) = (spectrum.at(above - 1), spectrum.at(above));
                from + self.share * (to - from)
            }
        }
    }
}

/// Gaussian noise with the standard's spectrum, unclipped, of no particular level.
fn gaussian(inverse: &dyn Fft<f64>) -> Vec<f64> {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let mut wave = vec![Complex64::ZERO; SAMPLES];
    for k in 1..SAMPLES / 2 {
        let f_hz = k as f64 / SECONDS;
        if !(BAND_HZ[0]..=BAND_HZ[1]).contains(&f_hz) {
            continue;
        }
        // The upper 53 bits fill the mantissa.
        let turn = (rng.next_u64() >> 11) as f64 * 0.5f64.powi(53);
        // Pink noise has a power of 1/f in every hertz.
        let bin = filter(f_hz) * Complex64::from_polar(f_hz.sqrt().recip(), TAU * turn);
        wave[k] = bin;
        wave[SAMPLES - k] = bin.conj();
    }
    inverse.process(&mut wave);
    wave.iter().map(|value| value.re).collect()
}

/// Clips a wave so that its peak is `crest` times its rms value then. A wave with a lower crest factor than that is left alone.
fn clip(values: &mut [f64], crest: f64) {
    let clipped = |level: f64| {
        let sum: f64 = values.iter().map(|x| x.abs().min(level).powi(2)).sum();
        (sum / values.len() as f64).sqrt()
    };
    // Each step brings the level several times nearer: the rms value hardly follows it.
    let mut level = crest * rms(values);
    for _ in 0..100 {
        let next = crest * clipped(level);
        let close = (next / level - 1.0).abs() < CLIP_CLOSE;
        level = next;
        if close {
            break;
        }
    }
    values.iter_mut().for_each(|x| *x = x.clamp(-level, level));
}

fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|x| x * x).sum::<f64>() / values.len() as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::programme::power_share;

    fn inverse() -> Arc<dyn Fft<f64>> {
        FftPlanner::new().plan_fft_inverse(SAMPLES)
    }

    /// Gaussian noise clipped to a crest factor: level of clipping over σ, power that is kept in dB and share
    /// of time at the limit, from the moments of the normal distribution (computed with 50 digits).
    #[test]
    fn clipped_gaussian_noise_is_as_its_moments_say() {
        let noise = gaussian(inverse().as_ref());
        for (crest, level, kept_db, at_limit) in [
            (1.8, 1.639_328, -0.8121, 0.101_145),
            (2.0, 1.897_345, -0.4577, 0.057_782),
            (2.2, 2.135_532, -0.2583, 0.032_718),
            (3.0, 2.992_312, -0.0223, 0.002_769),
        ] {
            let mut clipped = noise.clone();
            clip(&mut clipped, crest);
            let peak = clipped.iter().fold(0.0, |a: f64, b| a.max(b.abs()));
            let found = peak / rms(&noise);
            assert!((found / level - 1.0).abs() < 0.004, "{crest}: {found}");
            let found_db = 20.0 * (rms(&clipped) / rms(&noise)).log10();
            assert!((found_db - kept_db).abs() < 0.02, "{crest}: {found_db}");
            assert!((peak / rms(&clipped) - crest).abs() < 1e-9, "{crest}");
            let time = clipped.iter().filter(|x| x.abs() >= peak).count() as f64;
            let share = time / SAMPLES as f64;
            assert!(
                (share - at_limit).abs() < 0.02 * at_limit + 4e-4,
                "{crest}: {share}"
            );
        }
    }

    #[test]
    fn the_wave_has_the_signal_s_spectrum() {
        let noise = Noise::get();
        let power = |from_hz: f64, to_hz: f64| -> f64 {
            let bins = noise.bins.iter().enumerate().skip(1);
            bins.filter(|(k, _)| (from_hz..to_hz).contains(&(*k as f64 / SECONDS)))
                .map(|(_, bin)| 2.0 * bin.norm_sqr())
                .sum()
        };
        // All but what clipping leaves at 0 Hz.
        assert!((power(0.0, 40e3) - 1.0).abs() < 1e-4);
        // Clipping moves a little of it, mostly upwards.
        for (from, to) in [(20.0, 200.0), (200.0, 1000.0), (1e3, 4e3)] {
            let (found, right) = (power(from, to), power_share(from, to));
            assert!((found - right).abs() < 0.03, "{from}: {found} {right}");
        }
    }

    /// What passes everything alike has the peaks of the signal; what lets one frequency through has those of
    /// a sine; a narrow band has those of Gaussian noise.
    #[test]
    fn peaks_behind_filters_of_known_crest_factor() {
        let noise = Noise::get();
        let grid = Grid::log_spaced(20.0, 20e3, 600).unwrap();
        let flat = Spectrum::from_fn(grid.len(), |_| Complex64::new(-3.0, 0.0));
        assert!((noise.peaks(&grid, &flat, None)[0] - 6.0).abs() < 1e-9);
        let line = Grid::new(vec![999.8, 1000.0, 1000.2]).unwrap();
        let one = Spectrum::from_fn(3, |i| if i == 1 { 1.0 } else { 0.0 }.into());
        let amplitude = 2.0 * noise.bins[(1000.0 * SECONDS) as usize].norm();
        let found = noise.peaks(&line, &one, Some(&one));
        assert!((found[0] / amplitude - 1.0).abs() < 1e-3, "{found:?}");
        assert!((found[1] - found[0]).abs() < 1e-12);
        // Second-order low pass of Q 0.7 at 60 Hz.
        let low = Spectrum::from_fn(grid.len(), |i| {
            let x = grid.f_hz()[i] / 60.0;
            Complex64::new(1.0 - x * x, x / 0.7).inv()
        });
        let weights = crate::programme::power_weights(&grid);
        let mean: f64 = (low.iter().zip(&weights))
            .map(|(h, w)| w * h.norm_sqr())
            .sum();
        let crest = noise.peaks(&grid, &low, None)[0] / mean.sqrt();
        assert!((2.3..5.5).contains(&crest), "{crest}");
    }
}

//! Random numbers: one stream a build, so that a build is the same whoever makes it and when.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

/// How a value is spread within its tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Distribution {
    /// All values within the limits are as likely: what to assume where only the limits are known
    /// (JCGM 100:2008, 4.3.7). The variance is a third of the tolerance squared.
    #[default]
    Uniform,
    /// Normal, the tolerance being three standard deviations, with nothing beyond it: a maker who holds
    /// the middle well.
    Normal,
}

/// Standard deviations of the normal distribution within the tolerance.
const SIGMAS: f64 = 3.0;
/// What cutting a normal distribution at ± 3 standard deviations leaves of its variance,
/// `1 − 6 φ(3) / (2 Φ(3) − 1)`.
const CUT_VARIANCE: f64 = 0.973_336_9;

impl Distribution {
    /// Variance of a deviation in units of the tolerance.
    #[must_use]
    pub fn variance(self) -> f64 {
        match self {
            Distribution::Uniform => 1.0 / 3.0,
            Distribution::Normal => CUT_VARIANCE / (SIGMAS * SIGMAS),
        }
    }

    /// Fills `units` for build number `build`: deviations in units of the tolerance, from −1 to 1.
    ///
    /// `rng` says the seed; its place in its streams does not matter.
    pub(crate) fn draw(self, rng: &mut ChaCha8Rng, build: u64, units: &mut [f64]) {
        rng.set_stream(build);
        rng.set_word_pos(0);
        for unit in units {
            *unit = match self {
                Distribution::Uniform => symmetric(rng),
                Distribution::Normal => loop {
                    let normal = normal(rng) / SIGMAS;
                    if normal.abs() <= 1.0 {
                        break normal;
                    }
                },
            };
        }
    }
}

/// Evenly from −1 (included) to 1 (excluded).
fn symmetric(rng: &mut ChaCha8Rng) -> f64 {
    // The upper 53 bits fill the mantissa.
    let unit = (rng.next_u64() >> 11) as f64 * (0.5f64).powi(53);
    2.0 * unit - 1.0
}

/// Standard normal, by the polar method (Marsaglia and Bray 1964).
fn normal(rng: &mut ChaCha8Rng) -> f64 {
    loop {
        let (x, y) = (symmetric(rng), symmetric(rng));
        let square = x * x + y * y;
        if square > 0.0 && square < 1.0 {
            return x * (-2.0 * square.ln() / square).sqrt();
        }
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;

    use super::*;

    #[test]
    fn moments_are_those_stated_and_nothing_leaves_the_tolerance() {
        for distribution in [Distribution::Uniform, Distribution::Normal] {
            let mut rng = ChaCha8Rng::seed_from_u64(7);
            let mut units = vec![0.0; 200_000];
            distribution.draw(&mut rng, 3, &mut units);
            let n = units.len() as f64;
            let mean = units.iter().sum::<f64>() / n;
            let variance = units.iter().map(|u| u * u).sum::<f64>() / n;
            assert!(mean.abs() < 0.005, "{distribution:?}: {mean}");
            assert!(
                (variance / distribution.variance() - 1.0).abs() < 0.01,
                "{distribution:?}: {variance}"
            );
            assert!(units.iter().all(|u| u.abs() <= 1.0));
        }
    }

    /// `1 − 6 φ(3)/(2Φ(3) − 1)`, integrated numerically.
    #[test]
    fn what_the_cut_leaves_of_the_variance() {
        let steps = 60_000;
        let at = |i: i32| -3.0 + 6.0 * (f64::from(i) + 0.5) / f64::from(steps);
        let weight = |x: f64| (-0.5 * x * x).exp();
        let area: f64 = (0..steps).map(|i| weight(at(i))).sum();
        let square: f64 = (0..steps).map(|i| at(i).powi(2) * weight(at(i))).sum();
        assert!(
            (square / area - CUT_VARIANCE).abs() < 1e-6,
            "{}",
            square / area
        );
    }

    #[test]
    fn a_build_has_its_own_numbers_whatever_was_drawn_before() {
        let draw = |builds: &[u64]| {
            let mut rng = ChaCha8Rng::seed_from_u64(1);
            let mut units = [0.0; 5];
            for &build in builds {
                Distribution::Normal.draw(&mut rng, build, &mut units);
            }
            units.map(f64::to_bits)
        };
        assert_eq!(draw(&[4]), draw(&[0, 9, 2, 4]));
        assert_ne!(draw(&[4]), draw(&[5]));
    }
}

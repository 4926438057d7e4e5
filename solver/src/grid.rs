//! The frequencies at which everything is computed.

use std::collections::BTreeSet;
use std::f64::consts::TAU;

/// A list of rising frequencies, shared by all quantities of one computation.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    f_hz: Vec<f64>,
    omega: Vec<f64>,
}

/// Why a list of frequencies is no grid.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum GridError {
    /// No frequency at all.
    #[error("no frequency is given")]
    Empty,
    /// A frequency that is not a positive, finite number.
    #[error("frequency {value} Hz at position {position} is not above zero and finite")]
    NotPositive {
        /// Position, counted from 1.
        position: usize,
        /// The value.
        value: f64,
    },
    /// A frequency that is not above the one before it.
    #[error("frequencies must rise, but {value} Hz at position {position} follows {before} Hz")]
    NotRising {
        /// Position, counted from 1.
        position: usize,
        /// The value.
        value: f64,
        /// The value before it.
        before: f64,
    },
}

/// Ends of the audio band, Hz.
pub const AUDIO_BAND_HZ: [f64; 2] = [20.0, 20_000.0];

/// Frequencies of [`Grid::audio_band`]: 60 to an octave, so that a load's minimum is met within a
/// thousandth.
const AUDIO_POINTS: usize = 600;

impl Grid {
    /// The audio band, 20 Hz to 20 kHz, on which the load of every network is looked at, so that all
    /// commands name the same minimum.
    ///
    /// # Panics
    /// Never: the audio band is a grid.
    #[must_use]
    pub fn audio_band() -> Self {
        let [from_hz, to_hz] = AUDIO_BAND_HZ;
        Self::log_spaced(from_hz, to_hz, AUDIO_POINTS).expect("the audio band is a grid")
    }

    /// Positions of the frequencies from one to another, both included.
    #[must_use]
    pub fn within(&self, from_hz: f64, to_hz: f64) -> Vec<usize> {
        let band = from_hz..=to_hz;
        (0..self.len())
            .filter(|&i| band.contains(&self.f_hz[i]))
            .collect()
    }

    /// This grid with frequencies more between each of the positions `near` and its neighbours, so many on
    /// each side, evenly spaced in log-frequency.
    ///
    /// # Panics
    /// If a position is not of this grid.
    #[must_use]
    pub fn finer(&self, near: &BTreeSet<usize>, between: usize) -> Self {
        let after = |i: &usize| near.contains(i) || near.contains(&(i + 1));
        let mut f_hz = Vec::with_capacity(self.len());
        for i in 0..self.len() {
            f_hz.push(self.f_hz[i]);
            if i + 1 < self.len() && after(&i) {
                let ratio = self.f_hz[i + 1] / self.f_hz[i];
                let steps = (between + 1) as f64;
                f_hz.extend((1..=between).map(|k| self.f_hz[i] * ratio.powf(k as f64 / steps)));
            }
        }
        Self::new(f_hz).expect("between rising frequencies they rise")
    }

    /// This grid with these frequencies too, which may come in any order; those that it has already, to a
    /// part in 10⁹, and what is no frequency are left out.
    ///
    /// # Panics
    /// Never: sorted frequencies rise.
    #[must_use]
    pub fn with(&self, more_hz: &[f64]) -> Self {
        let mut f_hz = self.f_hz.clone();
        f_hz.extend(more_hz.iter().filter(|f| **f > 0.0 && f.is_finite()));
        f_hz.sort_by(f64::total_cmp);
        f_hz.dedup_by(|b, a| *b <= *a * (1.0 + 1e-9));
        Self::new(f_hz).expect("sorted frequencies rise")
    }

    /// A grid of the given frequencies, in hertz.
    ///
    /// # Errors
    /// If the list is empty, does not rise strictly, or holds a value that is not positive and finite.
    pub fn new(f_hz: Vec<f64>) -> Result<Self, GridError> {
        if f_hz.is_empty() {
            return Err(GridError::Empty);
        }
        for (i, &value) in f_hz.iter().enumerate() {
            let position = i + 1;
            if !(value > 0.0 && value.is_finite()) {
                return Err(GridError::NotPositive { position, value });
            }
            if i > 0 && value <= f_hz[i - 1] {
                let before = f_hz[i - 1];
                return Err(GridError::NotRising {
                    position,
                    value,
                    before,
                });
            }
        }
        let omega = f_hz.iter().map(|f| TAU * f).collect();
        Ok(Self { f_hz, omega })
    }

    /// `points` frequencies from `from_hz` to `to_hz`, both included, evenly spaced in log-frequency.
    ///
    /// # Errors
    /// As [`Grid::new`]; one point gives `from_hz` alone.
    pub fn log_spaced(from_hz: f64, to_hz: f64, points: usize) -> Result<Self, GridError> {
        let last = points.saturating_sub(1);
        let ratio = to_hz / from_hz;
        let f_hz = (0..points)
            .map(|i| match i {
                0 => from_hz,
                _ if i == last => to_hz,
                _ => from_hz * ratio.powf(i as f64 / last as f64),
            })
            .collect();
        Self::new(f_hz)
    }

    /// The frequencies, in hertz.
    #[must_use]
    pub fn f_hz(&self) -> &[f64] {
        &self.f_hz
    }

    /// The angular frequencies, in radian per second.
    #[must_use]
    pub fn omega(&self) -> &[f64] {
        &self.omega
    }

    /// Number of frequencies, at least 1.
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "a grid is never empty")]
    pub fn len(&self) -> usize {
        self.f_hz.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finer_near_some_and_as_before_elsewhere() {
        let grid = Grid::log_spaced(100.0, 1600.0, 5).unwrap();
        let finer = grid.finer(&BTreeSet::from([0, 3]), 1);
        let right = [
            100.0,
            100.0 * 2f64.sqrt(),
            200.0,
            400.0,
            400.0 * 2f64.sqrt(),
            800.0,
            800.0 * 2f64.sqrt(),
            1600.0,
        ];
        assert_eq!(finer.len(), right.len());
        for (found, right) in finer.f_hz().iter().zip(right) {
            assert!((found / right - 1.0).abs() < 1e-12);
        }
        assert_eq!(grid.finer(&BTreeSet::new(), 9), grid);
    }

    #[test]
    fn log_spacing_keeps_the_ends_and_one_ratio() {
        let grid = Grid::log_spaced(20.0, 20_000.0, 31).unwrap();
        let f_hz = grid.f_hz();
        assert!((f_hz[0] - 20.0).abs() < 1e-12 && (f_hz[30] - 20_000.0).abs() < 1e-12);
        for pair in f_hz.windows(2) {
            assert!((pair[1] / pair[0] - 10f64.powf(0.1)).abs() < 1e-12);
        }
    }

    #[test]
    fn a_list_that_falls_or_holds_nonsense_is_refused() {
        assert_eq!(Grid::new(vec![]), Err(GridError::Empty));
        assert!(matches!(
            Grid::new(vec![100.0, 100.0]),
            Err(GridError::NotRising { position: 2, .. })
        ));
        assert!(matches!(
            Grid::new(vec![f64::NAN]),
            Err(GridError::NotPositive { position: 1, .. })
        ));
        assert!(Grid::log_spaced(100.0, 10.0, 5).is_err());
        assert!(Grid::log_spaced(0.0, 10.0, 5).is_err());
    }
}

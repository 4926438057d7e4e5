//! A complex quantity over frequency, laid out for lanes.

use num_complex::Complex64;

/// Complex values over a grid: real parts side by side, then imaginary parts side by side.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spectrum {
    /// Real parts, one a frequency.
    pub re: Vec<f64>,
    /// Imaginary parts, one a frequency.
    pub im: Vec<f64>,
}

impl Spectrum {
    /// All zero, for `len` frequencies.
    #[must_use]
    pub fn zeros(len: usize) -> Self {
        Self {
            re: vec![0.0; len],
            im: vec![0.0; len],
        }
    }

    /// One value a frequency from a function of the position.
    #[must_use]
    pub fn from_fn(len: usize, mut value: impl FnMut(usize) -> Complex64) -> Self {
        let mut spectrum = Self::zeros(len);
        for i in 0..len {
            spectrum.set(i, value(i));
        }
        spectrum
    }

    /// Number of frequencies.
    #[must_use]
    pub fn len(&self) -> usize {
        self.re.len()
    }

    /// Whether there is no frequency at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.re.is_empty()
    }

    /// Value at position `i` of the grid.
    ///
    /// # Panics
    /// If `i` is out of range.
    #[must_use]
    pub fn at(&self, i: usize) -> Complex64 {
        Complex64::new(self.re[i], self.im[i])
    }

    /// Sets the value at position `i` of the grid.
    ///
    /// # Panics
    /// If `i` is out of range.
    pub fn set(&mut self, i: usize, value: Complex64) {
        self.re[i] = value.re;
        self.im[i] = value.im;
    }

    /// Product with another spectrum over the same grid.
    ///
    /// # Panics
    /// If the other is shorter.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        Self::from_fn(self.len(), |i| self.at(i) * other.at(i))
    }

    /// The values at some positions of the grid, in their order.
    ///
    /// # Panics
    /// If a position is out of range.
    #[must_use]
    pub fn picked(&self, positions: &[usize]) -> Self {
        Self::from_fn(positions.len(), |i| self.at(positions[i]))
    }

    /// The values in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = Complex64> {
        self.re
            .iter()
            .zip(&self.im)
            .map(|(&re, &im)| Complex64::new(re, im))
    }
}

impl Spectrum {
    /// Magnitudes, in the unit of the spectrum.
    #[must_use]
    pub fn magnitude(&self) -> Vec<f64> {
        self.iter().map(|value| value.norm()).collect()
    }

    /// Phases in degrees, wrapped to −180 (excluded) to 180 (included); 0 where the value is 0.
    #[must_use]
    pub fn phase_deg(&self) -> Vec<f64> {
        self.iter().map(phase_deg).collect()
    }
}

/// Phase of one value in degrees, from −180 (excluded) to 180 (included); 0 for the value 0.
#[must_use]
pub fn phase_deg(value: Complex64) -> f64 {
    // Adding 0.0 turns −0.0 into 0.0, so that the negative real axis is always +180°.
    let degrees = (value.im + 0.0).atan2(value.re + 0.0).to_degrees();
    if degrees <= -180.0 { 180.0 } else { degrees }
}

/// Removes jumps of more than half a `turn` between neighbours, in place: each value is shifted by
/// the whole number of turns that brings it nearest to the one before. The first is kept.
pub fn unwrap(phase: &mut [f64], turn: f64) {
    for i in 1..phase.len() {
        phase[i] -= ((phase[i] - phase[i - 1]) / turn).round() * turn;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phases_wrap_to_one_turn_and_unwrap_again() {
        let len = 200;
        let turning = Spectrum::from_fn(len, |i| Complex64::from_polar(2.0, -0.3 * i as f64));
        let mut phase = turning.phase_deg();
        assert!(phase.iter().all(|p| *p > -180.0 && *p <= 180.0));
        unwrap(&mut phase, 360.0);
        let expected = (-0.3 * (len - 1) as f64).to_degrees();
        assert!((phase[len - 1] - expected).abs() < 1e-9);
        assert!(turning.magnitude().iter().all(|m| (m - 2.0).abs() < 1e-14));
    }

    #[test]
    fn the_negative_real_axis_is_plus_180_and_zero_has_phase_zero() {
        for im in [0.0, -0.0] {
            assert!((phase_deg(Complex64::new(-1.0, im)) - 180.0).abs() < 1e-12);
        }
        for re in [0.0, -0.0] {
            assert!(phase_deg(Complex64::new(re, -0.0)).abs() < 1e-12);
        }
    }
}

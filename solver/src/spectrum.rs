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

    /// The values in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = Complex64> {
        self.re
            .iter()
            .zip(&self.im)
            .map(|(&re, &im)| Complex64::new(re, im))
    }
}

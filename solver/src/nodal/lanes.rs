//! Frequencies as lanes: complex numbers of [`LANES`] neighbouring frequencies, handled together.
//!
//! Plain loops over fixed arrays; the compiler turns them into vector instructions of whatever
//! width the machine has (the kernels that use them are compiled for several). No fused
//! multiply-add is used, so every machine gives the same bits.

/// Frequencies handled side by side.
pub(crate) const LANES: usize = 16;

/// Lanes of one vector instruction where the machine has wide ones.
pub(crate) const QUAD: usize = 4;

/// One real number for each lane.
pub(crate) type Real = [f64; LANES];

/// One complex number for each lane.
#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
pub(crate) struct Lanes {
    pub(crate) re: Real,
    pub(crate) im: Real,
}

impl Lanes {
    pub(crate) const ZERO: Lanes = Lanes {
        re: [0.0; LANES],
        im: [0.0; LANES],
    };

    pub(crate) const ONE: Lanes = Lanes {
        re: [1.0; LANES],
        im: [0.0; LANES],
    };

    /// The same real number in every lane.
    #[inline(always)]
    pub(crate) fn real(value: f64) -> Self {
        Self {
            re: [value; LANES],
            im: [0.0; LANES],
        }
    }

    #[inline(always)]
    pub(crate) fn lane(&self, lane: usize) -> num_complex::Complex64 {
        num_complex::Complex64::new(self.re[lane], self.im[lane])
    }

    #[inline(always)]
    pub(crate) fn set_lane(&mut self, lane: usize, value: num_complex::Complex64) {
        self.re[lane] = value.re;
        self.im[lane] = value.im;
    }

    /// `self += a`
    #[inline(always)]
    pub(crate) fn add(&mut self, a: &Lanes) {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                self.re[i] += a.re[i];
                self.im[i] += a.im[i];
            }
        }
    }

    /// `self += weight · a`
    #[inline(always)]
    pub(crate) fn add_weighted(&mut self, weight: f64, a: &Lanes) {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                self.re[i] += weight * a.re[i];
                self.im[i] += weight * a.im[i];
            }
        }
    }

    /// `self += a · b`
    #[inline(always)]
    pub(crate) fn add_product(&mut self, a: &Lanes, b: &Lanes) {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                self.re[i] += a.re[i] * b.re[i] - a.im[i] * b.im[i];
                self.im[i] += a.re[i] * b.im[i] + a.im[i] * b.re[i];
            }
        }
    }

    /// `self -= a · b`
    #[inline(always)]
    pub(crate) fn subtract_product(&mut self, a: &Lanes, b: &Lanes) {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                self.re[i] -= a.re[i] * b.re[i] - a.im[i] * b.im[i];
                self.im[i] -= a.re[i] * b.im[i] + a.im[i] * b.re[i];
            }
        }
    }

    /// `self - a`
    #[inline(always)]
    pub(crate) fn minus(&self, a: &Lanes) -> Lanes {
        let mut out = *self;
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                out.re[i] -= a.re[i];
                out.im[i] -= a.im[i];
            }
        }
        out
    }

    /// `self · a`
    #[inline(always)]
    pub(crate) fn times(&self, a: &Lanes) -> Lanes {
        let mut out = Lanes::ZERO;
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                out.re[i] = self.re[i] * a.re[i] - self.im[i] * a.im[i];
                out.im[i] = self.re[i] * a.im[i] + self.im[i] * a.re[i];
            }
        }
        out
    }

    /// `factor · self`, the factor real and one a lane.
    #[inline(always)]
    pub(crate) fn scaled(&self, factor: &Real) -> Lanes {
        let mut out = Lanes::ZERO;
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                out.re[i] = factor[i] * self.re[i];
                out.im[i] = factor[i] * self.im[i];
            }
        }
        out
    }

    /// `1 / self`; not finite where the lane is 0.
    #[inline(always)]
    pub(crate) fn reciprocal(&self) -> Lanes {
        let mut out = Lanes::ZERO;
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                let scale = 1.0 / (self.re[i] * self.re[i] + self.im[i] * self.im[i]);
                out.re[i] = self.re[i] * scale;
                out.im[i] = -self.im[i] * scale;
            }
        }
        out
    }

    /// `sum += |self|²`
    #[inline(always)]
    pub(crate) fn accumulate_square(&self, sum: &mut Real) {
        for q in (0..LANES).step_by(QUAD) {
            for i in q..q + QUAD {
                sum[i] += self.re[i] * self.re[i] + self.im[i] * self.im[i];
            }
        }
    }
}

//! A notch: R, L and C in parallel, in series with the driver, against a peak in its response.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::SynthesisError;
use super::error::{positive, realisable};

/// Resistor, inductor and capacitor in parallel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParallelTrap {
    /// Resistor, ohm.
    pub r_ohm: f64,
    /// Inductor, henry.
    pub l_henry: f64,
    /// Capacitor, farad.
    pub c_farad: f64,
}

impl ParallelTrap {
    /// The trap in series with a load `load_ohm` that takes away a response peak of `height_db` at
    /// `f_hz`, where `q` is the Q of the peak's poles ([`ParallelTrap::q_from_width`] if only the width is
    /// known).
    ///
    /// A peak of height K is (s² + s·ω₀K/Q + ω₀²)/(s² + s·ω₀/Q + ω₀²). The trap alone, of quality
    /// factor Q, divides the load's voltage by 1 + Z/Rl, which is the same expression with
    /// K = 1 + R/Rl: the two cancel at every frequency. Hence R = Rl(K − 1), C = Q/2πfR, L = R/2πfQ.
    ///
    /// # Errors
    /// If an input is not positive and finite, or extreme enough for a value to overflow.
    pub fn for_peak(
        height_db: f64,
        f_hz: f64,
        q: f64,
        load_ohm: f64,
    ) -> Result<Self, SynthesisError> {
        let k = height(height_db)?;
        let omega = TAU * positive("frequency of the peak in Hz", f_hz)?;
        let q = positive("Q of the peak", q)?;
        let load_ohm = positive("load resistance in ohm", load_ohm)?;
        let r_ohm = realisable("trap resistor", load_ohm * (k - 1.0))?;
        Ok(Self {
            r_ohm,
            l_henry: realisable("trap inductor", r_ohm / (omega * q))?,
            c_farad: realisable("trap capacitor", q / (omega * r_ohm))?,
        })
    }

    /// Q of a peak's poles from its width: the distance in hertz between the two frequencies at
    /// which half of its height in dB is left. There |H|² = K, so f/f₀ − f₀/f = ±√K/Q and
    /// Q = √K·f₀/width.
    ///
    /// # Errors
    /// If an input is not positive and finite.
    pub fn q_from_width(height_db: f64, f_hz: f64, width_hz: f64) -> Result<f64, SynthesisError> {
        let k = height(height_db)?;
        let f_hz = positive("frequency of the peak in Hz", f_hz)?;
        let width_hz = positive("width of the peak in Hz", width_hz)?;
        realisable("Q of the peak", k.sqrt() * f_hz / width_hz)
    }

    /// Its impedance at a frequency, in ohm.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let omega = TAU * f_hz;
        let susceptance = omega * self.c_farad - 1.0 / (omega * self.l_henry);
        Complex64::new(1.0 / self.r_ohm, susceptance).finv()
    }

    /// Voltage on a load over the voltage in front, at a frequency.
    #[must_use]
    pub fn transfer(&self, f_hz: f64, load_ohm: Complex64) -> Complex64 {
        load_ohm / (load_ohm + self.impedance(f_hz))
    }
}

/// K = 10^(dB/20) of a peak's height.
fn height(height_db: f64) -> Result<f64, SynthesisError> {
    let height_db = positive("height of the peak in dB", height_db)?;
    realisable("height of the peak", 10f64.powf(height_db / 20.0))
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    /// A response peak: 1 + (K − 1)/(1 + jQ(f/f₀ − f₀/f)).
    fn peak(f_hz: f64, height_db: f64, f0_hz: f64, q: f64) -> Complex64 {
        let k = 10f64.powf(height_db / 20.0);
        let resonance = Complex64::new(1.0, q * (f_hz / f0_hz - f0_hz / f_hz));
        Complex64::ONE + (k - 1.0) / resonance
    }

    #[test]
    fn peak_and_trap_cancel_at_every_frequency() {
        let trap = ParallelTrap::for_peak(5.5, 2480.0, 4.0, 8.0).unwrap();
        for f_hz in [20.0, 1500.0, 2300.0, 2480.0, 3000.0, 20_000.0] {
            let both = peak(f_hz, 5.5, 2480.0, 4.0) * trap.transfer(f_hz, 8.0.into());
            assert_relative_eq!((both - 1.0).norm(), 0.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn the_width_gives_the_q_back() {
        let (height_db, f0_hz, q) = (6.0, 3000.0, 5.0);
        // Frequencies at which 3 dB are left, by bisection on either side.
        let level = |f_hz: f64| 20.0 * peak(f_hz, height_db, f0_hz, q).norm().log10();
        let crossing = |mut outer: f64| {
            let mut inner = f0_hz;
            for _ in 0..60 {
                let middle = 0.5 * (inner + outer);
                if level(middle) > 0.5 * height_db {
                    inner = middle;
                } else {
                    outer = middle;
                }
            }
            inner
        };
        let width_hz = crossing(10_000.0) - crossing(1000.0);
        let found = ParallelTrap::q_from_width(height_db, f0_hz, width_hz).unwrap();
        assert_relative_eq!(found, q, max_relative = 1e-9);
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(ParallelTrap::for_peak(0.0, 2000.0, 3.0, 8.0).is_err());
        assert!(ParallelTrap::for_peak(6.0, -2000.0, 3.0, 8.0).is_err());
        assert!(ParallelTrap::for_peak(1e6, 2000.0, 3.0, 8.0).is_err());
        assert!(ParallelTrap::q_from_width(6.0, 2000.0, 0.0).is_err());
    }
}

//! Horn equalisation: a series resistor that is bypassed where the horn driver has lost level.
//!
//! Above the corner that the diaphragm's mass sets, a compression driver on a horn loses 6 dB per
//! octave. Its level is too high anyway, so part of the attenuation is done by a series resistor
//! whose bypass gives the level back as frequency rises.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::SynthesisError;
use super::error::{positive, realisable};

/// What bypasses the series resistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bypass {
    /// A capacitor: a shelf.
    Capacitor {
        /// Capacitor, farad.
        c_farad: f64,
    },
    /// An inductor and a capacitor in series: a lift with its top at their resonance.
    SeriesResonance {
        /// Inductor, henry.
        l_henry: f64,
        /// Capacitor, farad.
        c_farad: f64,
    },
}

/// A bypassed series resistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HornEqualiser {
    /// Series resistor, ohm.
    pub r_ohm: f64,
    /// What bypasses it.
    pub bypass: Bypass,
}

impl HornEqualiser {
    /// A shelf for a load `load_ohm`: `lift_db` between the low and the high end, the lift beginning
    /// at `corner_hz` (+3 dB there if the lift is large).
    ///
    /// From H = Rl/(Rl + R/(1 + jωRC)): zero at 1/2πRC, pole at (1 + R/Rl) times the zero,
    /// lift 1 + R/Rl. Hence R = Rl(10^(dB/20) − 1) and C = 1/2πfR. With the corner at the driver's mass
    /// corner the product is flat up to the pole.
    ///
    /// # Errors
    /// If an input is not positive and finite, or extreme enough for a value to overflow.
    pub fn shelf(lift_db: f64, corner_hz: f64, load_ohm: f64) -> Result<Self, SynthesisError> {
        let r_ohm = resistor(lift_db, load_ohm)?;
        let omega = TAU * positive("corner frequency in Hz", corner_hz)?;
        let c_farad = realisable("bypass capacitor", 1.0 / (omega * r_ohm))?;
        Ok(Self {
            r_ohm,
            bypass: Bypass::Capacitor { c_farad },
        })
    }

    /// A lift for a load `load_ohm` that begins at `corner_hz` and has its top, `lift_db` above the
    /// low end, at `top_hz`; above it the level falls again.
    ///
    /// The bypass X = j(ωL − 1/ωC) is a short at the top, and |X| = R at the corner as for the shelf:
    /// C = (1 − (f/f_top)²)/2πfR, L = 1/((2πf_top)²·C). The lift is even about the top in
    /// log-frequency.
    ///
    /// # Errors
    /// If an input is not positive and finite, or the corner is not below the top.
    pub fn resonant(
        lift_db: f64,
        corner_hz: f64,
        top_hz: f64,
        load_ohm: f64,
    ) -> Result<Self, SynthesisError> {
        let r_ohm = resistor(lift_db, load_ohm)?;
        let corner_hz = positive("corner frequency in Hz", corner_hz)?;
        let top_hz = positive("frequency of the top in Hz", top_hz)?;
        if corner_hz >= top_hz {
            return Err(SynthesisError::OutOfRange {
                what: "corner frequency in Hz",
                value: corner_hz,
                least: 0.0,
                greatest: top_hz,
            });
        }
        let ratio = corner_hz / top_hz;
        let c_farad = realisable(
            "bypass capacitor",
            (1.0 - ratio * ratio) / (TAU * corner_hz * r_ohm),
        )?;
        let omega_top = TAU * top_hz;
        let l_henry = realisable("bypass inductor", 1.0 / (omega_top * omega_top * c_farad))?;
        Ok(Self {
            r_ohm,
            bypass: Bypass::SeriesResonance { l_henry, c_farad },
        })
    }

    /// Its impedance at a frequency, in ohm.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let omega = TAU * f_hz;
        let reactance = match self.bypass {
            Bypass::Capacitor { c_farad } => -1.0 / (omega * c_farad),
            Bypass::SeriesResonance { l_henry, c_farad } => {
                omega * l_henry - 1.0 / (omega * c_farad)
            }
        };
        let bypass = Complex64::new(0.0, reactance);
        bypass * self.r_ohm / (bypass + self.r_ohm)
    }

    /// Voltage on a load over the voltage in front, at a frequency.
    #[must_use]
    pub fn transfer(&self, f_hz: f64, load_ohm: Complex64) -> Complex64 {
        load_ohm / (load_ohm + self.impedance(f_hz))
    }

    /// Lift on a resistor, in dB: what the resistor takes where nothing bypasses it.
    #[must_use]
    pub fn lift_db(&self, load_ohm: f64) -> f64 {
        20.0 * (1.0 + self.r_ohm / load_ohm).log10()
    }

    /// Frequency at which the lift begins, |bypass| = R, in hertz.
    #[must_use]
    pub fn corner_hz(&self) -> f64 {
        match self.bypass {
            Bypass::Capacitor { c_farad } => 1.0 / (TAU * self.r_ohm * c_farad),
            // Lower root of ω²LC + ωRC − 1 = 0, in the form without cancellation.
            Bypass::SeriesResonance { l_henry, c_farad } => {
                let rc = self.r_ohm * c_farad;
                2.0 / ((rc * rc + 4.0 * l_henry * c_farad).sqrt() + rc) / TAU
            }
        }
    }

    /// Frequency from which the lift is all there: the pole of a shelf, the top of a resonant lift.
    #[must_use]
    pub fn end_hz(&self, load_ohm: f64) -> f64 {
        match self.bypass {
            Bypass::Capacitor { .. } => self.corner_hz() * (1.0 + self.r_ohm / load_ohm),
            Bypass::SeriesResonance { l_henry, c_farad } => {
                1.0 / (TAU * (l_henry * c_farad).sqrt())
            }
        }
    }
}

/// R = Rl(10^(dB/20) − 1).
fn resistor(lift_db: f64, load_ohm: f64) -> Result<f64, SynthesisError> {
    let lift_db = positive("lift in dB", lift_db)?;
    let load_ohm = positive("load resistance in ohm", load_ohm)?;
    realisable(
        "series resistor",
        load_ohm * (10f64.powf(lift_db / 20.0) - 1.0),
    )
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    fn level_db(equaliser: &HornEqualiser, f_hz: f64) -> f64 {
        20.0 * equaliser.transfer(f_hz, 8.0.into()).norm().log10()
    }

    #[test]
    fn a_shelf_at_the_mass_corner_flattens_the_driver_up_to_its_pole() {
        let equaliser = HornEqualiser::shelf(9.0, 3500.0, 8.0).unwrap();
        assert_relative_eq!(equaliser.lift_db(8.0), 9.0, max_relative = 1e-12);
        assert_relative_eq!(equaliser.corner_hz(), 3500.0, max_relative = 1e-12);
        let pole_hz = equaliser.end_hz(8.0);
        // Driver and shelf together are one pole at 3500 Hz × lift, 9 dB down: compare as complex.
        for f_hz in [100.0, 3500.0, 9000.0, 20_000.0] {
            let driver = Complex64::new(1.0, f_hz / 3500.0).finv();
            let product = driver * equaliser.transfer(f_hz, 8.0.into());
            let pole = Complex64::new(1.0, f_hz / pole_hz).finv() * 10f64.powf(-9.0 / 20.0);
            assert_relative_eq!((product - pole).norm(), 0.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn a_resonant_lift_is_whole_at_its_top_and_even_about_it() {
        let equaliser = HornEqualiser::resonant(8.0, 4000.0, 14_000.0, 8.0).unwrap();
        assert_relative_eq!(equaliser.corner_hz(), 4000.0, max_relative = 1e-12);
        assert_relative_eq!(equaliser.end_hz(8.0), 14_000.0, max_relative = 1e-12);
        assert_relative_eq!(level_db(&equaliser, 14_000.0), 0.0, epsilon = 1e-9);
        assert_relative_eq!(level_db(&equaliser, 10.0), -8.0, epsilon = 1e-3);
        assert_relative_eq!(
            level_db(&equaliser, 7000.0),
            level_db(&equaliser, 28_000.0),
            epsilon = 1e-9
        );
        assert_relative_eq!(
            equaliser.impedance(4000.0).norm(),
            equaliser.r_ohm / 2f64.sqrt(),
            max_relative = 1e-9
        );
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(HornEqualiser::shelf(0.0, 3500.0, 8.0).is_err());
        assert!(HornEqualiser::shelf(9.0, f64::NAN, 8.0).is_err());
        assert!(HornEqualiser::shelf(1e5, 3500.0, 8.0).is_err());
        assert!(HornEqualiser::resonant(9.0, 5000.0, 5000.0, 8.0).is_err());
    }
}

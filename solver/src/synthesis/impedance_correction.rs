//! Networks across a driver that make its impedance a resistance.
//!
//! All of them rest on one law of dual impedances: (R + Z) in parallel with (R + R²/Z) is R for
//! every Z. For Z = jωL the dual is a capacitor L/R²; for a parallel resonance it is a series
//! resonance; a sum of impedances turns into the same number of branches in parallel.

use std::f64::consts::TAU;

use netlist::project::Resonance;
use num_complex::Complex64;

use super::SynthesisError;
use super::error::{positive, realisable};

/// A resistor and a capacitor in series across the driver, against the coil's inductance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zobel {
    /// Resistor, ohm.
    pub r_ohm: f64,
    /// Capacitor, farad.
    pub c_farad: f64,
}

impl Zobel {
    /// Makes a resistor `r_ohm` with an inductance `l_henry` in series a resistance at every
    /// frequency: Rz = R and C = L/R², and no other values do.
    ///
    /// # Errors
    /// If an input is not positive and finite.
    pub fn exact(r_ohm: f64, l_henry: f64) -> Result<Self, SynthesisError> {
        Self::with_resistor(positive("coil resistance in ohm", r_ohm)?, l_henry)
    }

    /// The trade's rule for real coils, whose inductance is lossy: Rz = 1.25·Re and C = Le/Rz²
    /// (common practice). On a pure inductance it leaves the impedance up to a quarter high.
    ///
    /// # Errors
    /// If an input is not positive and finite.
    pub fn by_trade_rule(re_ohm: f64, le_henry: f64) -> Result<Self, SynthesisError> {
        Self::with_resistor(1.25 * positive("coil resistance in ohm", re_ohm)?, le_henry)
    }

    fn with_resistor(r_ohm: f64, l_henry: f64) -> Result<Self, SynthesisError> {
        let l_henry = positive("inductance in H", l_henry)?;
        Ok(Self {
            r_ohm,
            c_farad: realisable("Zobel capacitor", l_henry / (r_ohm * r_ohm))?,
        })
    }

    /// Its impedance, in ohm.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        Complex64::new(self.r_ohm, -1.0 / (TAU * f_hz * self.c_farad))
    }
}

/// A peak in a driver's impedance: R, L and C in parallel, in series with the rest of the driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Height above the rest, ohm.
    pub r_ohm: f64,
    /// Frequency, hertz.
    pub f_hz: f64,
    /// Quality factor.
    pub q: f64,
}

impl From<Resonance> for Peak {
    fn from(resonance: Resonance) -> Self {
        Self {
            r_ohm: resonance.r.0,
            f_hz: resonance.f.0,
            q: resonance.q,
        }
    }
}

impl Peak {
    /// The motional peak of a driver in a closed box after Small (1972): height Re·Qms/Qes, Q = Qms.
    /// Qs and resonance frequency are those in the box.
    ///
    /// # Errors
    /// If an input is not positive and finite.
    pub fn of_closed_box(
        re_ohm: f64,
        fc_hz: f64,
        qes: f64,
        qms: f64,
    ) -> Result<Self, SynthesisError> {
        let re_ohm = positive("coil resistance in ohm", re_ohm)?;
        let qes = positive("electrical Q", qes)?;
        let qms = positive("mechanical Q", qms)?;
        Self {
            r_ohm: re_ohm * qms / qes,
            f_hz: fc_hz,
            q: qms,
        }
        .validated()
    }

    fn validated(self) -> Result<Self, SynthesisError> {
        positive("height of the impedance peak in ohm", self.r_ohm)?;
        positive("frequency of the impedance peak in Hz", self.f_hz)?;
        positive("Q of the impedance peak", self.q)?;
        Ok(self)
    }

    /// Its impedance at a frequency, in ohm.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let detuning = f_hz / self.f_hz - self.f_hz / f_hz;
        self.r_ohm / Complex64::new(1.0, self.q * detuning)
    }

    /// The dual of the peak against `r_ohm`, R²/Z: R²/Rp, L and C in series at the same frequency
    /// and Q. With Cp = Q/2πfRp and Lp = Rp/2πfQ it is L = R²·Cp and C = Lp/R².
    fn dual(self, r_ohm: f64) -> Result<SeriesTrap, SynthesisError> {
        let peak = self.validated()?;
        let (omega, squared) = (TAU * peak.f_hz, r_ohm * r_ohm);
        Ok(SeriesTrap {
            r_ohm: realisable("trap resistor", squared / peak.r_ohm)?,
            l_henry: realisable("trap inductor", squared * peak.q / (omega * peak.r_ohm))?,
            c_farad: realisable("trap capacitor", peak.r_ohm / (omega * peak.q * squared))?,
        })
    }
}

/// Resistor, inductor and capacitor in series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesTrap {
    /// Resistor, coil resistance included, ohm.
    pub r_ohm: f64,
    /// Inductor, henry.
    pub l_henry: f64,
    /// Capacitor, farad.
    pub c_farad: f64,
}

impl SeriesTrap {
    /// The trap across a driver of resistance `re_ohm` that takes one impedance peak away: Re in
    /// series with the peak's dual, so Re + Re²/Rp, L and C. Exact if the driver is Re and that peak
    /// alone. With more in series it is an approximation, good if the rest is small where the trap
    /// conducts; [`Compensation`] takes several peaks together exactly.
    ///
    /// # Errors
    /// If an input is not positive and finite.
    pub fn for_peak(re_ohm: f64, peak: Peak) -> Result<Self, SynthesisError> {
        let re_ohm = positive("coil resistance in ohm", re_ohm)?;
        let dual = peak.dual(re_ohm)?;
        Ok(Self {
            r_ohm: re_ohm + dual.r_ohm,
            ..dual
        })
    }

    /// Its impedance at a frequency, in ohm.
    #[must_use]
    pub fn impedance(&self, f_hz: f64) -> Complex64 {
        let omega = TAU * f_hz;
        Complex64::new(
            self.r_ohm,
            omega * self.l_henry - 1.0 / (omega * self.c_farad),
        )
    }
}

/// A network across the driver that makes its whole impedance a resistance: a resistor in series
/// with branches that lie in parallel with each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Compensation {
    /// Resistor in series with all branches, ohm: the driver's Re.
    pub r_ohm: f64,
    /// Capacitor, one of the branches, against the inductance, farad; none without inductance.
    pub c_farad: Option<f64>,
    /// The other branches, one a peak.
    pub traps: Vec<SeriesTrap>,
}

impl Compensation {
    /// The compensation of a driver of resistance `re_ohm`, inductance `le_henry` (0 for none) and
    /// impedance peaks. Driver and network together are Re at every frequency: the dual of a sum of
    /// impedances in series is their duals in parallel.
    ///
    /// With the peak of a closed box ([`Peak::of_closed_box`]) it is the known network with
    /// R = Re, Cz = Le/Re², Rs = Re·Qes/Qms, Ls = Re·Qes/2πfc, Cs = 1/(2πfc·Re·Qes).
    /// With several peaks of a horn driver it needs one trap for each.
    ///
    /// # Errors
    /// If a value is not positive and finite (the inductance may be 0).
    pub fn new(re_ohm: f64, le_henry: f64, peaks: &[Peak]) -> Result<Self, SynthesisError> {
        let r_ohm = positive("coil resistance in ohm", re_ohm)?;
        let c_farad = if matches!(le_henry.classify(), std::num::FpCategory::Zero) {
            None
        } else {
            Some(Zobel::exact(r_ohm, le_henry)?.c_farad)
        };
        let traps = peaks
            .iter()
            .map(|peak| peak.dual(r_ohm))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            r_ohm,
            c_farad,
            traps,
        })
    }

    /// Its admittance at a frequency, in siemens; 0 if there is nothing to compensate.
    #[must_use]
    pub fn admittance(&self, f_hz: f64) -> Complex64 {
        let capacitor = Complex64::new(0.0, TAU * f_hz * self.c_farad.unwrap_or(0.0));
        let branches = self
            .traps
            .iter()
            .fold(capacitor, |sum, trap| sum + trap.impedance(f_hz).finv());
        // 1/(R + 1/Y) written so that Y = 0 is no division by zero.
        branches / (branches * self.r_ohm + 1.0)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    const HORN: [Peak; 3] = [
        Peak {
            r_ohm: 11.0,
            f_hz: 385.0,
            q: 2.6,
        },
        Peak {
            r_ohm: 6.2,
            f_hz: 560.0,
            q: 4.2,
        },
        Peak {
            r_ohm: 3.6,
            f_hz: 745.0,
            q: 5.0,
        },
    ];

    #[test]
    fn driver_and_compensation_are_a_resistance() {
        let (re, le) = (6.4, 0.1e-3);
        let network = Compensation::new(re, le, &HORN).unwrap();
        for f_hz in [
            20.0, 200.0, 385.0, 450.0, 560.0, 745.0, 1000.0, 5000.0, 20_000.0,
        ] {
            let driver = HORN
                .iter()
                .fold(Complex64::new(re, TAU * f_hz * le), |z, peak| {
                    z + peak.impedance(f_hz)
                });
            let together = (driver.finv() + network.admittance(f_hz)).finv();
            assert_relative_eq!(together.re, re, max_relative = 1e-12);
            assert_relative_eq!(together.im, 0.0, epsilon = 1e-11);
        }
    }

    #[test]
    fn one_trap_takes_one_peak_away() {
        let trap = SeriesTrap::for_peak(6.4, HORN[0]).unwrap();
        for f_hz in [50.0, 300.0, 385.0, 500.0, 4000.0] {
            let driver = HORN[0].impedance(f_hz) + 6.4;
            let together = (driver.finv() + trap.impedance(f_hz).finv()).finv();
            assert_relative_eq!(together.re, 6.4, max_relative = 1e-12);
            assert_relative_eq!(together.im, 0.0, epsilon = 1e-11);
        }
    }

    #[test]
    fn nothing_to_compensate_gives_nothing() {
        let network = Compensation::new(6.0, 0.0, &[]).unwrap();
        assert_relative_eq!(network.admittance(1000.0).norm(), 0.0);
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(Zobel::exact(0.0, 1e-3).is_err());
        assert!(Zobel::by_trade_rule(6.0, -1e-3).is_err());
        assert!(Compensation::new(6.0, f64::NAN, &[]).is_err());
        assert!(Peak::of_closed_box(6.0, 60.0, 0.0, 3.0).is_err());
        let flat = Peak {
            r_ohm: 0.0,
            ..HORN[0]
        };
        assert!(SeriesTrap::for_peak(6.0, flat).is_err());
    }
}

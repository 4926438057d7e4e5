//! Pads: what lowers a driver's level, and what that does to the load, the heat and the damping.
//!
//! All pads sit between the filter (or the amplifier) and the driver. Sizes hold for a resistor as
//! load; [`Pad::on`] gives what a pad does on any impedance.

use num_complex::Complex64;

use super::SynthesisError;
use super::error::{positive, realisable, within};

/// Greatest attenuation that a pad is sized for.
const GREATEST_DB: f64 = 80.0;

/// How a pad is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PadKind {
    /// Series resistor, then a shunt resistor across the driver.
    LPad,
    /// Series resistor alone.
    Series,
    /// Shunt resistor across the filter's output, then a series resistor to the driver.
    ShuntSeries,
    /// Tap of an autoformer across the filter's output, with or without a resistor beside it.
    Autoformer,
}

/// A pad with its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pad {
    /// Series resistor, then a shunt resistor across the driver.
    LPad {
        /// In series, ohm.
        series_ohm: f64,
        /// Across the driver, ohm.
        shunt_ohm: f64,
    },
    /// Series resistor alone.
    Series {
        /// In series, ohm.
        series_ohm: f64,
    },
    /// Shunt resistor across the filter's output, then a series resistor to the driver.
    ShuntSeries {
        /// Across the filter's output, ohm.
        shunt_ohm: f64,
        /// In series with the driver, ohm.
        series_ohm: f64,
    },
    /// Tap of a lossless autoformer of so much inductance that its current does not count.
    Autoformer {
        /// Turns up to the tap over all turns, above 0 and at most 1.
        ratio: f64,
        /// Resistor across the whole winding, which brings the load back down; ohm.
        shunt_ohm: Option<f64>,
    },
}

/// What a pad does at one frequency on the driver's impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadOnLoad {
    /// Driver voltage over the voltage at the pad's input.
    pub transfer: Complex64,
    /// Impedance that the filter sees, in ohm.
    pub seen_ohm: Complex64,
    /// Impedance that the driver sees looking back, in ohm.
    pub behind_ohm: Complex64,
}

impl PadOnLoad {
    /// Attenuation from the pad's input to the driver, in dB.
    #[must_use]
    pub fn attenuation_db(&self) -> f64 {
        -20.0 * self.transfer.norm().log10()
    }
}

/// Where the power goes, in watt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadPower {
    /// In the series resistor; 0 where there is none.
    pub series_w: f64,
    /// In the shunt resistor; 0 where there is none.
    pub shunt_w: f64,
    /// In the driver.
    pub driver_w: f64,
}

impl PadPower {
    /// All of it.
    #[must_use]
    pub fn total_w(&self) -> f64 {
        self.series_w + self.shunt_w + self.driver_w
    }
}

impl Pad {
    /// The pad of a kind that takes `attenuation_db` off a resistor `r_ohm`. With K = 10^(dB/20):
    ///
    /// - L-pad, seen as `r_ohm` (constant impedance): series R(1 − 1/K), shunt R/(K − 1);
    /// - series: R(K − 1), seen as K·R;
    /// - shunt-series, seen as `r_ohm`: series R(K − 1) divides the voltage by K, and the shunt
    ///   brings the K·R behind it back to R, so it is R·K/(K − 1);
    /// - autoformer: tap at 1/K of the turns, seen as K²·R.
    ///
    /// # Errors
    /// If `r_ohm` is not positive and finite, or the attenuation is not above 0 and at most 80 dB.
    pub fn size(kind: PadKind, attenuation_db: f64, r_ohm: f64) -> Result<Self, SynthesisError> {
        let k = factor(attenuation_db)?;
        let r = positive("load resistance in ohm", r_ohm)?;
        let resistor = |value| realisable("pad resistor", value);
        Ok(match kind {
            PadKind::LPad => Self::LPad {
                series_ohm: resistor(r * (1.0 - 1.0 / k))?,
                shunt_ohm: resistor(r / (k - 1.0))?,
            },
            PadKind::Series => Self::Series {
                series_ohm: resistor(r * (k - 1.0))?,
            },
            PadKind::ShuntSeries => Self::ShuntSeries {
                shunt_ohm: resistor(r * k / (k - 1.0))?,
                series_ohm: resistor(r * (k - 1.0))?,
            },
            PadKind::Autoformer => Self::Autoformer {
                ratio: 1.0 / k,
                shunt_ohm: None,
            },
        })
    }

    /// The L-pad that takes `attenuation_db` off a resistor `r_ohm` and is seen as `seen_ohm`:
    /// shunt and load together are seen/K, the series resistor is the rest, seen(1 − 1/K).
    ///
    /// # Errors
    /// As [`Pad::size`]; if `seen_ohm` is not below K·R, where the shunt vanishes and the series
    /// resistor alone attenuates.
    pub fn l_pad_seen_as(
        attenuation_db: f64,
        r_ohm: f64,
        seen_ohm: f64,
    ) -> Result<Self, SynthesisError> {
        let k = factor(attenuation_db)?;
        let r = positive("load resistance in ohm", r_ohm)?;
        let seen = positive("seen resistance in ohm", seen_ohm)?;
        if seen >= k * r {
            return Err(SynthesisError::OutOfRange {
                what: "seen resistance in ohm",
                value: seen,
                least: 0.0,
                greatest: k * r,
            });
        }
        let together = seen / k;
        Ok(Self::LPad {
            series_ohm: realisable("pad resistor", seen - together)?,
            shunt_ohm: realisable("pad resistor", r * together / (r - together))?,
        })
    }

    /// Checks that the values of a given pad are positive and finite (ratio above 0, at most 1).
    ///
    /// # Errors
    /// If they are not.
    pub fn validated(self) -> Result<Self, SynthesisError> {
        match self {
            Self::LPad {
                series_ohm,
                shunt_ohm,
            }
            | Self::ShuntSeries {
                shunt_ohm,
                series_ohm,
            } => {
                positive("series resistor in ohm", series_ohm)?;
                positive("shunt resistor in ohm", shunt_ohm)?;
            }
            Self::Series { series_ohm } => {
                positive("series resistor in ohm", series_ohm)?;
            }
            Self::Autoformer { ratio, shunt_ohm } => {
                within(
                    "turns ratio",
                    positive("turns ratio", ratio)?,
                    f64::MIN_POSITIVE,
                    1.0,
                )?;
                if let Some(shunt_ohm) = shunt_ohm {
                    positive("shunt resistor in ohm", shunt_ohm)?;
                }
            }
        }
        Ok(self)
    }

    /// How it is built.
    #[must_use]
    pub fn kind(self) -> PadKind {
        match self {
            Self::LPad { .. } => PadKind::LPad,
            Self::Series { .. } => PadKind::Series,
            Self::ShuntSeries { .. } => PadKind::ShuntSeries,
            Self::Autoformer { .. } => PadKind::Autoformer,
        }
    }

    /// Series resistor in ohm, where there is one.
    #[must_use]
    pub fn series_ohm(self) -> Option<f64> {
        match self {
            Self::LPad { series_ohm, .. }
            | Self::Series { series_ohm }
            | Self::ShuntSeries { series_ohm, .. } => Some(series_ohm),
            Self::Autoformer { .. } => None,
        }
    }

    /// Shunt resistor in ohm, where there is one.
    #[must_use]
    pub fn shunt_ohm(self) -> Option<f64> {
        match self {
            Self::LPad { shunt_ohm, .. } | Self::ShuntSeries { shunt_ohm, .. } => Some(shunt_ohm),
            Self::Autoformer { shunt_ohm, .. } => shunt_ohm,
            Self::Series { .. } => None,
        }
    }

    /// Turns ratio of the tap, for an autoformer.
    #[must_use]
    pub fn ratio(self) -> Option<f64> {
        match self {
            Self::Autoformer { ratio, .. } => Some(ratio),
            _ => None,
        }
    }

    /// What the pad does on a driver impedance, fed from an impedance `source_ohm` (0 for an ideal
    /// amplifier). The values must be valid ([`Pad::validated`]) and the load's real part positive.
    #[must_use]
    pub fn on(self, load_ohm: Complex64, source_ohm: Complex64) -> PadOnLoad {
        self.on_bridged(load_ohm, Complex64::ZERO, source_ohm)
    }

    /// The same with an admittance across the series resistor, in siemens: a horn's equalisation. An
    /// autoformer has no series resistor, and no bridge.
    #[must_use]
    pub fn on_bridged(
        self,
        load_ohm: Complex64,
        bridge_siemens: Complex64,
        source_ohm: Complex64,
    ) -> PadOnLoad {
        let parallel = |r: f64, z: Complex64| z * r / (z + r);
        let bridged = |r: f64| r / (1.0 + bridge_siemens * r);
        match self {
            Self::LPad {
                series_ohm,
                shunt_ohm,
            } => {
                let series_ohm = bridged(series_ohm);
                let across = parallel(shunt_ohm, load_ohm);
                let seen_ohm = across + series_ohm;
                PadOnLoad {
                    transfer: across / seen_ohm,
                    seen_ohm,
                    behind_ohm: parallel(shunt_ohm, source_ohm + series_ohm),
                }
            }
            Self::Series { series_ohm } => {
                let series_ohm = bridged(series_ohm);
                let seen_ohm = load_ohm + series_ohm;
                PadOnLoad {
                    transfer: load_ohm / seen_ohm,
                    seen_ohm,
                    behind_ohm: source_ohm + series_ohm,
                }
            }
            Self::ShuntSeries {
                shunt_ohm,
                series_ohm,
            } => {
                let series_ohm = bridged(series_ohm);
                let path = load_ohm + series_ohm;
                PadOnLoad {
                    transfer: load_ohm / path,
                    seen_ohm: parallel(shunt_ohm, path),
                    behind_ohm: parallel(shunt_ohm, source_ohm) + series_ohm,
                }
            }
            Self::Autoformer { ratio, shunt_ohm } => {
                let beside = |z: Complex64| shunt_ohm.map_or(z, |r| parallel(r, z));
                PadOnLoad {
                    transfer: Complex64::new(ratio, 0.0),
                    seen_ohm: beside(load_ohm / (ratio * ratio)),
                    behind_ohm: beside(source_ohm) * (ratio * ratio),
                }
            }
        }
    }

    /// Where the power goes at `input_v` (rms) on the pad's input, in watt.
    #[must_use]
    pub fn power(self, load_ohm: Complex64, input_v: f64) -> PadPower {
        let transfer = self.on(load_ohm, Complex64::ZERO).transfer;
        self.power_at(transfer, load_ohm, input_v)
    }

    /// The same where the driver's share of the voltage is known already.
    #[must_use]
    pub fn power_at(self, transfer: Complex64, load_ohm: Complex64, input_v: f64) -> PadPower {
        let driver_v = input_v * transfer.norm();
        let across_series_v = input_v * (Complex64::ONE - transfer).norm();
        let dissipated = |volts: f64, ohms: f64| volts * volts / ohms;
        PadPower {
            series_w: self
                .series_ohm()
                .map_or(0.0, |r| dissipated(across_series_v, r)),
            shunt_w: match self {
                Self::LPad { shunt_ohm, .. } => dissipated(driver_v, shunt_ohm),
                Self::ShuntSeries { shunt_ohm, .. } => dissipated(input_v, shunt_ohm),
                Self::Autoformer { shunt_ohm, .. } => {
                    shunt_ohm.map_or(0.0, |r| dissipated(input_v, r))
                }
                Self::Series { .. } => 0.0,
            },
            driver_w: driver_v * driver_v * load_ohm.finv().re,
        }
    }
}

/// The resistive pad of least loss that matches a source of `source_ohm` to a smaller load of
/// `load_ohm` in both directions, and its loss in dB of power: with q = √(1 − R₂/R₁), series R₁q on
/// the source's side and R₂/q across the load; the loss is 20·lg(√(R₁/R₂) + √(R₁/R₂ − 1)).
///
/// # Errors
/// If a resistance is not positive and finite, or the source is not above the load.
pub fn minimum_loss_pad(source_ohm: f64, load_ohm: f64) -> Result<(Pad, f64), SynthesisError> {
    let r1 = positive("source resistance in ohm", source_ohm)?;
    let r2 = positive("load resistance in ohm", load_ohm)?;
    if r2 >= r1 {
        return Err(SynthesisError::OutOfRange {
            what: "load resistance of a minimum-loss pad in ohm",
            value: r2,
            least: 0.0,
            greatest: r1,
        });
    }
    let q = (1.0 - r2 / r1).sqrt();
    let pad = Pad::LPad {
        series_ohm: realisable("pad resistor", r1 * q)?,
        shunt_ohm: realisable("pad resistor", r2 / q)?,
    };
    let ratio = realisable("ratio of the resistances", r1 / r2)?;
    Ok((pad, 20.0 * (ratio.sqrt() + (ratio - 1.0).sqrt()).log10()))
}

/// K = 10^(dB/20) of an attenuation.
fn factor(attenuation_db: f64) -> Result<f64, SynthesisError> {
    let db = positive("attenuation in dB", attenuation_db)?;
    Ok(10f64.powf(within("attenuation in dB", db, 0.0, GREATEST_DB)? / 20.0))
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    const KINDS: [PadKind; 4] = [
        PadKind::LPad,
        PadKind::Series,
        PadKind::ShuntSeries,
        PadKind::Autoformer,
    ];

    #[test]
    fn a_sized_pad_attenuates_and_is_seen_as_said() {
        let (r, db) = (8.0, 11.0);
        let k = 10f64.powf(db / 20.0);
        for (kind, seen) in KINDS.into_iter().zip([r, k * r, r, k * k * r]) {
            let on = Pad::size(kind, db, r)
                .unwrap()
                .on(r.into(), Complex64::ZERO);
            assert_relative_eq!(on.attenuation_db(), db, max_relative = 1e-12);
            assert_relative_eq!(on.seen_ohm.re, seen, max_relative = 1e-12);
        }
        let on = Pad::l_pad_seen_as(db, r, 12.0)
            .unwrap()
            .on(r.into(), Complex64::ZERO);
        assert_relative_eq!(on.attenuation_db(), db, max_relative = 1e-12);
        assert_relative_eq!(on.seen_ohm.re, 12.0, max_relative = 1e-12);
    }

    #[test]
    fn power_in_is_power_burnt_on_any_load() {
        for kind in KINDS {
            let pad = Pad::size(kind, 9.0, 8.0).unwrap();
            for load in [
                Complex64::new(6.0, 9.0),
                Complex64::new(14.0, -11.0),
                8.0.into(),
            ] {
                let power = pad.power(load, 12.0);
                let into = 144.0 * pad.on(load, Complex64::ZERO).seen_ohm.finv().re;
                assert_relative_eq!(power.total_w(), into, max_relative = 1e-12);
            }
        }
    }

    #[test]
    fn the_driver_sees_what_its_voltage_under_load_says() {
        // Thevenin: the source impedance is open voltage over short current, taken here from two loads.
        let source = Complex64::new(1.8, 0.7);
        for kind in KINDS {
            let pad = Pad::size(kind, 7.0, 8.0).unwrap();
            let driver_v = |load: Complex64| {
                let on = pad.on(load, source);
                on.seen_ohm / (on.seen_ohm + source) * on.transfer
            };
            let (za, zb) = (Complex64::new(5.0, 2.0), Complex64::new(40.0, -9.0));
            let (va, vb) = (driver_v(za), driver_v(zb));
            let behind = (vb - va) / (va / za - vb / zb);
            assert_relative_eq!(
                (behind - pad.on(za, source).behind_ohm).norm(),
                0.0,
                epsilon = 1e-10
            );
        }
    }

    #[test]
    fn a_resistor_beside_the_winding_takes_its_share() {
        let pad = Pad::Autoformer {
            ratio: 0.5,
            shunt_ohm: Some(16.0),
        };
        let load = Complex64::new(8.0, 3.0);
        let (seen, power) = (
            pad.on(load, Complex64::ZERO).seen_ohm,
            pad.power(load, 10.0),
        );
        assert_relative_eq!(
            (seen.inv() - (4.0 * load).inv() - 1.0 / 16.0).norm(),
            0.0,
            epsilon = 1e-15
        );
        assert_relative_eq!(power.total_w(), 100.0 * seen.inv().re, max_relative = 1e-12);
    }

    #[test]
    fn nonsense_is_refused() {
        for db in [0.0, -3.0, 81.0, f64::NAN] {
            assert!(Pad::size(PadKind::LPad, db, 8.0).is_err());
        }
        assert!(Pad::size(PadKind::Series, 6.0, 0.0).is_err());
        assert!(Pad::l_pad_seen_as(6.0, 8.0, 16.0).is_err());
        assert!(minimum_loss_pad(8.0, 8.0).is_err());
        let turns = |ratio, shunt_ohm| Pad::Autoformer { ratio, shunt_ohm }.validated();
        assert!(turns(1.1, None).is_err() && turns(0.5, Some(-1.0)).is_err());
        assert!(turns(0.5, Some(9.0)).is_ok());
        assert!(
            Pad::LPad {
                series_ohm: 1.0,
                shunt_ohm: 0.0
            }
            .validated()
            .is_err()
        );
        assert!(Pad::Series { series_ohm: 1.0 }.validated().is_ok());
    }
}

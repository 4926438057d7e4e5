//! Pads: what lowers a driver's level, and what that does to the load, the heat and the damping.
//!
//! All pads sit between the filter (or the amplifier) and the driver. Sizes hold for a resistor as
//! load; what a pad does on any impedance is worked out in [`crate::pad`].

use serde::Serialize;

use super::SynthesisError;
use super::error::{positive, realisable, within};

/// Greatest attenuation that a pad is sized for.
const GREATEST_DB: f64 = 80.0;

/// How a pad is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
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

impl Pad {
    /// The pad of a kind with `value` in series, ohm, or for an autoformer with its tap at `value`, beside a shunt or
    /// without one. Where a kind has no shunt, or has one and none is given, it is a series resistor alone.
    #[must_use]
    pub fn of(kind: PadKind, value: f64, shunt_ohm: Option<f64>) -> Self {
        let series_ohm = value;
        match (kind, shunt_ohm) {
            (PadKind::Autoformer, shunt_ohm) => Self::Autoformer {
                ratio: value,
                shunt_ohm,
            },
            (PadKind::LPad, Some(shunt_ohm)) => Self::LPad {
                series_ohm,
                shunt_ohm,
            },
            (PadKind::ShuntSeries, Some(shunt_ohm)) => Self::ShuntSeries {
                shunt_ohm,
                series_ohm,
            },
            _ => Self::Series { series_ohm },
        }
    }

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
}

/// K = 10^(dB/20) of an attenuation.
fn factor(attenuation_db: f64) -> Result<f64, SynthesisError> {
    let db = positive("attenuation in dB", attenuation_db)?;
    Ok(10f64.powf(within("attenuation in dB", db, 0.0, GREATEST_DB)? / 20.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nonsense_is_refused() {
        for db in [0.0, -3.0, 81.0, f64::NAN] {
            assert!(Pad::size(PadKind::LPad, db, 8.0).is_err());
        }
        assert!(Pad::size(PadKind::Series, 6.0, 0.0).is_err());
        assert!(Pad::l_pad_seen_as(6.0, 8.0, 16.0).is_err());
    }
}

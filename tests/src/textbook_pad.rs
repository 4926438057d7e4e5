//! What a pad does on any impedance by the rules for resistances in series and side by side, kind by kind: a second opinion
//! on the one formula for all kinds in [`solver::pad`]. `references/pad.rs` holds it to printed tables.

use num_complex::Complex64;
use solver::synthesis::Pad;

/// What a pad does at one frequency on the driver's impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnLoad {
    /// Driver voltage over the voltage at the pad's input.
    pub transfer: Complex64,
    /// Impedance that the filter sees, in ohm.
    pub seen_ohm: Complex64,
    /// Impedance that the driver sees looking back, in ohm.
    pub behind_ohm: Complex64,
}

impl OnLoad {
    /// Attenuation from the pad's input to the driver, in dB.
    #[must_use]
    pub fn attenuation_db(&self) -> f64 {
        -20.0 * self.transfer.norm().log10()
    }
}

/// Where the power goes at one frequency, in watt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadPower {
    /// In the series resistor; 0 where there is none.
    pub series_w: f64,
    /// In the shunt resistor; 0 where there is none.
    pub shunt_w: f64,
    /// In the driver.
    pub driver_w: f64,
}

/// All that is burnt, W.
#[must_use]
pub fn total_w(power: &PadPower) -> f64 {
    power.series_w + power.shunt_w + power.driver_w
}

/// Closed forms of a pad.
pub trait TextbookPad {
    /// On a driver impedance, fed from `source_ohm`.
    fn on(self, load_ohm: Complex64, source_ohm: Complex64) -> OnLoad;

    /// Where the power goes at `input_v` (rms) on the pad's input.
    fn power(self, load_ohm: Complex64, input_v: f64) -> PadPower;
}

impl TextbookPad for Pad {
    fn on(self, load_ohm: Complex64, source_ohm: Complex64) -> OnLoad {
        let parallel = |r: f64, z: Complex64| z * r / (z + r);
        match self {
            Self::LPad {
                series_ohm,
                shunt_ohm,
            } => {
                let across = parallel(shunt_ohm, load_ohm);
                let seen_ohm = across + series_ohm;
                OnLoad {
                    transfer: across / seen_ohm,
                    seen_ohm,
                    behind_ohm: parallel(shunt_ohm, source_ohm + series_ohm),
                }
            }
            Self::Series { series_ohm } => {
                let seen_ohm = load_ohm + series_ohm;
                OnLoad {
                    transfer: load_ohm / seen_ohm,
                    seen_ohm,
                    behind_ohm: source_ohm + series_ohm,
                }
            }
            Self::ShuntSeries {
                shunt_ohm,
                series_ohm,
            } => {
                let path = load_ohm + series_ohm;
                OnLoad {
                    transfer: load_ohm / path,
                    seen_ohm: parallel(shunt_ohm, path),
                    behind_ohm: parallel(shunt_ohm, source_ohm) + series_ohm,
                }
            }
            Self::Autoformer { ratio, shunt_ohm } => {
                let beside = |z: Complex64| shunt_ohm.map_or(z, |r| parallel(r, z));
                OnLoad {
                    transfer: Complex64::new(ratio, 0.0),
                    seen_ohm: beside(load_ohm / (ratio * ratio)),
                    behind_ohm: beside(source_ohm) * (ratio * ratio),
                }
            }
        }
    }

    fn power(self, load_ohm: Complex64, input_v: f64) -> PadPower {
        let transfer = self.on(load_ohm, Complex64::ZERO).transfer;
        let [series_w, shunt_w] = self.resistors_w(transfer, input_v);
        let driver_v = input_v * transfer.norm();
        PadPower {
            series_w,
            shunt_w,
            driver_w: driver_v * driver_v * load_ohm.finv().re,
        }
    }
}

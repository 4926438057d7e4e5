//! What a pad does on any impedance: to the level, to the load of the filter, to the damping of the driver,
//! and where the power goes.

use num_complex::Complex64;

use super::pad::Pad;

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
    /// What the pad does on a driver impedance, fed from an impedance `source_ohm` (0 for an ideal
    /// amplifier). The values must be valid and the load's real part positive.
    #[must_use]
    pub fn on(self, load_ohm: Complex64, source_ohm: Complex64) -> PadOnLoad {
        let parallel = |r: f64, z: Complex64| z * r / (z + r);
        match self {
            Self::LPad {
                series_ohm,
                shunt_ohm,
            } => {
                let across = parallel(shunt_ohm, load_ohm);
                let seen_ohm = across + series_ohm;
                PadOnLoad {
                    transfer: across / seen_ohm,
                    seen_ohm,
                    behind_ohm: parallel(shunt_ohm, source_ohm + series_ohm),
                }
            }
            Self::Series { series_ohm } => {
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

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::synthesis::PadKind;

    const KINDS: [PadKind; 4] = [
        PadKind::LPad,
        PadKind::Series,
        PadKind::ShuntSeries,
        PadKind::Autoformer,
    ];

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
}

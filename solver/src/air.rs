//! Air: speed of sound, density, reference pressure.
//!
//! Speed of sound c = 331.3·√(1 + T/273.15) m/s, T in °C (J. O. Smith, *Physical Audio Signal
//! Processing*). Density ρ = p/(R·T), dry air, p = 101 325 Pa, R = 287.05 J/(kg·K). At 20 °C that
//! is 343.215 m/s and 1.20412 kg/m³.

/// Reference sound pressure, 20 µPa rms: 0 dB SPL (IEC 60268-5, 20.2).
pub const REFERENCE_PRESSURE_PA: f64 = 20e-6;

/// Speed of sound at 20 °C, in metre per second: 331.3·√(1 + 20/273.15).
pub const SPEED_OF_SOUND_M_PER_S: f64 = 343.214_622_682_568;

/// Speed of sound and density of air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Speed of sound, in metre per second.
    pub c_m_per_s: f64,
    /// Density, in kilogram per cubic metre.
    pub rho_kg_per_m3: f64,
}

impl Air {
    /// Dry air at sea-level pressure and `celsius` degrees; above absolute zero.
    #[must_use]
    pub fn at_celsius(celsius: f64) -> Self {
        let kelvin = 273.15 + celsius;
        Self {
            c_m_per_s: 331.3 * (1.0 + celsius / 273.15).sqrt(),
            rho_kg_per_m3: 101_325.0 / (287.05 * kelvin),
        }
    }
}

impl Default for Air {
    /// Air at 20 °C.
    fn default() -> Self {
        Self::at_celsius(20.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// c = 331.3·√(1 + T/273.15) (J. O. Smith), ρ of dry air at 101 325 Pa; recomputed to the digits shown.
    #[test]
    fn air_at_other_temperatures() {
        for (celsius, c_m_per_s, rho_kg_per_m3) in [
            (0.0, 331.300, 1.29228),
            (10.0, 337.310, 1.24664),
            (15.0, 340.275, 1.22501),
            (20.0, 343.215, 1.20412),
            (23.0, 344.966, 1.19192),
            (25.0, 346.129, 1.18393),
            (30.0, 349.019, 1.16440),
        ] {
            let air = Air::at_celsius(celsius);
            assert!((air.c_m_per_s - c_m_per_s).abs() < 6e-4, "{celsius}");
            assert!(
                (air.rho_kg_per_m3 - rho_kg_per_m3).abs() < 6e-6,
                "{celsius}"
            );
        }
        assert!((SPEED_OF_SOUND_M_PER_S - Air::default().c_m_per_s).abs() < 1e-9);
    }
}

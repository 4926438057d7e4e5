//! Annealed copper and round wire made of it; diameters and frequencies are above zero.

use std::f64::consts::PI;

/// Resistivity at 20 °C, Ω·m: 1/58 Ω·mm²/m, IEC 60028 standard annealed copper.
pub const RESISTIVITY_20C_OHM_M: f64 = 1e-6 / 58.0;

/// Temperature coefficient of resistance at 20 °C and constant mass, 1/K: IEC 60028.
pub const TEMPERATURE_COEFFICIENT_PER_K: f64 = 3.93e-3;

/// Density, kg/m³: IEC 60028 (from memory).
pub const DENSITY_KG_PER_M3: f64 = 8890.0;

/// Bare section of round wire, m².
#[must_use]
pub fn wire_area_m2(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}

/// Resistance of round wire at 20 °C by its bare diameter, Ω/m.
#[must_use]
pub fn wire_ohm_per_m(diameter_m: f64) -> f64 {
    RESISTIVITY_20C_OHM_M / wire_area_m2(diameter_m)
}

/// Mass of bare round wire, kg/m.
#[must_use]
pub fn wire_kg_per_m(diameter_m: f64) -> f64 {
    DENSITY_KG_PER_M3 * wire_area_m2(diameter_m)
}

/// Factor on a resistance at 20 °C when the copper is at `celsius`.
#[must_use]
pub fn resistance_factor(celsius: f64) -> f64 {
    1.0 + TEMPERATURE_COEFFICIENT_PER_K * (celsius - 20.0)
}

/// Factor by which a copper resistance at 20 °C grows when it is `rise_k` warmer.
#[must_use]
pub fn hot_factor(rise_k: f64) -> f64 {
    resistance_factor(20.0 + rise_k)
}

//! Compression driver on a horn, from its data sheet.
//!
//! Impedance: Re, lossy inductance, and any number of parallel resonances in series,
//! R/(1 + jQ(f/f₀ − f₀/f)).
//!
//! Sound: minimum phase, in volts at the driver's terminals with a cold coil,
//!
//! ```text
//! p/V = p₀·10^(level/20)/2.83 · H_horn · 1/(1 + jf/f_mass) · 1/(1 + j(f/f_top)/Q_top − (f/f_top)²)
//! ```
//!
//! `level` is thus the level at exactly 2.83 V, 1 m, that the horn would have with its lower limit, the
//! mass roll-off and the top resonance infinitely far away. H_horn is a high pass at the horn's cut-off:
//! order 1 first order; 2 the pair of quality Q; 3 the pair and a first order; 4 the pair twice (which
//! with Q = 0.707 is 6 dB down at the cut-off).

use netlist::project::{Compression, Horn};
use num_complex::Complex64;

use super::voice_coil::lossy_inductance_ohm;
use super::{Conditions, DriverLoad, REFERENCE_V};
use crate::air::REFERENCE_PRESSURE_PA;
use crate::coil::copper::hot_factor;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Impedance and sound of a compression driver over the grid.
pub(super) fn compression_load(
    driver: &Compression,
    grid: &Grid,
    conditions: &Conditions,
) -> DriverLoad {
    let re_hot = driver.re.0 * hot_factor(driver.coil_rise.0 + conditions.coil_rise_k);
    let flat = REFERENCE_PRESSURE_PA * 10f64.powf(driver.level.0 / 20.0) / REFERENCE_V;

    let mut z_ohm = Spectrum::zeros(grid.len());
    let mut pressure = Spectrum::zeros(grid.len());
    for (i, (&f, &omega)) in grid.f_hz().iter().zip(grid.omega()).enumerate() {
        let mut z = re_hot + lossy_inductance_ohm(&driver.inductance, omega);
        for resonance in &driver.resonances {
            let x = f / resonance.f.0;
            z += resonance.r.0 / Complex64::new(1.0, resonance.q * (x - 1.0 / x));
        }
        let z_cold = z - (re_hot - driver.re.0);
        let mut p = flat * horn_high_pass(&driver.horn, f);
        if let Some(corner) = driver.mass_corner {
            p /= Complex64::new(1.0, f / corner.0);
        }
        if let Some(top) = driver.top {
            let x = f / top.f.0;
            p /= Complex64::new(1.0 - x * x, x / top.q);
        }
        z_ohm.set(i, z);
        // The sound follows the current through the coil, whatever the coil's resistance.
        pressure.set(i, p * z_cold / z);
    }
    DriverLoad {
        z_ohm,
        pressure_pa_per_v: pressure,
        re_ohm: re_hot,
        notes: Vec::new(),
    }
}

/// The horn's lower limit as a high pass, 1 far above the cut-off. Orders beyond 4 count as 4.
fn horn_high_pass(horn: &Horn, f_hz: f64) -> Complex64 {
    // In 1/x: numerator 1, so that nothing overflows far below or above.
    let down = horn.cutoff.0 / f_hz;
    let first = Complex64::new(1.0, -down).inv();
    let pair = Complex64::new(1.0 - down * down, -down / horn.q).inv();
    match horn.order {
        0 => Complex64::new(1.0, 0.0),
        1 => first,
        2 => pair,
        3 => first * pair,
        _ => pair * pair,
    }
}

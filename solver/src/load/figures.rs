//! Figures read off a driver's curves: main resonance, least impedance.

use netlist::quantity::Hertz;

use super::DriverLoad;
use crate::grid::Grid;
use crate::spectrum::{Spectrum, phase_deg};

/// Least prominence of an impedance peak that counts as a resonance: 10 %.
const LEAST_PROMINENCE: f64 = 1.1;

/// The main resonance: the impedance peak that stands out most, as a ratio to the saddle that parts it from
/// higher ground. `None` when no peak within the grid stands out by 10 %.
///
/// The saddle on the lower side does not count when nothing there is higher, so that a grid that begins
/// on the flank of the resonance still shows it; the upper side always counts, so that ripple on the
/// rise of the voice coil's inductance is no resonance. The top is placed by a parabola through three
/// points in log-frequency.
#[must_use]
pub fn main_resonance(grid: &Grid, load: &DriverLoad) -> Option<Hertz> {
    let ln_z: Vec<f64> = load.z_ohm.iter().map(|z| z.norm().ln()).collect();
    let mut best: Option<(f64, usize)> = None;
    for i in 1..ln_z.len().saturating_sub(1) {
        if !(ln_z[i] > ln_z[i - 1] && ln_z[i] >= ln_z[i + 1]) {
            continue;
        }
        let prominence = prominence(&ln_z, i);
        if prominence >= LEAST_PROMINENCE.ln() && best.is_none_or(|(most, _)| prominence > most) {
            best = Some((prominence, i));
        }
    }
    let (_, i) = best?;
    let x = [i - 1, i, i + 1].map(|k| grid.f_hz()[k].ln());
    let y = [ln_z[i - 1], ln_z[i], ln_z[i + 1]];
    Some(Hertz(vertex(x, y).exp()))
}

fn prominence(y: &[f64], peak: usize) -> f64 {
    let mut right = f64::INFINITY;
    for &value in &y[peak + 1..] {
        right = right.min(value);
        if value > y[peak] {
            break;
        }
    }
    let mut left = f64::INFINITY;
    let mut higher = false;
    for &value in y[..peak].iter().rev() {
        left = left.min(value);
        if value > y[peak] {
            higher = true;
            break;
        }
    }
    y[peak] - if higher { left.max(right) } else { right }
}

/// Abscissa of the top of the parabola through three points, within them.
fn vertex(x: [f64; 3], y: [f64; 3]) -> f64 {
    let rise = (y[1] - y[0]) / (x[1] - x[0]);
    let fall = (y[2] - y[1]) / (x[2] - x[1]);
    let curvature = (fall - rise) / (x[2] - x[0]);
    if curvature < 0.0 {
        let top = 0.5 * (x[0] + x[1]) - 0.5 * rise / curvature;
        top.clamp(x[0], x[2])
    } else {
        x[1]
    }
}

/// Where an impedance is least.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct LeastImpedance {
    /// Frequency, in hertz.
    pub f_hz: f64,
    /// Magnitude, in ohm.
    pub magnitude_ohm: f64,
    /// Phase, in degrees.
    pub phase_deg: f64,
}

/// The least magnitude of an impedance on the grid from `from_hz` to `to_hz`, the lowest frequency
/// among equals; `None` when no point of the grid is in that band.
#[must_use]
pub fn least_impedance(
    grid: &Grid,
    z_ohm: &Spectrum,
    from_hz: f64,
    to_hz: f64,
) -> Option<LeastImpedance> {
    let mut least: Option<LeastImpedance> = None;
    for (&f_hz, z) in grid.f_hz().iter().zip(z_ohm.iter()) {
        if f_hz < from_hz || f_hz > to_hz {
            continue;
        }
        let magnitude_ohm = z.norm();
        if least.is_none_or(|found| magnitude_ohm < found.magnitude_ohm) {
            least = Some(LeastImpedance {
                f_hz,
                magnitude_ohm,
                phase_deg: phase_deg(z),
            });
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    fn load(grid: &Grid, z: impl Fn(f64) -> f64) -> DriverLoad {
        DriverLoad {
            z_ohm: Spectrum::from_fn(grid.len(), |i| Complex64::new(z(grid.f_hz()[i]), 0.0)),
            pressure_pa_per_v: Spectrum::zeros(grid.len()),
            re_ohm: 1.0,
            notes: Vec::new(),
        }
    }

    /// 6 Ω with a peak at 40 Hz, rising above 1 kHz with ripple that ends higher than the peak.
    fn rippled(f: f64) -> f64 {
        let x = f / 40.0;
        let peak = 30.0 / (1.0 + (3.0 * (x - 1.0 / x)).powi(2)).sqrt();
        let coil = (1.0 + (f / 2000.0).powi(2)).sqrt();
        6.0 * coil * (1.0 + 0.02 * (20.0 * f.ln()).sin()) + peak
    }

    #[test]
    fn ripple_on_the_rise_is_no_resonance() {
        let grid = Grid::log_spaced(10.0, 40_000.0, 800).unwrap();
        let found = main_resonance(&grid, &load(&grid, rippled)).unwrap();
        assert!((found.0 - 40.0).abs() < 0.5, "{found:?}");
        // A grid that begins on the flank of the peak.
        let grid = Grid::log_spaced(37.0, 40_000.0, 800).unwrap();
        let found = main_resonance(&grid, &load(&grid, rippled)).unwrap();
        assert!((found.0 - 40.0).abs() < 0.5, "{found:?}");
    }

    #[test]
    fn no_peak_no_resonance() {
        let grid = Grid::log_spaced(10.0, 40_000.0, 400).unwrap();
        assert_eq!(main_resonance(&grid, &load(&grid, |_| 8.0)), None);
        assert_eq!(main_resonance(&grid, &load(&grid, |f| f)), None);
        let one = Grid::new(vec![100.0]).unwrap();
        assert_eq!(main_resonance(&one, &load(&one, |_| 8.0)), None);
    }

    #[test]
    fn least_impedance_stays_in_its_band() {
        let grid = Grid::log_spaced(10.0, 1000.0, 101).unwrap();
        let load = load(&grid, |f| 1000.0 / f);
        let least = least_impedance(&grid, &load.z_ohm, 20.0, 100.0).unwrap();
        assert!((least.f_hz - 100.0).abs() < 1e-6 && (least.magnitude_ohm - 10.0).abs() < 1e-6);
        assert_eq!(least_impedance(&grid, &load.z_ohm, 2e3, 3e3), None);
    }
}

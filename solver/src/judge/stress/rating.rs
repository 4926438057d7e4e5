//! Ratings to buy, rounded up to what is sold.

use crate::judge::limits::LIMITS;

/// Rated power to buy for a resistor that burns `noise_w` for hours and `sine_w` for seconds.
#[must_use]
pub fn resistor_w(noise_w: f64, sine_w: f64) -> f64 {
    let least = (LIMITS.power_margin * noise_w).max(sine_w / LIMITS.short_overload);
    rounded_up(least, &LIMITS.resistor_w)
}

/// Rated voltage to buy for a capacitor with that peak.
pub(super) fn capacitor_v(peak_v: f64) -> f64 {
    rounded_up(LIMITS.voltage_margin * peak_v, &LIMITS.capacitor_v)
}

/// Current for which a coil with a core must be made, A: the peak and its margin, rounded up to half an
/// ampere.
pub(super) fn coil_a(peak_a: f64) -> f64 {
    ((2.0 * LIMITS.current_margin * peak_a).ceil() / 2.0).max(0.5)
}

/// The least size that is enough; beyond the largest, whole multiples of it (several together).
fn rounded_up(least: f64, sizes: &[f64]) -> f64 {
    let largest = sizes[sizes.len() - 1];
    (sizes.iter().copied())
        .find(|size| *size >= least)
        .unwrap_or_else(|| largest * (least / largest).ceil())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_bought_has_its_margin() {
        for (noise_w, sine_w, buy_w) in [
            (0.4, 1.0, 5.0),
            (2.5, 20.0, 5.0),
            (2.6, 20.0, 10.0),
            // A tone that is short-lived, but strong.
            (0.1, 40.0, 10.0),
            (11.0, 30.0, 30.0),
            (160.0, 300.0, 600.0),
        ] {
            assert!(
                (resistor_w(noise_w, sine_w) - buy_w).abs() < 1e-12,
                "{noise_w}"
            );
        }
        for (peak_v, buy_v) in [(10.0, 63.0), (50.0, 100.0), (51.0, 160.0), (700.0, 2000.0)] {
            assert!((capacitor_v(peak_v) - buy_v).abs() < 1e-12, "{peak_v}");
        }
        for (peak_a, buy_a) in [(0.1, 0.5), (2.3, 3.0), (2.5, 3.5)] {
            assert!((coil_a(peak_a) - buy_a).abs() < 1e-12, "{peak_a}");
        }
    }
}

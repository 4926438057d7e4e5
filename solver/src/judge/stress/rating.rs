//! Ratings to buy, rounded up to what is sold.

/// Resistors are bought for this many times the power that they turn to heat (common practice).
pub(in crate::judge) const POWER_MARGIN: f64 = 2.0;
/// Capacitors are bought for this many times the peak voltage (common practice).
pub(in crate::judge) const VOLTAGE_MARGIN: f64 = 2.0;
/// Below this ratio of rating to peak voltage a capacitor has no margin worth the name (common practice
/// is 1.5 to 2).
pub(in crate::judge) const LEAST_VOLTAGE_MARGIN: f64 = 1.5;
/// Coils with a core are bought for this many times the peak current: hours of programme have peaks about
/// 1.3 times those of the seconds that are looked at (extreme value of Gaussian noise), and a core loses
/// inductance before the current for which it is rated (common practice).
pub(in crate::judge) const CURRENT_MARGIN: f64 = 1.3;

/// A wirewound resistor stands this many times its rating for the few seconds of a test tone (common for
/// the type; from memory).
pub(in crate::judge) const SHORT_OVERLOAD: f64 = 5.0;

/// Usual ratings of power resistors for crossovers, W (common practice; from memory).
pub(in crate::judge) const RESISTOR_W: [f64; 9] =
    [5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0, 200.0, 300.0];
/// Usual ratings of film capacitors, V (common practice; from memory).
pub(in crate::judge) const CAPACITOR_V: [f64; 7] =
    [63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0];

/// Rated power to buy for a resistor that burns `noise_w` for hours and `sine_w` for seconds.
#[must_use]
pub fn resistor_w(noise_w: f64, sine_w: f64) -> f64 {
    let least = (POWER_MARGIN * noise_w).max(sine_w / SHORT_OVERLOAD);
    rounded_up(least, &RESISTOR_W)
}

/// Rated voltage to buy for a capacitor with that peak.
pub(super) fn capacitor_v(peak_v: f64) -> f64 {
    rounded_up(VOLTAGE_MARGIN * peak_v, &CAPACITOR_V)
}

/// Current for which a coil with a core must be made, A: the peak and its margin, rounded up to half an
/// ampere.
pub(super) fn coil_a(peak_a: f64) -> f64 {
    ((2.0 * CURRENT_MARGIN * peak_a).ceil() / 2.0).max(0.5)
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

//! Values as they are stated to the builder and written to files: without digits that mean nothing.
//!
//! They are rounded where they come about, before figures are worked out, so that what is shown of a design
//! is what its file gives.

/// Figures of a value that was computed: a millionth is beyond any meter.
const VALUE_FIGURES: usize = 6;

/// Figures of a resistance that a formula for coils gives, which is good to a few per cent.
const LOSS_FIGURES: usize = 4;

/// A computed value of a part.
pub(crate) fn value(value_si: f64) -> f64 {
    to_figures(value_si, VALUE_FIGURES)
}

/// A computed coil resistance or equivalent series resistance.
pub(crate) fn loss(loss_ohm: f64) -> f64 {
    to_figures(loss_ohm, LOSS_FIGURES)
}

/// Relative difference of two values that are the same when written down.
const SAME_VALUE: f64 = 1e-6;

/// Whether two values are the same when written down.
pub(crate) fn is_same(value: f64, other: f64) -> bool {
    (value - other).abs() <= SAME_VALUE * value.abs().max(other.abs())
}

/// How far a value is from another, as the logarithm of their ratio.
pub(super) fn off(value: f64, ideal: f64) -> f64 {
    (value / ideal).ln().abs()
}

/// By way of its decimal digits, so that what is written is as short as it looks.
fn to_figures(value: f64, figures: usize) -> f64 {
    let text = format!("{value:.*e}", figures - 1);
    text.parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_that_mean_nothing_are_dropped() {
        let same = |a: f64, b: f64| assert_eq!(a.to_bits(), b.to_bits(), "{a} {b}");
        same(loss(0.6197884905644668), 0.6198);
        same(value(2.8857075257455256e-3), 2.88571e-3);
        same(value(12e-6 + 820e-9), 12.82e-6);
        same(loss(0.0), 0.0);
        same(value(4.7e-6), 4.7e-6);
        same(value(value(1.0 / 3.0)), value(1.0 / 3.0));
    }
}

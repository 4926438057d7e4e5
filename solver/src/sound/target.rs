//! Target slopes of a crossover.

use netlist::project::{Alignment, AlignmentPair, Family};
use num_complex::Complex64;
use serde::Serialize;

use super::level::gain_db;
use crate::grid::Grid;
use crate::spectrum::Spectrum;
use crate::synthesis::Prototype;

/// Side of a crossover.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Falls above the crossover: a low pass, for the lower driver.
    Falling,
    /// Rises up to the crossover: a high pass, for the upper driver.
    Rising,
}

/// Complex target slope of one side, 1 far inside its band, in the polarity of the formula: an
/// alignment whose two sides must be joined with one of them inverted needs that apart.
///
/// D(0)/D(s), s = jf/`crossover_hz`, with the denominator D of the family; a rising side is the
/// same with 1/s in the place of s. An order that the family has not (the project file refuses it)
/// becomes the next one that it has.
#[must_use]
pub fn target(alignment: Alignment, side: Side, crossover_hz: f64, grid: &Grid) -> Spectrum {
    let Ok(denominator) = Prototype::from(existing(alignment)).denominator() else {
        unreachable!("`existing` gives only orders that the families have");
    };
    let at_zero = denominator.coefficients()[0];
    Spectrum::from_fn(grid.len(), |i| {
        let ratio = grid.f_hz()[i] / crossover_hz;
        let s = match side {
            Side::Falling => Complex64::new(0.0, ratio),
            Side::Rising => Complex64::new(0.0, -1.0 / ratio),
        };
        let value = at_zero / denominator.at(s);
        // So far outside the band that D overflows.
        if value.is_finite() {
            value
        } else {
            Complex64::ZERO
        }
    })
}

/// Largest deviation of the sum of a pair's ideal slopes from flat within an octave of the crossover when the upper way
/// comes `delay_s` later, in either polarity, dB.
#[must_use]
pub(crate) fn unevenness_db(pair: AlignmentPair, crossover_hz: f64, delay_s: f64) -> [f64; 2] {
    let Ok(octaves) = Grid::log_spaced(0.5 * crossover_hz, 2.0 * crossover_hz, 33) else {
        return [0.0; 2];
    };
    let falling = target(pair.lower, Side::Falling, crossover_hz, &octaves);
    let rising = target(pair.upper, Side::Rising, crossover_hz, &octaves);
    [1.0, -1.0].map(|sign| {
        let levels = (0..octaves.len()).map(|i| {
            let late = Complex64::from_polar(sign, -octaves.omega()[i] * delay_s);
            gain_db((falling.at(i) + rising.at(i) * late).norm())
        });
        levels.map(f64::abs).fold(0.0, f64::max)
    })
}

fn existing(alignment: Alignment) -> Alignment {
    let order = alignment.order.clamp(1, 8);
    let order = match alignment.family {
        Family::LinkwitzRiley => order + order % 2,
        Family::Butterworth | Family::Bessel => order,
    };
    Alignment { order, ..alignment }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_order_and_no_frequency_gives_anything_but_numbers() {
        let grid = Grid::new(vec![1e-3, 1e3, 1e9]).unwrap();
        for family in [Family::LinkwitzRiley, Family::Butterworth, Family::Bessel] {
            for order in 0..=u8::MAX {
                for crossover_hz in [1e-200, 1e3, 1e200, 0.0, f64::NAN] {
                    for side in [Side::Falling, Side::Rising] {
                        let alignment = Alignment { family, order };
                        let slope = target(alignment, side, crossover_hz, &grid);
                        assert!(slope.iter().all(|h| h.norm() <= 1.0 + 1e-12));
                    }
                }
            }
        }
    }
}

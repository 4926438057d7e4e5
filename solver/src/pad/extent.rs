//! Least and most of a value in a band.

use std::ops::Range;

/// Least and most of a value in a band, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Least value.
    pub least: f64,
    /// Where, in hertz.
    pub least_at_hz: f64,
    /// Greatest value.
    pub most: f64,
    /// Where, in hertz.
    pub most_at_hz: f64,
}

impl Extent {
    /// Of a value over places of a grid, of which there is at least one.
    pub(super) fn of(f_hz: &[f64], places: Range<usize>, value: impl Fn(usize) -> f64) -> Self {
        let first = places.start;
        let mut extent = Self {
            least: value(first),
            least_at_hz: f_hz[first],
            most: value(first),
            most_at_hz: f_hz[first],
        };
        for i in places {
            let value = value(i);
            if value < extent.least {
                (extent.least, extent.least_at_hz) = (value, f_hz[i]);
            }
            if value > extent.most {
                (extent.most, extent.most_at_hz) = (value, f_hz[i]);
            }
        }
        extent
    }

    /// The extreme that is farther from a value, against it with its sign, and where.
    pub(super) fn farthest_from(&self, value: f64) -> (f64, f64) {
        if value - self.least > self.most - value {
            (self.least - value, self.least_at_hz)
        } else {
            (self.most - value, self.most_at_hz)
        }
    }

    /// Greatest over least; 1 where they are one, 0 among them.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        match self.most > self.least {
            true => self.most / self.least,
            false => 1.0,
        }
    }
}

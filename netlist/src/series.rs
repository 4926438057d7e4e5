//! Preferred values after IEC 60063.

use std::fmt;
use std::str::FromStr;

/// A series of preferred values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Series {
    /// 3 values a decade.
    E3,
    /// 6 values a decade.
    E6,
    /// 12 values a decade.
    E12,
    /// 24 values a decade.
    E24,
    /// 48 values a decade.
    E48,
    /// 96 values a decade.
    E96,
    /// 192 values a decade.
    E192,
}

/// The two-figure series, in units of 0.1; E12, E6 and E3 are every second, fourth and eighth value.
const E24_TENTHS: [u16; 24] = [
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
];

/// Where the standard departs from the rounded power of ten: E192 has 9.20, the rule gives 9.19.
const E192_EXCEPTION: (usize, u16) = (185, 920);

/// A name that is no series.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not a series of preferred values; there are E3, E6, E12, E24, E48, E96 and E192")]
pub struct SeriesError(pub String);

impl Series {
    /// All series, coarsest first.
    pub const ALL: [Series; 7] = [
        Series::E3,
        Series::E6,
        Series::E12,
        Series::E24,
        Series::E48,
        Series::E96,
        Series::E192,
    ];

    /// Values in a decade.
    #[must_use]
    pub fn count(self) -> usize {
        match self {
            Series::E3 => 3,
            Series::E6 => 6,
            Series::E12 => 12,
            Series::E24 => 24,
            Series::E48 => 48,
            Series::E96 => 96,
            Series::E192 => 192,
        }
    }

    /// Value `index` of the decade from 100 to 999, as a whole number of three figures.
    ///
    /// Up to E24 the values are a table of the standard; from E48 they are 10^(index/count) rounded
    /// to three figures, with one exception (IEC 60063).
    fn hundredths(self, index: usize) -> u16 {
        let count = self.count();
        if count <= 24 {
            return 10 * E24_TENTHS[index * (24 / count)];
        }
        let fine = index * (192 / count);
        if fine == E192_EXCEPTION.0 {
            return E192_EXCEPTION.1;
        }
        (100.0 * 10f64.powf(fine as f64 / 192.0)).round() as u16
    }

    /// The value `step` steps above 1; negative steps lie below. Exactly the number that its decimal
    /// digits name, such as 4.7e-6.
    #[must_use]
    pub fn value(self, step: i64) -> f64 {
        let count = self.count() as i64;
        let decade = step.div_euclid(count);
        let digits = self.hundredths(step.rem_euclid(count) as usize);
        // By way of decimal digits: a product with a power of ten would be rounded twice.
        format!("{digits}e{}", decade - 2)
            .parse()
            .unwrap_or(f64::NAN)
    }

    /// The step whose value is nearest on a logarithmic scale; of two equally near the lower.
    /// `None` when `value` is not above 0 and finite, or is beyond what numbers of the machine hold
    /// in full (1e-300 to 1e300).
    #[must_use]
    pub fn nearest_step(self, value: f64) -> Option<i64> {
        if !(1e-300..=1e300).contains(&value) {
            return None;
        }
        let guess = (value.log10() * self.count() as f64).floor() as i64;
        let off = |step: i64| (self.value(step) / value).ln().abs();
        // The values lie within one step of an even spacing.
        (guess - 2..=guess + 3).min_by(|one, two| off(*one).total_cmp(&off(*two)))
    }

    /// All values from `from` to `to`, both included, rising; a value that differs from an end by
    /// rounding counts as inside. Empty when an end is not above 0 and finite.
    #[must_use]
    pub fn within(self, from: f64, to: f64) -> Vec<f64> {
        /// Far more than rounding, far less than a step.
        const SLACK: f64 = 1e-9;
        let (Some(first), Some(last)) = (self.nearest_step(from), self.nearest_step(to)) else {
            return Vec::new();
        };
        (first - 1..=last + 1)
            .map(|step| self.value(step))
            .filter(|value| (from * (1.0 - SLACK)..=to * (1.0 + SLACK)).contains(value))
            .collect()
    }
}

impl fmt::Display for Series {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("E{}", self.count()))
    }
}

impl FromStr for Series {
    type Err = SeriesError;

    fn from_str(text: &str) -> Result<Self, SeriesError> {
        let name = text.trim().to_ascii_uppercase();
        let mut all = Series::ALL.into_iter();
        all.find(|series| series.to_string() == name)
            .ok_or_else(|| SeriesError(text.chars().take(40).collect()))
    }
}

//! Quantity to text: rounded for people, exact for files.

use super::FIGURES;
use super::dimension::Dimension;
use super::unit::Prefix;

/// Decimal digits without point, and the power of ten of the first digit.
struct Decimal {
    negative: bool,
    digits: String,
    exponent: i32,
}

impl Decimal {
    /// The shortest decimal that reads back as `value`, or one rounded to `digits` figures.
    fn of(value: f64, digits: Option<usize>) -> Self {
        let text = match digits {
            Some(digits) => format!("{:.*e}", digits.max(1) - 1, value.abs()),
            None => format!("{:e}", value.abs()),
        };
        let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        let mut digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
        digits.truncate(digits.trim_end_matches('0').len().max(1));
        Self {
            negative: value.is_sign_negative(),
            digits,
            exponent: exponent.parse().unwrap_or(0),
        }
    }

    /// Written out with the decimal point moved by `-shift`; very long numbers use an exponent.
    fn text(&self, shift: i32) -> String {
        let sign = if self.negative { "-" } else { "" };
        let point = self.exponent - shift + 1;
        let len = self.digits.len() as i32;
        let digits = &self.digits;
        if digits == "0" {
            return format!("{sign}0");
        }
        if !(-8..=12).contains(&point) {
            let (first, rest) = digits.split_at(1);
            let dot = if rest.is_empty() { "" } else { "." };
            return format!("{sign}{first}{dot}{rest}e{}", point - 1);
        }
        if point <= 0 {
            return format!(
                "{sign}0.{}{digits}",
                "0".repeat(point.unsigned_abs() as usize)
            );
        }
        if point >= len {
            return format!("{sign}{digits}{}", "0".repeat((point - len) as usize));
        }
        let (whole, fraction) = digits.split_at(point as usize);
        format!("{sign}{whole}.{fraction}")
    }
}

/// The prefix that a value is printed with.
fn choose(dimension: Dimension, decimal: &Decimal) -> &'static Prefix {
    let spec = dimension.spec();
    let (_, _, own) = spec.printed;
    let exponent = match decimal.digits.as_str() {
        "0" => 0,
        // The trade writes resistors below 1 ohm as 0.91 Ω, not as 910 mΩ; milliohms are for wire and ESR.
        _ if dimension == Dimension::Resistance && decimal.exponent == -1 => 0,
        _ => decimal.exponent - own,
    };
    let mut prefixes = spec.printed_prefixes();
    let least = prefixes.next().expect("none at all is one of them");
    let fitting = prefixes.filter(|prefix| exponent >= prefix.exponent);
    fitting.last().unwrap_or(least)
}

/// For people: SI prefix, `figures` significant figures, no trailing zeros.
pub(super) fn for_people(value: f64, dimension: Dimension, figures: usize) -> String {
    let (symbol, _, own) = dimension.spec().printed;
    if !value.is_finite() {
        return format!("{value} {symbol}");
    }
    let mut decimal = Decimal::of(value, Some(figures));
    // "-0" says nothing to people.
    decimal.negative &= decimal.digits != "0";
    let prefix = choose(dimension, &decimal);
    let number = decimal.text(prefix.exponent + own);
    format!("{number} {}{symbol}", prefix.for_people)
}

/// For people: two figures, in the unit that `other` is printed in; in its own where the number there would be
/// very long or very short.
pub(super) fn beside(value: f64, other: f64, dimension: Dimension) -> String {
    let (symbol, _, own) = dimension.spec().printed;
    let prefix = choose(dimension, &Decimal::of(other, Some(super::FIGURES)));
    // The nearest number to the power of ten, which `powi` does not always give.
    let one = format!("1e{}", prefix.exponent + own);
    let number = value / one.parse().unwrap_or(1.0);
    if !(0.01..1000.0).contains(&number) {
        return for_people(value, dimension, 2);
    }
    let decimals = (1.0 - number.log10().floor()).clamp(0.0, 3.0) as usize;
    format!("{number:.decimals$} {}{symbol}", prefix.for_people)
}

/// For files: exact; reads back as the same number, bit for bit.
pub(super) fn for_file(value: f64, dimension: Dimension) -> String {
    let (_, symbol, own) = dimension.spec().printed;
    let decimal = Decimal::of(value, None);
    let prefix = choose(dimension, &decimal);
    let number = decimal.text(prefix.exponent + own);
    format!("{number} {}{symbol}", prefix.for_file)
}

impl Dimension {
    /// A value in the SI unit for people: SI prefix and 4 significant figures.
    #[must_use]
    pub fn show(self, si: f64) -> String {
        for_people(si, self, FIGURES)
    }

    /// For people, with two figures in the unit that another value is printed in: `0.24 mH` beside `2.2 mH`; in a
    /// unit of its own where that reads better.
    #[must_use]
    pub fn show_beside(self, si: f64, other_si: f64) -> String {
        beside(si, other_si, self)
    }

    /// The value as it is written to files, exact: [`Dimension::parse`] gives the same number, bit for bit.
    #[must_use]
    pub fn to_file_string(self, si: f64) -> String {
        for_file(si, self)
    }
}

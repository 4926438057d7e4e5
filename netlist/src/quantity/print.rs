//! Quantity to text: rounded for people, exact for files.

use super::unit::Dimension;

/// A step of the printed unit: power of ten, symbol for people, symbol for files.
type Step = (i32, &'static str, &'static str);

const PREFIXES: [Step; 8] = [
    (-12, "p", "p"),
    (-9, "n", "n"),
    (-6, "µ", "u"),
    (-3, "m", "m"),
    (0, "", ""),
    (3, "k", "k"),
    (6, "M", "M"),
    (9, "G", "G"),
];

/// Powers of ten with prefix that a dimension is printed with, rising.
fn steps(dimension: Dimension) -> &'static [Step] {
    match dimension {
        Dimension::Inductance | Dimension::Capacitance => &PREFIXES[..5],
        Dimension::Resistance => &PREFIXES[3..],
        Dimension::Frequency => &PREFIXES[4..],
        Dimension::Voltage | Dimension::Current | Dimension::Power => &PREFIXES[2..6],
        Dimension::Length => &[(-3, "m", "m"), (0, "", "")],
        _ => &PREFIXES[4..5],
    }
}

/// Unit for people, unit for files, and the power of ten that the unit itself stands for.
fn base(dimension: Dimension) -> (&'static str, &'static str, i32) {
    match dimension {
        Dimension::Resistance => ("Ω", "ohm", 0),
        Dimension::Inductance => ("H", "H", 0),
        Dimension::Capacitance => ("F", "F", 0),
        Dimension::Frequency => ("Hz", "Hz", 0),
        Dimension::Voltage => ("V", "V", 0),
        Dimension::Current => ("A", "A", 0),
        Dimension::Power => ("W", "W", 0),
        Dimension::Length => ("m", "m", 0),
        Dimension::Area => ("cm²", "cm2", -4),
        Dimension::Volume => ("L", "L", -3),
        Dimension::Level => ("dB", "dB", 0),
        Dimension::TemperatureRise => ("K", "K", 0),
        Dimension::Share => ("%", "%", -2),
        Dimension::Mass => ("g", "g", -3),
        Dimension::ForceFactor => ("T m", "T m", 0),
        Dimension::Angle => ("°", "deg", 0),
    }
}

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

fn choose(dimension: Dimension, decimal: &Decimal) -> Step {
    let (_, _, own) = base(dimension);
    let steps = steps(dimension);
    let zero = steps.iter().find(|step| step.0 == 0);
    let mut chosen = zero.copied().unwrap_or(steps[0]);
    if decimal.digits == "0" {
        return chosen;
    }
    let exponent = decimal.exponent - own;
    // The trade writes resistors below 1 ohm as 0.91 Ω, not as 910 mΩ; milliohms are for wire and ESR.
    if dimension == Dimension::Resistance && exponent == -1 {
        return chosen;
    }
    chosen = steps[0];
    for step in steps {
        if exponent >= step.0 {
            chosen = *step;
        }
    }
    chosen
}

/// For people: SI prefix, `figures` significant figures, no trailing zeros.
pub(super) fn for_people(value: f64, dimension: Dimension, figures: usize) -> String {
    let (symbol, _, own) = base(dimension);
    if !value.is_finite() {
        return format!("{value} {symbol}");
    }
    let mut decimal = Decimal::of(value, Some(figures));
    // "-0" says nothing to people.
    decimal.negative &= decimal.digits != "0";
    let (power, prefix, _) = choose(dimension, &decimal);
    format!("{} {prefix}{symbol}", decimal.text(power + own))
}

/// For files: exact; reads back as the same number, bit for bit.
pub(super) fn for_file(value: f64, dimension: Dimension) -> String {
    let (_, symbol, own) = base(dimension);
    let decimal = Decimal::of(value, None);
    let (power, _, prefix) = choose(dimension, &decimal);
    format!("{} {prefix}{symbol}", decimal.text(power + own))
}

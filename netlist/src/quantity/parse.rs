//! Text to quantity.

use super::dimension::Dimension;
use super::error::QuantityError;
use super::unit::Spec;

/// Reads `text` as a number in the SI unit of `dimension`.
///
/// Grammar: a number, optional blanks, an optional SI prefix with an optional unit; or a letter-digit
/// code after IEC 60062 ("4R7", "1k5", "R47", "4u7") for resistance, inductance, capacitance and
/// frequency. A bare number is in the SI unit. The decimal digits are put together with the power of
/// ten before they become binary, so that "4.7 uF" is exactly the number 4.7e-6.
pub(super) fn parse(text: &str, dimension: Dimension) -> Result<f64, QuantityError> {
    let written = text.trim();
    let fail = |kind: fn(String, Dimension) -> QuantityError| kind(shorten(written), dimension);
    if written.is_empty() {
        return Err(QuantityError::Empty(dimension));
    }
    let cleaned = written.replace('\u{2212}', "-");
    let number = split_number(&cleaned);
    if let Some(value) = parse_code(&cleaned, &number, dimension, written)? {
        return finish(&value.0, value.1, written, dimension);
    }
    if number.digits == 0 {
        return Err(fail(QuantityError::NotANumber));
    }
    let rest = &cleaned[number.text.len()..];
    let suffix = rest.trim();
    if looks_like_comma(suffix) {
        return Err(fail(QuantityError::DecimalComma));
    }
    if suffix.is_empty() {
        return finish(number.text, 0, written, dimension);
    }
    match dimension.spec().exponent_of(suffix) {
        Some(exponent) => finish(number.text, exponent, written, dimension),
        None => Err(wrong_unit(suffix, written, dimension)),
    }
}

/// The number at the start of a text.
struct Number<'a> {
    text: &'a str,
    digits: usize,
    /// Digits only: no point and no exponent, so that a letter may follow as the decimal sign.
    plain: bool,
}

fn split_number(text: &str) -> Number<'_> {
    let bytes = text.as_bytes();
    let count = |from: usize| {
        bytes[from..]
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count()
    };
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let mut digits = count(end);
    end += digits;
    let mut plain = true;
    if bytes.get(end) == Some(&b'.') {
        let fraction = count(end + 1);
        if digits + fraction > 0 {
            digits += fraction;
            end += 1 + fraction;
            plain = false;
        }
    }
    if digits > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = count((end + 1 + sign).min(bytes.len()));
        if exponent > 0 {
            end += 1 + sign + exponent;
            plain = false;
        }
    }
    Number {
        text: &text[..end],
        digits,
        plain,
    }
}

/// A letter-digit code: the letter is both the decimal sign and the power of ten.
fn parse_code(
    text: &str,
    number: &Number<'_>,
    dimension: Dimension,
    written: &str,
) -> Result<Option<(String, i32)>, QuantityError> {
    if !number.plain {
        return Ok(None);
    }
    let mut rest = text[number.text.len()..].chars();
    let Some(letter) = rest.next().filter(|letter| letter.is_alphabetic()) else {
        return Ok(None);
    };
    let rest = rest.as_str();
    let fraction_len = rest.bytes().take_while(u8::is_ascii_digit).count();
    if fraction_len == 0 {
        return Ok(None);
    }
    let (fraction, tail) = rest.split_at(fraction_len);
    // "cm2" and "m3" are units that end in a digit, not codes.
    if number.digits > 0 && !dimension.spec().codes {
        let suffix = &text[number.text.len()..];
        if dimension.spec().exponent_of(suffix).is_some() {
            return Ok(None);
        }
    }
    let exponent_in = |spec: &Spec| {
        if !spec.codes {
            return None;
        }
        if spec.code_letters.contains(&letter) {
            return Some(0);
        }
        spec.prefix(letter)
    };
    let Some(exponent) = exponent_in(dimension.spec()) else {
        let suffix = &text[number.text.len()..];
        if letter == 'R' && dimension != Dimension::Resistance {
            return Err(QuantityError::WrongUnit {
                text: shorten(written),
                found: Dimension::Resistance,
                expected: dimension,
            });
        }
        return Err(wrong_unit(suffix, written, dimension));
    };
    let tail = tail.trim();
    if !tail.is_empty() && dimension.spec().unit(tail).is_none() {
        return Err(wrong_unit(tail, written, dimension));
    }
    Ok(Some((format!("{}.{fraction}", number.text), exponent)))
}

fn finish(
    digits: &str,
    exponent: i32,
    written: &str,
    dimension: Dimension,
) -> Result<f64, QuantityError> {
    let out_of_range = || QuantityError::OutOfRange(shorten(written), dimension);
    let (mantissa, own) = match digits.find(['e', 'E']) {
        Some(at) => {
            let own: i32 = digits[at + 1..].parse().map_err(|_| out_of_range())?;
            (&digits[..at], own)
        }
        None => (digits, 0),
    };
    let exponent = own.checked_add(exponent).ok_or_else(out_of_range)?;
    let value: f64 = format!("{mantissa}e{exponent}")
        .parse()
        .map_err(|_| QuantityError::NotANumber(shorten(written), dimension))?;
    let vanished = value == 0.0 && mantissa.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    if !value.is_finite() || vanished {
        return Err(out_of_range());
    }
    Ok(value)
}

/// "4,7 uF": what is left after the 4 begins with a comma and a digit.
fn looks_like_comma(suffix: &str) -> bool {
    let mut bytes = suffix.bytes();
    bytes.next() == Some(b',') && bytes.next().is_some_and(|byte| byte.is_ascii_digit())
}

fn wrong_unit(suffix: &str, written: &str, expected: Dimension) -> QuantityError {
    let big = matches!(expected, Dimension::Inductance | Dimension::Capacitance)
        && suffix.starts_with(['M', 'k', 'K', 'G'])
        && {
            let rest = suffix[1..].trim_start_matches(|c: char| c.is_ascii_digit());
            rest.is_empty() || expected.spec().unit(rest).is_some()
        };
    if big {
        return QuantityError::HugePrefix(shorten(written), expected);
    }
    let mut others = Dimension::ALL.into_iter().filter(|other| {
        // A bare prefix would fit several quantities and says nothing.
        let bare = suffix.chars().count() == 1 && other.spec().unit(suffix).is_none();
        *other != expected && !bare && other.spec().exponent_of(suffix).is_some()
    });
    match others.next() {
        Some(found) => QuantityError::WrongUnit {
            text: shorten(written),
            found,
            expected,
        },
        None => QuantityError::UnknownUnit {
            text: shorten(written),
            unit: shorten(suffix),
            expected,
        },
    }
}

/// Long input is shown by its beginning.
fn shorten(text: &str) -> String {
    const SHOWN: usize = 40;
    if text.chars().count() <= SHOWN {
        return text.to_owned();
    }
    text.chars().take(SHOWN).chain("...".chars()).collect()
}

impl Dimension {
    /// Reads a written value as the number in the SI unit, as [`Quantity::parse`](super::Quantity::parse) does where
    /// what is measured is known beforehand.
    ///
    /// # Errors
    /// [`QuantityError`] when the text is no number with a unit of this quantity.
    pub fn parse(self, text: &str) -> Result<f64, QuantityError> {
        parse(text, self)
    }
}

//! Reading the values of options.
//!
//! Every option that takes a number also takes one with a minus (`allow_hyphen_values`), so that a value
//! below its limit is answered with that limit. An option that has lost its value would then swallow the
//! option behind it; that is told here.

use std::ops::RangeInclusive;

use netlist::quantity::Quantity;

/// A quantity with its unit; its limits are those of the command.
pub(super) fn quantity<Q: Quantity>(text: &str) -> Result<Q, String> {
    not_an_option(text)?;
    Q::parse(text).map_err(|error| error.to_string())
}

/// A number without a unit; its limits are those of the command.
pub(super) fn number(text: &str) -> Result<f64, String> {
    not_an_option(text)?;
    let number = text.trim().parse().ok().filter(|n: &f64| n.is_finite());
    number.ok_or_else(|| {
        let comma = if text.contains(',') {
            " and a decimal point"
        } else {
            ""
        };
        format!("this is not a number; write it with digits{comma}, such as 0.5")
    })
}

/// A whole number within limits.
pub(super) fn whole<T>(range: RangeInclusive<u64>) -> impl Fn(&str) -> Result<T, String> + Clone
where
    T: TryFrom<u64>,
{
    move |text| {
        not_an_option(text)?;
        let number = text.trim().parse().ok().filter(|n| range.contains(n));
        number.and_then(|n| T::try_from(n).ok()).ok_or_else(|| {
            let (least, most) = range.clone().into_inner();
            match most {
                u64::MAX => format!("it takes a whole number, {least} or more, such as 1"),
                _ => format!("it takes a whole number from {least} to {most}"),
            }
        })
    }
}

/// A price, in the money of the catalogue.
pub(super) fn price(text: &str) -> Result<f64, String> {
    not_an_option(text)?;
    match text.trim().parse::<f64>() {
        Ok(price) if price.is_finite() && price > 0.0 => Ok(price),
        _ => Err("a price is a number above 0, such as 120 or 99.50".to_owned()),
    }
}

/// Refuses what is another option in place of a value.
pub(super) fn not_an_option(text: &str) -> Result<(), String> {
    let mut after = text.strip_prefix('-').unwrap_or("").chars();
    let option = match (after.next(), after.next()) {
        (Some('-'), Some(_)) => true,
        (Some(letter), None) => letter.is_ascii_alphabetic(),
        _ => false,
    };
    match option {
        false => Ok(()),
        true => Err(format!("the value is missing: '{text}' is another option")),
    }
}

//! What a closed form cannot work with.

/// Why a closed form gives no values.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SynthesisError {
    /// A quantity that must be a positive, finite number is not.
    #[error("{what} must be above zero and finite, but is {value}")]
    NotPositive {
        /// The quantity, with its unit.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A quantity outside the range in which the formula has a meaning.
    #[error("{what} must lie between {least} and {greatest}, but is {value}")]
    OutOfRange {
        /// The quantity, with its unit.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Least value.
        least: f64,
        /// Greatest value.
        greatest: f64,
    },
    /// An order that the family does not have.
    #[error("{family} filters come in order {allowed}, not {order}")]
    Order {
        /// The family.
        family: &'static str,
        /// The order asked for.
        order: u8,
        /// The orders that exist.
        allowed: &'static str,
    },
    /// A shape with an autoformer where the stock has none.
    #[error("the stock has no autoformers; add them, or choose another pad")]
    NoAutoformer,
    /// The inputs are fine one by one and together leave a part of no size.
    #[error("{what} would have a value of {value}; use less extreme figures")]
    NotRealisable {
        /// The part or quantity.
        what: &'static str,
        /// Its value.
        value: f64,
    },
}

/// `value` if it is a positive, finite number.
pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, SynthesisError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(SynthesisError::NotPositive { what, value })
    }
}

/// `value` if it lies in `least..=greatest`.
pub(super) fn within(
    what: &'static str,
    value: f64,
    least: f64,
    greatest: f64,
) -> Result<f64, SynthesisError> {
    if value >= least && value <= greatest {
        Ok(value)
    } else {
        Err(SynthesisError::OutOfRange {
            what,
            value,
            least,
            greatest,
        })
    }
}

/// `value` if a part of that value could exist: extreme inputs can overflow or vanish together.
pub(super) fn realisable(what: &'static str, value: f64) -> Result<f64, SynthesisError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(SynthesisError::NotRealisable { what, value })
    }
}

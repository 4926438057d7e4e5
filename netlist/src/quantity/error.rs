//! What can be wrong with a written quantity.

use super::dimension::Dimension;

/// Why a text is not the quantity that was expected. Each message shows the text and a way out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing was written.
    #[error("the text is empty; {what} is written like '{example}'", what = .0.a_what(), example = .0.example())]
    Empty(Dimension),
    /// It does not begin with a number.
    #[error("'{0}' does not begin with a number; {what} is written like '{example}'", what = .1.a_what(), example = .1.example())]
    NotANumber(String, Dimension),
    /// A comma stands where the decimal point should.
    #[error("'{0}' has a comma in its number; write a decimal point, as in '{example}'", example = .1.example())]
    DecimalComma(String, Dimension),
    /// The unit is none that is known.
    #[error("'{text}' has an unknown unit '{unit}'; {what} is written like '{example}'", what = expected.a_what(), example = expected.example())]
    UnknownUnit {
        /// All that was written.
        text: String,
        /// The part that is not understood.
        unit: String,
        /// What was expected.
        expected: Dimension,
    },
    /// The unit belongs to another quantity.
    #[error("'{text}' is {found}; {what} is written like '{example}'", found = found.a_what(), what = expected.a_what(), example = expected.example())]
    WrongUnit {
        /// All that was written.
        text: String,
        /// What the unit measures.
        found: Dimension,
        /// What was expected.
        expected: Dimension,
    },
    /// Mega or kilo before henry or farad, nearly always milli or micro in the wrong case.
    #[error("'{0}' would be {what} of thousands or millions; 'm' is milli and 'u' is micro, as in '{example}'", what = .1.a_what(), example = .1.example())]
    HugePrefix(String, Dimension),
    /// Too large or too small for a number of the machine.
    #[error("'{0}' is too large or too small to work with; {what} is written like '{example}'", what = .1.a_what(), example = .1.example())]
    OutOfRange(String, Dimension),
}

//! Names of acoustic targets: `LR4`, `BW3`, `BE2`.

use std::fmt;
use std::str::FromStr;

use super::{Alignment, Family};

/// All names that may be written, for messages.
const NAMES: &str = "LR2, LR4, LR6, LR8, BW1 to BW8, BE1 to BE8";

/// A name that is no alignment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not an alignment; there are {NAMES}")]
pub struct AlignmentError(pub String);

impl Family {
    /// The letters of its names.
    #[must_use]
    pub fn letters(self) -> &'static str {
        match self {
            Family::LinkwitzRiley => "LR",
            Family::Butterworth => "BW",
            Family::Bessel => "BE",
        }
    }

    /// The orders in which it exists: 1 to 8, for Linkwitz–Riley the even ones.
    pub fn orders(self) -> impl Iterator<Item = u8> {
        let step = match self {
            Family::LinkwitzRiley => 2,
            Family::Butterworth | Family::Bessel => 1,
        };
        (step..=8).step_by(usize::from(step))
    }
}

impl FromStr for Alignment {
    type Err = AlignmentError;

    fn from_str(text: &str) -> Result<Self, AlignmentError> {
        let wrong = || AlignmentError(text.chars().take(40).collect());
        let name = text.trim().to_ascii_uppercase();
        let families = [Family::LinkwitzRiley, Family::Butterworth, Family::Bessel];
        let (family, order) = families
            .into_iter()
            .find_map(|family| Some((family, name.strip_prefix(family.letters())?)))
            .ok_or_else(wrong)?;
        let order = match order.as_bytes() {
            [digit @ b'1'..=b'8'] => digit - b'0',
            _ => return Err(wrong()),
        };
        if !family.orders().any(|one| one == order) {
            return Err(wrong());
        }
        Ok(Alignment { family, order })
    }
}

impl fmt::Display for Alignment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", self.family.letters(), self.order))
    }
}

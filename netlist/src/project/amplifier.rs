//! The amplifier that drives the loudspeaker.

use std::fmt;

use crate::quantity::{Henries, Ohms, Watts};
use crate::table::Table;

/// The amplifier that drives the loudspeaker.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Amplifier {
    /// Output impedance; 0 when not said.
    pub output_impedance: OutputImpedance,
    /// Rated power into [`Amplifier::rated_load`].
    pub rated_power: Option<Watts>,
    /// Load for which the amplifier is rated.
    pub rated_load: Option<Ohms>,
}

/// What is between an amplifier's open-circuit voltage and its terminals.
#[derive(Debug, Clone, PartialEq)]
pub enum OutputImpedance {
    /// A resistance at all frequencies.
    Resistance(Ohms),
    /// An output transformer as the loudspeaker sees it: `r`, which the magnetising inductance `parallel` bridges
    /// where it is given, in series with the leakage inductance `l`.
    Transformer {
        /// Resistance.
        r: Ohms,
        /// Leakage inductance.
        l: Henries,
        /// Magnetising inductance, on the loudspeaker's side.
        parallel: Option<Henries>,
    },
    /// Measured at the terminals: ohm and, where the table has it, degrees.
    Measured(Box<Table>),
}

impl Default for OutputImpedance {
    /// None.
    fn default() -> Self {
        Self::Resistance(Ohms(0.0))
    }
}

impl OutputImpedance {
    /// Whether there is none at all.
    #[must_use]
    pub fn is_none(&self) -> bool {
        matches!(self, Self::Resistance(r) if r.0 <= 0.0)
    }
}

impl fmt::Display for OutputImpedance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Resistance(r) => r.fmt(f),
            Self::Transformer { r, l, parallel } => {
                write!(f, "{r} and {l} in series")?;
                match parallel {
                    Some(parallel) => write!(f, " ({parallel} across the resistance)"),
                    None => Ok(()),
                }
            }
            Self::Measured(table) => write!(f, "measured ({})", table.file),
        }
    }
}

//! What no coil can be wound from.

/// Why there is no such coil.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CoilError {
    /// A quantity outside what a coil for a crossover can have.
    #[error("{what} must lie between {least} and {greatest} {unit}, but is {value} {unit}")]
    OutOfRange {
        /// The quantity.
        what: &'static str,
        /// Unit of the figures.
        unit: &'static str,
        /// Its value.
        value: f64,
        /// Least value.
        least: f64,
        /// Greatest value.
        greatest: f64,
    },
    /// So little inductance from so thick a wire that it is hardly a coil.
    #[error(
        "{inductance_h} H from {wire_diameter_m} m wire takes only {turns:.1} turns, which is no \
         multilayer coil; use thinner wire or more inductance"
    )]
    TooFewTurns {
        /// Inductance, H.
        inductance_h: f64,
        /// Bare wire diameter, m.
        wire_diameter_m: f64,
        /// Turns that it would take.
        turns: f64,
    },
    /// Two windings that would be in one place.
    #[error(
        "two coils overlap at a distance of {distance_m} m between their middles; \
         they need at least {least_m} m"
    )]
    Overlap {
        /// Distance between the middles, m.
        distance_m: f64,
        /// Least distance, m.
        least_m: f64,
    },
}

/// `value` if it lies in `least..=greatest`.
pub(super) fn within(
    what: &'static str,
    unit: &'static str,
    value: f64,
    least: f64,
    greatest: f64,
) -> Result<f64, CoilError> {
    if value >= least && value <= greatest {
        Ok(value)
    } else {
        Err(CoilError::OutOfRange {
            what,
            unit,
            value,
            least,
            greatest,
        })
    }
}

//! Why a brief cannot be designed.

use crate::grid::GridError;

/// Why a brief cannot be designed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BriefError {
    /// One driver or none, or no crossover.
    #[error(
        "a design needs at least two drivers and the crossover between them; this project has {drivers} driver(s) and {crossovers} crossover(s)"
    )]
    TooFewWays {
        /// Drivers of the project.
        drivers: usize,
        /// Crossovers of the project.
        crossovers: usize,
    },
    /// More ways than the program designs.
    #[error("{ways} ways are more than the five this program designs; leave some out")]
    TooManyWays {
        /// Ways asked for.
        ways: usize,
    },
    /// Crossovers closer than an octave.
    #[error(
        "the crossovers at {lower_hz:.0} Hz and {upper_hz:.0} Hz are less than an octave apart, so the way between them has no band of its own; move one of them or leave a driver out"
    )]
    TooClose {
        /// The lower one, Hz.
        lower_hz: f64,
        /// The upper one, Hz.
        upper_hz: f64,
    },
    /// A crossover outside the aim's band.
    #[error(
        "the crossover at {frequency_hz:.0} Hz is outside the aim's band, {from_hz:.0} Hz to {to_hz:.0} Hz; widen the aim or move the crossover"
    )]
    OutsideAim {
        /// The crossover, Hz.
        frequency_hz: f64,
        /// Lower end of the aim, Hz.
        from_hz: f64,
        /// Upper end of the aim, Hz.
        to_hz: f64,
    },
    /// A crossover at which a driver has no data.
    #[error(
        "driver {driver} has no measurement at the crossover of {frequency_hz:.0} Hz (its tables leave off at {table_hz:.0} Hz); measure it there or move the crossover"
    )]
    OutsideData {
        /// The driver.
        driver: String,
        /// The crossover, Hz.
        frequency_hz: f64,
        /// End of the table, Hz.
        table_hz: f64,
    },
    /// No network of any shape could be worked out.
    #[error("no network could be worked out from the stock of this brief; widen its ranges")]
    NothingFound,
    /// The aim's band is no band.
    #[error(transparent)]
    Band(#[from] GridError),
}

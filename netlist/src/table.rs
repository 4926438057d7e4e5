//! Measured tables: frequency against magnitude and, where it was measured, phase.

/// A measured table. All columns have the same length, at least 8, and the frequencies rise.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// File it came from, for messages.
    pub file: String,
    /// Frequencies, in hertz.
    pub f_hz: Vec<f64>,
    /// Level in dB SPL, or impedance magnitude in ohm.
    pub magnitude: Vec<f64>,
    /// Phase in degrees, as written (not unwrapped); `None` when the table has no such column.
    pub phase_deg: Option<Vec<f64>>,
}

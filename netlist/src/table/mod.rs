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
    /// Whether a first row of 0 Hz was left out.
    pub zero_hz_left_out: bool,
}

mod lines;
mod parse;
#[cfg(test)]
mod tests;

pub(crate) use parse::parse as read;

use crate::problem::{Collector, Problems, SourceText};

/// What the second column of a table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableKind {
    /// Impedance magnitude in ohm; above 0.
    Impedance,
    /// Level in dB SPL; may be negative.
    Response,
}

/// Least number of rows: fewer say nothing about a curve.
pub const LEAST_ROWS: usize = 8;

impl Table {
    /// The lowest and the highest frequency, in hertz.
    #[must_use]
    pub fn ends_hz(&self) -> [f64; 2] {
        [self.f_hz[0], self.f_hz[self.f_hz.len() - 1]]
    }

    /// Those of the wanted rows that are no closer to each other than so many an octave, lowest first.
    pub fn rows_apart(&self, per_octave: f64, wanted: impl Fn(usize) -> bool) -> Vec<usize> {
        // A row that was written at just this distance is in.
        let apart = 2f64.powf((1.0 - 1e-6) / per_octave);
        let mut next_hz = 0.0;
        let mut rows = Vec::new();
        for (i, &f_hz) in self.f_hz.iter().enumerate() {
            if f_hz >= next_hz && wanted(i) {
                rows.push(i);
                next_hz = f_hz * apart;
            }
        }
        rows
    }

    /// Reads a measured table.
    ///
    /// Two or three columns (frequency in Hz; dB SPL or ohm; phase in degrees) between blanks,
    /// tabs, commas or semicolons; a fourth of numbers from 0 to 1, the coherence, is passed over. Numbers may
    /// stand in quotes. Lines that do not begin with a number are comments, and so are first lines of a single
    /// number, or of fewer numbers than the rows and a first one that is no frequency below theirs. A first row of
    /// 0 Hz is left out. Between semicolons or tabs a comma inside a number is a decimal comma, when the file has no decimal
    /// point anywhere.
    ///
    /// # Errors
    /// All mistakes of the table with their lines: frequencies that do not rise, numbers that are
    /// not finite or out of all reason, impedance that is not above 0, rows of different lengths,
    /// fewer than [`LEAST_ROWS`] rows, commas that could be read in two ways.
    pub fn parse(file: &str, bytes: &[u8], kind: TableKind) -> Result<Table, Problems> {
        let mut collector = Collector::default();
        let source = SourceText::new(file.to_owned(), bytes);
        let table = parse::parse(&source, kind, &mut collector);
        collector.finish(table)
    }
}

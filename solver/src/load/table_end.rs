//! An end of a table: what is known there of the curve that goes on beyond it.

use super::Curve;

/// What is known of an end of a table.
#[derive(Debug, Clone)]
pub(super) struct TableEnd {
    pub(super) kind: Curve,
    /// Whether it is the upper end.
    pub(super) upper: bool,
    /// ln magnitude of the last row.
    pub(super) y: f64,
    /// Fitted slope at the end, d ln magnitude / d ln f.
    pub(super) slope: f64,
    /// How far inside the end the middle of the fitted rows is, in ln f.
    pub(super) inside: f64,
    /// The rows of the last half octave up to where the magnitude turns, of an impedance where another resonance begins:
    /// how far inside the end, in ln f, and ln magnitude.
    pub(super) near: Vec<(f64, f64)>,
    /// Slope away from the table, and what it gains by the ln f, half an octave inside the end.
    pub(super) bend: [f64; 2],
    /// The least ln magnitude that there can be: of an impedance that of the table.
    pub(super) floor: f64,
}

//! An end of a table: what is known there of the curve that goes on beyond it.

/// What is known of the kind of curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum CurveKind {
    /// An impedance: passive, without delay.
    Impedance,
    /// A response.
    Response,
}

impl CurveKind {
    /// Largest slope that is held beyond an end: d ln magnitude / d ln f, unsigned.
    pub(super) fn steepest(self) -> f64 {
        match self {
            CurveKind::Impedance => 1.0,
            CurveKind::Response => 8.0,
        }
    }
}

/// What is known of an end of a table.
#[derive(Debug, Clone)]
pub(super) struct TableEnd {
    pub(super) kind: CurveKind,
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

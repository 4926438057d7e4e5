//! Under what a loudspeaker is looked at.

use crate::load::Conditions;

/// Under what a loudspeaker is looked at; by default as the project says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Circumstances {
    /// Voice coils and air.
    pub conditions: Conditions,
    /// Output impedance in the place of the amplifier's own, ohm.
    pub output_impedance_ohm: Option<f64>,
    /// As if cable and leads had no resistance.
    pub without_wiring: bool,
}

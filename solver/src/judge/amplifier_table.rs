//! Gaps in a measured output impedance.

use netlist::project::{Amplifier, OutputImpedance};
use netlist::quantity::Hertz;

use super::finding::Finding;
use crate::grid::AUDIO_BAND_HZ;

/// What had to be supplied where the amplifier's table has gaps.
pub(super) fn finding(amplifier: &Amplifier) -> Option<Finding> {
    let OutputImpedance::Measured(table) = &amplifier.output_impedance else {
        return None;
    };
    let (first, last) = (table.f_hz[0], table.f_hz[table.f_hz.len() - 1]);
    let mut gaps = Vec::new();
    if table.phase_deg.is_none() {
        gaps.push("it has no phase, which was worked out as the minimum phase".to_owned());
    }
    if first > AUDIO_BAND_HZ[0] || last < AUDIO_BAND_HZ[1] {
        gaps.push(format!(
            "it goes from {:.3} to {:.3}, and was continued to the ends of the audio band",
            Hertz(first),
            Hertz(last)
        ));
    }
    (!gaps.is_empty()).then(|| {
        Finding::note(
            "amplifier-table-incomplete",
            format!(
                "of the amplifier's output impedance ({}): {}; measure it with its phase from 20 Hz to 20 kHz",
                table.file,
                gaps.join("; ")
            ),
        )
    })
}

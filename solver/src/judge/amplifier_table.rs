//! Gaps in a measured output impedance.

use netlist::project::{Amplifier, OutputImpedance};
use netlist::quantity::Hertz;

use super::finding::Finding;
use super::finding_code::FindingCode;
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
            FindingCode::AmplifierTableIncomplete,
            format!(
                "of the amplifier's output impedance ({}): {}; measure it with its phase from 20 Hz to 20 kHz",
                table.file,
                gaps.join("; ")
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use netlist::table::Table;

    use super::*;

    fn amplifier(from_hz: f64, phase: bool) -> Amplifier {
        let f_hz: Vec<f64> = (0..12).map(|i| from_hz * 2f64.powi(i)).collect();
        let rows = f_hz.len();
        Amplifier {
            output_impedance: OutputImpedance::Measured(Box::new(Table {
                file: "amp.txt".to_owned(),
                f_hz,
                magnitude: vec![1.8; rows],
                phase_deg: phase.then(|| vec![0.0; rows]),
                zero_hz_left_out: false,
            })),
            ..Amplifier::default()
        }
    }

    #[test]
    fn gaps_of_its_table_are_told() {
        assert!(finding(&Amplifier::default()).is_none());
        assert!(finding(&amplifier(15.0, true)).is_none());
        let message = |amplifier| finding(&amplifier).unwrap().message;
        assert!(message(amplifier(15.0, false)).contains("it has no phase"));
        assert!(message(amplifier(40.0, true)).contains("it goes from 40 Hz"));
    }
}

//! Cautions that go with every network of the kind.

use netlist::project::{Amplifier, Project};
use netlist::quantity::Ohms;

use crate::amplifier::{VALVE_OHM, nominal_output_ohm};
use crate::grid::Grid;
use crate::judge::faults;
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::judge::judged_loudspeaker::JudgedLoudspeaker;
use crate::loudspeaker::Loudspeaker;
use crate::search::least_load_ohm;
use crate::sound::aim_at_listener;

/// The caution that goes with an amplifier of such an output impedance.
pub(crate) fn valve_amplifier(amplifier: &Amplifier, findings: &mut Vec<Finding>) {
    let output_ohm = nominal_output_ohm(amplifier).norm();
    if output_ohm > VALVE_OHM {
        findings.push(Finding::caution(
            FindingCode::ValveAmplifier,
            format!(
                "never run this amplifier without a load: {:.3} of output impedance are those of valves, whose output transformer can break then; switch it off before you change the network; hundreds of volts stay inside when it is off: leave them to a licensed person",
                Ohms(output_ohm)
            ),
        ));
    }
}

/// What the amplifier sees while a driver is not connected: a filter without its driver may be a series resonance across
/// the amplifier. `None` for a brief, and for a network that cannot be solved.
pub(super) fn loose_drivers(project: &Project) -> Option<Vec<Finding>> {
    let loudspeaker = Loudspeaker::new(project, Grid::audio_band()).ok()??;
    let least_load_ohm = least_load_ohm(project);
    let aim = aim_at_listener(project);
    let speaker = JudgedLoudspeaker::by(project, loudspeaker, least_load_ohm, aim);
    let faults = faults::loose_drivers(&speaker).ok()?;
    Some(faults::fault_findings(&faults))
}

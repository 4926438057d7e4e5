//! Cautions that go with every network of the kind.

use netlist::project::Amplifier;
use netlist::quantity::Ohms;

use crate::amplifier::nominal_output_ohm;
use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::search::Job;

/// Solid-state amplifiers are below this output impedance, valve amplifiers mostly above (common
/// practice), ohm.
pub(crate) const VALVE_OHM: f64 = 0.5;

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

/// A network whose lowest way has a low pass, without its driver.
pub(super) fn low_pass_without_driver(job: &Job, findings: &mut Vec<Finding>) {
    findings.push(Finding::caution(
        FindingCode::LowPassWithoutDriver,
        format!(
            "a low-pass filter without its driver is a series resonance across the amplifier, nearly a short circuit at one frequency: play nothing while {} is not connected",
            job.ways[0].name
        ),
    ));
}

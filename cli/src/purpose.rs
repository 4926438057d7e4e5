//! What a section of a network is for, in a builder's words.

use netlist::network::Network;
use netlist::quantity::Hertz;
use solver::search::{Lies, Purpose};

/// `C1 + L2: series trap at 2.9 kHz (without it +3.1 dB at 2.8 kHz)`
pub(crate) fn words(network: &Network, purpose: &Purpose) -> String {
    let names: Vec<&str> = (purpose.parts.iter())
        .filter_map(|&part| network.parts().get_index(part))
        .map(|(name, _)| name.as_str())
        .collect();
    format!(
        "{} {} (without it {:+.1} dB at {:.2})",
        names.join("+"),
        what(purpose),
        purpose.without_db,
        Hertz(purpose.at_hz)
    )
}

fn what(purpose: &Purpose) -> String {
    let resonant = matches!(purpose.has, [_, true, true]);
    let what = section(purpose.lies, purpose.has);
    match purpose.resonance_hz.filter(|_| resonant) {
        Some(f_hz) => format!("{what} at {:.2}", Hertz(f_hz)),
        None => what.to_owned(),
    }
}

/// A section by where it lies and whether it has a resistor, a coil, a capacitor.
pub(crate) fn section(lies: Lies, has: [bool; 3]) -> &'static str {
    match (lies, has) {
        (Lies::InLead, [true, false, false]) => "resistor in the lead",
        (Lies::InLead, [false, true, false]) => "coil in the lead",
        (Lies::InLead, [false, false, true]) => "capacitor in the lead",
        (Lies::InLead, [true, true, false]) => "bypassed coil",
        (Lies::InLead, [true, false, true]) => "bypassed resistor, lifts the top",
        (Lies::InLead, [false, true, true]) => "parallel trap",
        (Lies::InLead, _) => "damped parallel trap",
        (Lies::Across, [true, false, false]) => "resistor across",
        (Lies::Across, [false, true, false]) => "coil across",
        (Lies::Across, [false, false, true]) => "capacitor across",
        (Lies::Across, [true, true, false]) => "damped coil across",
        (Lies::Across, [true, false, true]) => "damped capacitor across",
        (Lies::Across, [false, true, true]) => "series trap",
        (Lies::Across, _) => "damped series trap",
    }
}

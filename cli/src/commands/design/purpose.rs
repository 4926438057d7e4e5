//! What a section of a network is for, in a builder's words.

use netlist::network::Network;
use netlist::quantity::Hertz;
use solver::search::{Lies, Purpose};

/// `C1 + L2: series trap at 2.9 kHz (without it +3.1 dB at 2.8 kHz)`
pub(super) fn words(network: &Network, purpose: &Purpose) -> String {
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
    let at = |what: &str| match purpose.resonance_hz {
        Some(f_hz) => format!("{what} at {:.2}", Hertz(f_hz)),
        None => what.to_owned(),
    };
    match (purpose.lies, purpose.has) {
        (Lies::InLead, [true, false, false]) => "resistor in the lead".to_owned(),
        (Lies::InLead, [false, true, false]) => "coil in the lead".to_owned(),
        (Lies::InLead, [false, false, true]) => "capacitor in the lead".to_owned(),
        (Lies::InLead, [true, true, false]) => "bypassed coil".to_owned(),
        (Lies::InLead, [true, false, true]) => "bypassed resistor, lifts the top".to_owned(),
        (Lies::InLead, [false, true, true]) => at("parallel trap"),
        (Lies::InLead, _) => at("damped parallel trap"),
        (Lies::Across, [true, false, false]) => "resistor across".to_owned(),
        (Lies::Across, [false, true, false]) => "coil across".to_owned(),
        (Lies::Across, [false, false, true]) => "capacitor across".to_owned(),
        (Lies::Across, [true, true, false]) => "damped coil across".to_owned(),
        (Lies::Across, [true, false, true]) => "damped capacitor across".to_owned(),
        (Lies::Across, [false, true, true]) => at("series trap"),
        (Lies::Across, _) => at("damped series trap"),
    }
}

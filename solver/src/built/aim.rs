//! A measured sum against the aim, and the steps of the pads that bring it nearest.

use netlist::network::{Network, NodeId, PartKind};
use netlist::project::Project;
use netlist::quantity::Quantity;

use super::combination::{Combination, Drawn, PadStep, SumHeard};

/// Steps of a pad either way, dB; a way needs a resistor to have one.
const STEPS_DB: [f64; 7] = [0.0, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0];
/// A step that brings less is not made, dB rms.
const WORTH_DB: f64 = 0.05;
const MOST_STEPS: usize = 16;

/// The measured sum against the aim, and the steps that bring it nearest.
pub(super) fn against_aim(
    project: &Project,
    network: &Network,
    drawn: &Drawn,
    best: &Combination,
) -> SumHeard {
    let f_hz = drawn.grid.f_hz();
    let tilt = project.aim.tilt.si();
    let off = |levels: &[f64]| -> Vec<f64> {
        let aimed: Vec<f64> = (levels.iter().zip(f_hz))
            .map(|(level, f)| level - tilt * (f / 1000.0).log2())
            .collect();
        let mean = aimed.iter().sum::<f64>() / aimed.len() as f64;
        aimed.iter().map(|level| level - mean).collect()
    };
    let rms = |off: &[f64]| (off.iter().map(|db| db * db).sum::<f64>() / off.len() as f64).sqrt();
    let now = off(&drawn.at);
    let far = (0..now.len()).max_by(|&a, &b| now[a].abs().total_cmp(&now[b].abs()));
    let far = far.unwrap_or(0);
    let ways = drawn.ways.len();
    let padded: Vec<bool> = pads(network);
    let fitted = best.level_db(drawn, &vec![0.0; ways]);
    let mut after = (rms(&now), vec![0.0; ways]);
    let choices = STEPS_DB
        .len()
        .pow(padded.iter().filter(|padded| **padded).count() as u32);
    for number in 0..choices {
        let mut rest = number;
        let steps: Vec<f64> = (padded.iter())
            .map(|padded| match padded {
                true => {
                    let step = STEPS_DB[rest % STEPS_DB.len()];
                    rest /= STEPS_DB.len();
                    step
                }
                false => 0.0,
            })
            .collect();
        let moved = best.level_db(drawn, &steps);
        let levels: Vec<f64> = (0..now.len())
            .map(|i| drawn.at[i] + moved[i] - fitted[i])
            .collect();
        let found = rms(&off(&levels));
        if found < after.0 - WORTH_DB {
            after = (found, steps);
        }
    }
    let drivers = network.driver_names();
    SumHeard {
        from_hz: f_hz[0],
        to_hz: f_hz[f_hz.len() - 1],
        rms_db: rms(&now),
        max_db: now[far],
        max_at_hz: f_hz[far],
        after_rms_db: after.0,
        steps: (drivers
            .zip(after.1)
            .filter(|(_, step)| *step != 0.0)
            .take(MOST_STEPS))
        .map(|(driver, step_db)| PadStep {
            driver: driver.to_owned(),
            step_db,
        })
        .collect(),
    }
}

/// Whether each driver has a pad: a resistor or an autoformer's tap at its own terminal.
fn pads(network: &Network) -> Vec<bool> {
    (network.parts().values())
        .filter_map(|part| match &part.kind {
            PartKind::Driver { between, .. } => Some(*between),
            _ => None,
        })
        .map(|between| {
            let own = |node: &NodeId| {
                between.contains(node) && *node != NodeId::GND && *node != NodeId::IN
            };
            network.parts().values().any(|part| match &part.kind {
                PartKind::Resistor { between, .. } => {
                    // In series with the driver, not across it.
                    between.iter().any(own) && !between.contains(&NodeId::GND)
                }
                PartKind::Autoformer { taps, .. } => taps.iter().any(|tap| own(&tap.node)),
                _ => false,
            })
        })
        .collect()
}

//! What hangs at the amplifier: through which part most of the current goes, and what direct current sees.

use netlist::network::NodeId;
use netlist::project::Project;
use num_complex::Complex64;
use serde::Serialize;

use crate::grid::Grid;
use crate::judge::judged_loudspeaker::JudgedLoudspeaker;
use crate::loudspeaker::Loudspeaker;
use crate::nodal::{Closer, Plan, PlanError, STIFF, Values};
use crate::spectrum::Spectrum;

/// As good as direct current, Hz.
pub const DIRECT_HZ: f64 = 1e-3;

/// A part at the amplifier's terminal, or at the end of the cable, and what it draws.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnCurrent {
    /// The part.
    pub part: String,
    /// Its current over the whole: more than 1 in a resonance.
    pub share: f64,
}

/// Of the parts at `in` the one that draws most current at a frequency.
///
/// # Errors
/// If the network cannot be solved.
pub(super) fn most_drawn(project: &Project, at_hz: f64) -> Result<Option<DrawnCurrent>, PlanError> {
    let (Some(network), Ok(grid)) = (&project.network, Grid::new(vec![at_hz])) else {
        return Ok(None);
    };
    let Some(system) = Loudspeaker::new(project, grid)? else {
        return Ok(None);
    };
    let (solution, _) = system.solve()?;
    let flows = system.flows(&solution);
    let drawn: Vec<(&String, Complex64)> = (network.parts().iter())
        .filter_map(|(name, part)| {
            let [from, to] = part.kind.between()?;
            let sign = match (from == NodeId::IN, to == NodeId::IN) {
                (true, false) => 1.0,
                (false, true) => -1.0,
                _ => return None,
            };
            let number = system.network.parts().get_index_of(name)?;
            let flow = flows.iter().find(|flow| flow.part == number)?;
            Some((name, sign * flow.current_a.at(0)))
        })
        .collect();
    let whole: Complex64 = drawn.iter().map(|(_, current)| current).sum();
    let most = (drawn.into_iter()).max_by(|a, b| a.1.norm().total_cmp(&b.1.norm()));
    Ok(most.map(|(name, current)| DrawnCurrent {
        part: name.clone(),
        share: current.norm() / whole.norm(),
    }))
}

/// What direct current sees at the amplifier, ohm; `None` where none flows.
///
/// # Errors
/// If the network cannot be solved.
pub(super) fn direct_current_ohm(speaker: &JudgedLoudspeaker) -> Result<Option<f64>, PlanError> {
    let system = &speaker.loudspeaker;
    let coils_ohm = system.drivers.iter().map(|driver| driver.re_ohm);
    direct_ohm(&system.plan, &system.values, coils_ohm)
}

/// What direct current sees of a network: drivers as their voice coils, coils as their wire; `None` where none flows.
///
/// # Errors
/// If the network cannot be solved.
pub(crate) fn direct_ohm(
    plan: &Plan,
    values: &Values,
    coils_ohm: impl Iterator<Item = f64>,
) -> Result<Option<f64>, PlanError> {
    /// Above this nothing but leakage of the arithmetic flows.
    const OPEN_OHM: f64 = 1e6;
    let Ok(grid) = Grid::new(vec![DIRECT_HZ]) else {
        return Ok(None);
    };
    let coils: Vec<Spectrum> = coils_ohm
        .map(|ohm| Spectrum::from_fn(1, |_| Complex64::from(ohm)))
        .collect();
    let closer = Closer {
        plan,
        values,
        drive: &STIFF,
        grid: &grid,
        loads: &coils.iter().collect::<Vec<_>>(),
    };
    let z_ohm = closer.on_grid()?.input_impedance_at(0);
    // What is mostly a reactance is a capacitor, however large.
    let flows = |z: &Complex64| z.re.abs() > z.im.abs();
    let z_ohm = z_ohm.filter(flows).map(|z| z.norm());
    Ok(z_ohm.filter(|ohm| *ohm < OPEN_OHM))
}

//! Everything that can be known of a design on paper.
//!
//! | file | what |
//! |---|---|
//! | `assess` | figures of merit, by the definitions of the search |
//! | `change` | how levels change from one state to another |
//! | `amplifier` | load, output impedance, output taps |
//! | `input` | through which part the current goes, and what direct current sees |
//! | `around` | what it sends in other directions than the one it is judged in |
//! | `hot_coil` | voice coils after hard use |
//! | `wire` | what cable and leads cost |
//! | `findings` | what the builder must know of these |

mod amplifier;
mod around;
mod assess;
mod change;
mod findings;
mod hot_coil;
mod input;
#[cfg(test)]
mod tests;
mod wire;

pub use amplifier::{
    AmplifierLoad, OtherAmplifier, OutputImpedanceCost, OutputTap, Taps, other_amplifiers,
};
pub use assess::{Assessment, NotAssessed, assess, in_order_of_ways};
pub use change::{Changes, LevelChange, WayChange};
pub use hot_coil::{CrossoverShift, HotCoil};
pub(crate) use input::direct_ohm;
pub use input::{DIRECT_HZ, DrawnCurrent};
pub use wire::{LeadFigures, WireCost, WireFigures};

use std::ops::ControlFlow;

use netlist::network::Network;
use netlist::project::Project;

use super::faults::{Faults, fault_findings, faults};
use super::finding::{Finding, sort_findings};
use super::judged_loudspeaker::JudgedLoudspeaker;
use super::stress::{self, Stress};
use super::tolerance::{
    Tolerance, ToleranceError, ToleranceOptions, tolerance, tolerance_findings,
};
use crate::directions::Directions;
use crate::grid::Grid;
use crate::loudspeaker::{Circumstances, Curves, Loudspeaker};
use crate::nodal::PlanError;
use crate::search::least_load_ohm;
use crate::sound::aim_at_listener;
use crate::wiring::is_wire;

/// What can be known of a design.
#[derive(Debug, Clone)]
pub struct Check {
    /// Figures of merit, or why there are none.
    pub assessment: Result<Assessment, NotAssessed>,
    /// What the amplifier sees; `None` where no current flows at all.
    pub load: Option<AmplifierLoad>,
    /// What every part and driver must survive.
    pub stress: Stress,
    /// What hot voice coils change.
    pub hot_coil: HotCoil,
    /// What wire costs; `None` where the project says nothing of wire.
    pub wire: Option<WireCost>,
    /// What tolerance does, or why that is not known.
    pub tolerance: Result<Tolerance, ToleranceError>,
    /// What a loose wire, an open part or a short circuit does.
    pub faults: Faults,
    /// What it sends in all directions.
    pub directions: Directions,
    /// What the builder must know, dangers first.
    pub findings: Vec<Finding>,
}

/// The loudspeaker's curves under several circumstances, on one grid.
struct Views<'a> {
    grid: &'a Grid,
    normal: Curves,
    /// With an amplifier of no output impedance; `None` where it has none anyway.
    stiff: Option<Curves>,
    hot: Curves,
    /// With wire of no resistance; `None` where the project says nothing of wire.
    without_wire: Option<Curves>,
}

impl<'a> Views<'a> {
    fn new(project: &Project, as_written: &'a Loudspeaker) -> Result<Option<Self>, PlanError> {
        let changed = |circumstances: &Circumstances| -> Result<Option<Curves>, PlanError> {
            let changed = as_written.changed(project, circumstances)?;
            changed.map(|changed| changed.curves()).transpose()
        };
        let grid = &as_written.grid;
        let Some(hot) = changed(&hot_coil::hot())? else {
            return Ok(None);
        };
        let stiff = match !project.amplifier.output_impedance.is_none() {
            true => changed(&amplifier::on_ohm(0.0))?,
            false => None,
        };
        let without_wire = match project.wiring.is_empty() {
            true => None,
            false => changed(&wire::without_wire())?,
        };
        Ok(Some(Self {
            grid,
            normal: as_written.curves()?,
            stiff,
            hot,
            without_wire,
        }))
    }
}

/// What is being done, for those who wait; the answer says whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckProgress {
    /// So many faults of so many are tried.
    Faults {
        /// Tried.
        done: usize,
        /// To try.
        to_do: usize,
    },
    /// So many builds of so many are made.
    Builds {
        /// Made.
        done: usize,
        /// To make, those to compare with included.
        to_do: usize,
    },
}

/// Looks at a design in every way; `None` for a brief. When `progress` breaks, what was tried and made so far
/// is evaluated.
///
/// # Errors
/// If the network cannot be solved.
pub fn check(
    project: &Project,
    options: &ToleranceOptions,
    progress: &mut dyn FnMut(CheckProgress) -> ControlFlow<()>,
) -> Result<Option<Check>, PlanError> {
    let as_written = Loudspeaker::new(project, Grid::audio_band())?;
    let (Some(network), Some(as_written)) = (&project.network, as_written) else {
        return Ok(None);
    };
    let (Some(views), Some(stress), Some(directions)) = (
        Views::new(project, &as_written)?,
        stress::stress(project)?,
        Directions::of(project)?,
    ) else {
        return Ok(None);
    };
    let assessment = assess(project, network);
    let (aim, least_load_ohm) = match &assessment {
        Ok(Assessment { job, .. }) => (job.aim.clone(), job.least_load()),
        Err(_) => (aim_at_listener(project), least_load_ohm(project)),
    };
    let speaker = JudgedLoudspeaker::by(project, as_written.clone(), least_load_ohm, aim);
    let faults = part_faults(
        network,
        faults(&speaker, &mut |done, to_do| {
            progress(CheckProgress::Faults { done, to_do })
        })?,
    );
    let (tolerance, tolerance_findings) = builds(project, &speaker, options, progress)?;
    let mut check = Check {
        assessment,
        load: amplifier::amplifier_load(project, &speaker, &views)?,
        hot_coil: hot_coil::hot_coil(project, &views),
        wire: wire::wire_cost(project, &views, &stress),
        stress,
        tolerance,
        faults,
        directions,
        findings: Vec::new(),
    };
    check.findings = findings::findings(project, &check);
    check.findings.extend(fault_findings(&check.faults));
    check.findings.extend(tolerance_findings);
    sort_findings(&mut check.findings);
    Ok(Some(check))
}

/// Faults of what the builder wrote: a broken lead is a disconnected driver, which is among them.
fn part_faults(network: &Network, mut faults: Faults) -> Faults {
    faults.faults.retain(|fault| !is_wire(network, &fault.part));
    faults
}

type ToleranceAndFindings = (Result<Tolerance, ToleranceError>, Vec<Finding>);

fn builds(
    project: &Project,
    as_written: &JudgedLoudspeaker,
    options: &ToleranceOptions,
    progress: &mut dyn FnMut(CheckProgress) -> ControlFlow<()>,
) -> Result<ToleranceAndFindings, PlanError> {
    let Ok(grid) = JudgedLoudspeaker::aim_grid(&project.aim) else {
        let none = ToleranceError::NoBand {
            from_hz: project.aim.from.0,
            to_hz: project.aim.to.0,
        };
        return Ok((Err(none), Vec::new()));
    };
    let speaker = as_written.over(project, grid)?;
    let mut done = |done, to_do| progress(CheckProgress::Builds { done, to_do });
    let mut found = tolerance(&speaker, options, &mut done);
    let findings = match &found {
        Ok(found) => tolerance_findings(&speaker, found),
        Err(_) => Vec::new(),
    };
    if let (Ok(found), Some(network)) = (&mut found, &project.network) {
        (found.contributors)
            .retain(|one| project.drivers.contains_key(&one.name) || !is_wire(network, &one.name));
    }
    Ok((found, findings))
}

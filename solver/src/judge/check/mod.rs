//! Everything that can be known of a design on paper.
//!
//! | file | what |
//! |---|---|
//! | `assess` | figures of merit, by the definitions of the search |
//! | `change` | how levels change from one state to another |
//! | `amplifier` | load, output impedance, output taps |
//! | `hot_coil` | voice coils after hard use |
//! | `wire` | what cable and leads cost |
//! | `findings` | what the builder must know of these |

mod amplifier;
mod assess;
mod change;
mod findings;
mod hot_coil;
mod wire;

pub use amplifier::{AmplifierLoad, OutputImpedance, Tap, Taps};
pub use assess::{Assessment, NotAssessed, assess};
pub use change::{Change, Changes, WayChange};
pub use hot_coil::{CrossoverShift, HotCoil};
pub use wire::{LeadFigures, WireCost, WireFigures};

use netlist::project::Project;

use super::finding::{Finding, sort_findings};
use super::stress::{self, Stress};
use crate::grid::Grid;
use crate::nodal::PlanError;
use crate::system::{Circumstances, Curves, System};

/// Frequencies of the curves, 20 Hz to 20 kHz: 60 to an octave.
const POINTS: usize = 600;

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
    fn new(project: &Project, grid: &'a Grid) -> Result<Option<Self>, PlanError> {
        let view = |circumstances: &Circumstances| -> Result<Option<Curves>, PlanError> {
            System::under(project, grid.clone(), circumstances)?
                .map(|system| system.curves())
                .transpose()
        };
        let (Some(normal), Some(hot)) = (view(&Circumstances::default())?, view(&hot_coil::hot())?)
        else {
            return Ok(None);
        };
        let stiff = match project.amplifier.output_impedance.0 > 0.0 {
            true => view(&amplifier::stiff())?,
            false => None,
        };
        let without_wire = match project.wiring.is_empty() {
            true => None,
            false => view(&wire::without_wire())?,
        };
        Ok(Some(Self {
            grid,
            normal,
            stiff,
            hot,
            without_wire,
        }))
    }
}

/// Looks at a design in every way but tolerance and faults; `None` for a brief.
///
/// # Errors
/// If the network cannot be solved.
///
/// # Panics
/// Never: the audio band is a grid.
pub fn check(project: &Project) -> Result<Option<Check>, PlanError> {
    let grid = Grid::log_spaced(20.0, 20_000.0, POINTS).expect("the audio band is a grid");
    let (Some(network), Some(views), Some(stress)) = (
        &project.network,
        Views::new(project, &grid)?,
        stress::stress(project)?,
    ) else {
        return Ok(None);
    };
    let mut check = Check {
        assessment: assess(project, network),
        load: amplifier::amplifier_load(project, &views),
        hot_coil: hot_coil::hot_coil(project, &views),
        wire: wire::wire_cost(project, &views, &stress),
        stress,
        findings: Vec::new(),
    };
    check.findings = findings::findings(project, &check);
    sort_findings(&mut check.findings);
    Ok(Some(check))
}

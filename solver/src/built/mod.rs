//! Was it built as drawn? One impedance sweep at the terminals against the design: the part, the joint or
//! the driver that is wrong.
//!
//! A sweep holds nearly everything about a network. What may differ without being a mistake (parts within
//! their tolerance, another sample of a driver, the meter's scale, its leads) is integrated out; every
//! single mistake is a hypothesis whose curve follows from the drawn network by the law of changed
//! branches; the likely ones are fitted, and weighed against each other with the noise as it is.
//!
//! | file | what |
//! |---|---|
//! | `measurement` | the sweep, what makes it useless, its noise |
//! | `driver` | a driver and how another sample of it may differ |
//! | `data` | the same by the data of a modelled one |
//! | `table` | the same by the curve of a measured one |
//! | `bench` | the drawn loudspeaker and its sweeps, everything that may differ |
//! | `hypothesis` | every single mistake, and how often it happens |
//! | `screen` | their curves, all by the law of changed branches |
//! | `changed` | the drawn network with a mistake in it |
//! | `point` | a build solved at one frequency |
//! | `assembly` | such a build solved, and how its curve moves with all that may differ |
//! | `evidence` | how well a curve explains a measurement |
//! | `fit` | one hypothesis fitted |
//! | `rank` | all of them in order |
//! | `named` | a found value by the name of the mistake that makes it |
//! | `told` | the order in words, what cannot be told apart together |
//! | `next` | which further measurement would tell most |
//! | `findings` | what the builder must know, and what can hurt |
//! | `response` | what only a response shows: polarity, levels, the aim |
//! | `aim` | a measured sum against the aim, and steps of the pads |
//! | `expect` | what a meter should show before the first switch-on |

mod aim;
mod assembly;
mod bench;
mod changed;
mod combination;
mod data;
mod driver;
mod evidence;
mod expect;
mod findings;
mod fit;
mod hypothesis;
mod measurement;
mod named;
mod next;
mod over;
mod point;
mod rank;
mod response;
mod screen;
mod table;
mod told;

use netlist::project::Project;
use serde::Serialize;

pub use expect::{Expectation, Expected, expect};
pub use findings::LIKELY;
pub use hypothesis::{BuiltChange, MistakeKind};
pub use measurement::{LEAST_POINTS, Sweep, SweepError};
pub use next::{Next, NextMeasure};

pub use combination::{PadStep, SumHeard};
pub use response::{Heard, Response, WayHeard, heard};

use crate::grid::Grid;
use crate::judge::{Finding, sort_findings};
use crate::nodal::PlanError;
use bench::{Bench, SweepGrid};
use rank::rank;
use screen::Screen;
use told::told;

/// What is known beside the sweeps.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BuiltOptions {
    /// Resistance of the measuring leads, ohm; estimated when not said.
    pub leads_ohm: Option<f64>,
}

/// What the measurement itself is like.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Measurement {
    /// Lowest frequency that every sweep has, Hz.
    pub from_hz: f64,
    /// Highest such frequency, Hz.
    pub to_hz: f64,
    /// Noise from point to point, a share of the impedance.
    pub noise_share: f64,
    /// Resistance of leads, with the best hypothesis, ohm.
    pub leads_ohm: f64,
    /// What the meter shows over what is there, with the best hypothesis.
    pub scale: f64,
}

/// A mistake by name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mistake {
    /// What kind.
    pub kind: MistakeKind,
    /// The parts that it is about.
    pub parts: Vec<String>,
    /// Where it lies now, for a part between other nodes than drawn.
    pub between: Option<[String; 2]>,
    /// The number that was found: ohm, henry, farad, or for a driver how many times its impedance.
    pub found_si: Option<f64>,
    /// In words.
    pub named: String,
}

/// A hypothesis with its share.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hypothesis {
    /// The mistake.
    #[serde(flatten)]
    pub mistake: Mistake,
    /// Its share of 1, with all that this measurement cannot tell from it.
    pub share: f64,
    /// What this measurement cannot tell from it.
    pub same: Vec<Mistake>,
    /// The changes that it is.
    #[serde(skip)]
    pub changes: Vec<BuiltChange>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Built {
    /// The measurement.
    pub measurement: Measurement,
    /// Share of the build as drawn, with the mistakes that this measurement cannot tell from it.
    pub as_designed: f64,
    /// Mistakes that this measurement cannot tell from the build as drawn.
    pub unseen: Vec<Mistake>,
    /// Share of a loudspeaker that is not this one at all, or wrong in more than two places.
    pub something_else: f64,
    /// Mistakes, the likeliest first.
    pub hypotheses: Vec<Hypothesis>,
    /// What to measure next, what tells most first.
    pub next: Vec<Next>,
    /// What the builder must know.
    pub findings: Vec<Finding>,
    /// Each sweep beside its curves.
    pub curves: Vec<SweepCurves>,
}

/// A sweep beside what it should be.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepCurves {
    /// Frequencies, Hz.
    pub f_hz: Vec<f64>,
    /// As measured, ohm.
    pub measured_ohm: Vec<f64>,
    /// As drawn, nothing fitted, ohm.
    pub designed_ohm: Vec<f64>,
    /// The likeliest hypothesis, fitted, ohm.
    pub best_ohm: Vec<f64>,
}

/// Looks at sweeps of a built loudspeaker; `None` for a brief.
///
/// # Errors
/// If the network cannot be solved.
pub fn built(
    project: &Project,
    sweeps: &[Sweep],
    options: &BuiltOptions,
) -> Result<Option<Built>, PlanError> {
    let Some(network) = &project.network else {
        return Ok(None);
    };
    let bench = Bench::new(project, network, sweeps, options)?;
    let ranking = rank(&bench)?;
    let mut found = told(project, &bench, &ranking);
    found.next = next::next(&bench, &ranking);
    found.findings = findings::findings(project, &bench, &ranking, &found)?;
    sort_findings(&mut found.findings);
    Ok(Some(found))
}

/// Impedance at the terminals over a grid, in ohm, of a project's network with changes, by the law of
/// changed branches, nothing differing from the drawing otherwise: what every hypothesis is screened with.
/// `None` for a brief, and where the changes leave no network.
///
/// # Errors
/// If the drawn network cannot be solved.
pub fn hypothesis_curve(
    project: &Project,
    changes: &[BuiltChange],
    grid: &Grid,
) -> Result<Option<Vec<num_complex::Complex64>>, PlanError> {
    let Some(network) = &project.network else {
        return Ok(None);
    };
    let options = BuiltOptions {
        leads_ohm: Some(0.0),
    };
    let bench = Bench::new(project, network, &[], &options)?;
    let set = SweepGrid::empty(&bench, grid.clone());
    let curves = Screen::new(&bench, vec![set])?.curves(changes);
    Ok(curves.map(|curves| curves[0].ln_z.iter().map(|ln_z| ln_z.exp()).collect()))
}

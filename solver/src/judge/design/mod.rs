//! All findings on a finished network.

mod cautions;
mod depth;
mod load;
mod sum;
#[cfg(test)]
mod tests;

pub(super) use cautions::valve_amplifier;
pub(super) use load::load_alone;

use netlist::project::Project;

use super::finding::{Finding, sort_findings};
use super::stress;
use crate::goal::{Figures, LoadFigures};
use crate::search::{Depth, Job};

/// What the builder must know about a network with these figures, dangers first.
///
/// `project` holds the network, and `job` was made from it.
#[must_use]
pub fn design_findings(
    project: &Project,
    job: &Job,
    depths: &[Depth],
    figures: &Figures,
    load: &LoadFigures,
) -> Vec<Finding> {
    // What can hurt somebody or break something comes before the sound.
    let mut findings = Vec::new();
    // A network that cannot be solved has no figures, and nobody asks for findings on it.
    let stress = stress::stress(project).ok().flatten();
    findings.extend(stress.as_ref().and_then(stress::hot_resistors));
    valve_amplifier(&project.amplifier, &mut findings);
    findings.extend(cautions::loose_drivers(project).unwrap_or_default());
    if let Some(stress) = &stress {
        findings.extend(stress::findings(stress));
    }
    findings.extend(figure_findings(job, depths, figures, load, None));
    sort_findings(&mut findings);
    findings
}

/// Findings on the load alone: whether it falls below what is asked for.
#[must_use]
pub fn load_findings(job: &Job, load: &LoadFigures) -> Vec<Finding> {
    let mut findings = Vec::new();
    load::least_load(job, load, None, &mut findings);
    findings
}

/// Findings on the figures alone; `drain` says through what most of the current goes where the load is least,
/// where that is known.
pub(super) fn figure_findings(
    job: &Job,
    depths: &[Depth],
    figures: &Figures,
    load: &LoadFigures,
    drain: Option<&str>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    load::least_load(job, load, drain, &mut findings);
    sum::sum(job, figures, &mut findings);
    sum::ways(job, figures, &mut findings);
    sum::phases(job, depths, figures, &mut findings);
    for (c, depth) in depths.iter().enumerate() {
        findings.extend(depth::of_depth(job, c, depth));
    }
    findings
}

//! All findings on a finished network.

mod cautions;
mod depth;
mod load;
mod sum;
#[cfg(test)]
mod tests;

pub(super) use cautions::{VALVE_OHM, valve_amplifier};
pub(super) use load::{DANGEROUS_SHARE, USUAL_LEAST_OHM, load_alone};

use netlist::project::Project;
use netlist::quantity::Quantity;

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
    let mut findings = figure_findings(job, depths, figures, load);
    let output_ohm = project.amplifier.output_impedance.si();
    valve_amplifier(output_ohm, &mut findings);
    cautions::low_pass_without_driver(job, &mut findings);
    // A network that cannot be solved has no figures, and nobody asks for findings on it.
    if let Ok(Some(stress)) = stress::stress(project) {
        findings.extend(stress::findings(&stress));
        findings.extend(stress::hot_resistors(&stress));
    }
    sort_findings(&mut findings);
    findings
}

/// Findings on the figures alone.
pub(super) fn figure_findings(
    job: &Job,
    depths: &[Depth],
    figures: &Figures,
    load: &LoadFigures,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    load::least_load(job, load, &mut findings);
    sum::sum(job, figures, &mut findings);
    sum::ways(job, figures, &mut findings);
    sum::phases(job, depths, figures, &mut findings);
    for (c, depth) in depths.iter().enumerate() {
        findings.extend(depth::of_depth(job, c, depth));
    }
    findings
}

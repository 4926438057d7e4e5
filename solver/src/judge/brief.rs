//! All findings on a brief, before any network is searched.

use netlist::project::Project;

use super::finding::{Finding, sort_findings};
use super::{data, levels, margins};
use crate::search::Job;

/// What the builder must know about a brief before a network is searched, dangers first.
///
/// `job` must have been made from `project`.
///
/// # Panics
/// If a way of the job has no driver in the project.
#[must_use]
pub fn brief_findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = margins::findings(project, job);
    findings.extend(levels::findings(project, job));
    findings.extend(data::findings(project, job));
    sort_findings(&mut findings);
    findings
}

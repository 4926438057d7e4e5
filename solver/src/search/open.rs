//! What a brief leaves open: crossover frequencies, slopes, how far a driver is set back. Quick designs of
//! many variants, the best few of them more thoroughly.

use netlist::project::{AlignmentPair, Project};

use super::depth::alignment_choices;
use super::grow::Effort;
use super::job::{BriefError, Job};
use super::variant::{Progress, QUICK, grow_variant};

/// One way to decide what is open.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Crossover frequencies, Hz.
    pub frequencies_hz: Vec<f64>,
    /// Slopes, one pair a crossover.
    pub alignments: Vec<AlignmentPair>,
    /// How far back each way's driver is, m.
    pub back_m: Vec<f64>,
    /// Error and parts together in the quick design, the less the better.
    pub rank: f64,
}

/// A brief with nothing open.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    pub(super) project: Project,
    pub(super) alignments: Vec<AlignmentPair>,
    pub(super) variants: Vec<Variant>,
}

/// Decides what a brief leaves open.
pub(super) fn decide(
    project: &Project,
    stop: &(dyn Fn() -> bool + Sync),
    effort: &mut Effort,
    progress: &mut dyn FnMut(Progress),
) -> Result<Decided, BriefError> {
    let job = Job::new(project)?;
    let choices = alignment_choices(&job);
    let mut variants: Vec<Variant> = Vec::new();
    if choices.len() > 1 {
        for alignments in &choices {
            if !variants.is_empty() && stop() {
                break;
            }
            let (population, spent) = grow_variant(&job, alignments, QUICK, stop, &mut |_| {});
            *effort += spent;
            let rank = population
                .best()
                .map_or(f64::INFINITY, super::grow::Fitted::rank);
            let variant = Variant {
                frequencies_hz: job.crossovers.iter().map(|c| c.frequency.0).collect(),
                alignments: alignments.clone(),
                back_m: Vec::new(),
                rank,
            };
            progress(Progress::Variant {
                frequencies_hz: variant.frequencies_hz.clone(),
                alignments: alignments.clone(),
                rank,
            });
            variants.push(variant);
        }
        variants.sort_by(|a, b| a.rank.total_cmp(&b.rank));
    }
    let alignments = match variants.first() {
        Some(best) => best.alignments.clone(),
        None => choices.into_iter().next().unwrap_or_default(),
    };
    Ok(Decided {
        project: project.clone(),
        alignments,
        variants,
    })
}

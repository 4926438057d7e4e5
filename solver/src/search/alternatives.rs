//! Which of the proposals are shown, and what each is best at.

use super::design::Proposal;
use super::joint::Candidate;

/// What a proposal is best at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Merit {
    /// Best of error and parts together: the one that is taken when nobody chooses.
    Balanced,
    /// Least error.
    BestFit,
    /// Fewest parts among those that are still good.
    FewestParts,
    /// Highest load among those that are still good.
    KindestLoad,
    /// Next best of error and parts together.
    RunnerUp,
}

/// A part more must be worth this share of what is acceptable.
pub(super) const PART_WORTH: f64 = 0.15;

/// Keeping the least load is worth so much of what is acceptable: some parts more.
const LIMIT_WORTH: f64 = 1.0;

/// Error and parts in one number.
pub(super) fn rank(candidate: &Candidate) -> f64 {
    candidate.cost + PART_WORTH * candidate.part_count() as f64
}

/// Alternatives shown.
const ALTERNATIVES: usize = 4;

/// Names the proposals by what they are best at: each network once, under its first merit. Where one
/// is best at several things, the next best of all fill up.
pub(super) fn choose(mut proposals: Vec<Proposal>, least_load_ohm: f64) -> Vec<(Merit, Proposal)> {
    let Some(best) = (proposals.iter())
        .map(|p| p.snapped.cost)
        .min_by(f64::total_cmp)
    else {
        return Vec::new();
    };
    // Twice the least error is still good: what the eye sees as the next curve.
    proposals.retain(|p| p.snapped.cost <= 2.0 * best + 0.5);
    let balance = |p: &Proposal| {
        // A load below what is asked for has its price in the goal; near it, one more reason. What keeps it
        // may cost a little more.
        let short = (least_load_ohm / p.load.least_ohm - 1.0).max(0.0);
        let broken = if short > 0.0 { LIMIT_WORTH } else { 0.0 };
        rank(&p.snapped) + 100.0 * short + broken
    };
    let few = |p: &Proposal| p.snapped.part_count() as f64 + 0.1 * p.snapped.cost;
    type Score<'a> = &'a dyn Fn(&Proposal) -> f64;
    let scores: [(Merit, Score<'_>); 4] = [
        (Merit::Balanced, &balance),
        (Merit::BestFit, &|p| p.snapped.cost),
        (Merit::FewestParts, &few),
        (Merit::KindestLoad, &|p| -p.load.least_ohm),
    ];
    let mut merits: Vec<Option<Merit>> = vec![None; proposals.len()];
    for (merit, score) in scores {
        let first = (0..proposals.len())
            .min_by(|&a, &b| score(&proposals[a]).total_cmp(&score(&proposals[b])));
        if let Some(i) = first {
            merits[i].get_or_insert(merit);
        }
    }
    let mut chosen: Vec<(Merit, Proposal)> = Vec::new();
    let mut rest: Vec<Proposal> = Vec::new();
    for (merit, proposal) in merits.into_iter().zip(proposals) {
        match merit {
            Some(merit) => chosen.push((merit, proposal)),
            None => rest.push(proposal),
        }
    }
    rest.sort_by(|a, b| balance(a).total_cmp(&balance(b)));
    // Other values of the same shapes are no alternative.
    for proposal in rest {
        let known = (chosen.iter()).any(|(_, p)| p.snapped.shapes == proposal.snapped.shapes);
        if chosen.len() < ALTERNATIVES && !known {
            chosen.push((Merit::RunnerUp, proposal));
        }
    }
    chosen.sort_by_key(|(merit, _)| *merit as u8);
    chosen
}

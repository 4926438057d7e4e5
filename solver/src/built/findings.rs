//! What the builder must know about what was found.

use netlist::project::Project;

use super::bench::Bench;
use super::changed::as_written;
use super::rank::Ranking;
use super::{Built, Hypothesis};
use crate::grid::Grid;
use crate::judge::faults::{hazard_words, hazards_of};
use crate::judge::{Finding, FindingCode, JudgedLoudspeaker, Severity};
use crate::nodal::PlanError;
use crate::wiring::wired;

/// A mistake with this share is told as found.
pub const LIKELY: f64 = 0.5;
/// Noise above this share hides much.
const NOISY: f64 = 0.03;
/// Leads with more resistance than this hide much, ohm.
const LONG_LEADS_OHM: f64 = 0.4;
/// A scale further off than this share is told.
const SCALE_OFF: f64 = 0.025;
/// Parts of a list that are named.
const NAMED: usize = 6;

pub(super) fn findings(
    project: &Project,
    bench: &Bench,
    ranking: &Ranking,
    built: &Built,
) -> Result<Vec<Finding>, PlanError> {
    let mut list = Vec::new();
    if built.something_else > LIKELY {
        list.push(Finding::caution(
            FindingCode::AnotherLoudspeaker,
            "no single mistake, nor two, make this curve of this design: it is another loudspeaker, another \
             design file, a driver that is not this one, or more than two mistakes; measure way by way with \
             --only"
                .to_owned(),
        ));
    } else if let Some(first) = built
        .hypotheses
        .first()
        .filter(|h| h.share > built.as_designed)
    {
        list.push(mistake(project, bench, first)?);
    }
    list.extend(of_measurement(bench, ranking, built));
    let mut parts: Vec<&str> = Vec::new();
    for mistake in &built.unseen {
        for part in &mistake.parts {
            if !parts.contains(&part.as_str()) {
                parts.push(part);
            }
        }
    }
    if !parts.is_empty() && built.as_designed > LIKELY {
        let more = match parts.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        parts.truncate(NAMED);
        list.push(Finding::note(
            FindingCode::NotSeen,
            format!(
                "some mistakes would not show in this measurement, such as small ones of {}{more}",
                parts.join(", ")
            ),
        ));
    }
    list.push(Finding::note(
        FindingCode::PolarityNotSeen,
        "an impedance does not show the polarity of a driver; a response does (--response)"
            .to_owned(),
    ));
    Ok(list)
}

/// A mistake that was found, with what it can do.
fn mistake(project: &Project, bench: &Bench, first: &Hypothesis) -> Result<Finding, PlanError> {
    let speaker_network = wired(&bench.network, &project.wiring);
    let speaker = JudgedLoudspeaker::new(project, speaker_network, Grid::audio_band())?;
    let network = wired(&as_written(bench, &first.changes), &project.wiring);
    // A build that cannot be solved is no build.
    let (hazards, limit_ohm) = hazards_of(&speaker, &network).unwrap_or_default();
    let dangers: Vec<String> = (hazards.iter())
        .filter(|hazard| hazard.severity(limit_ohm) == Severity::Danger)
        .map(hazard_words)
        .collect();
    let named = &first.mistake.named;
    let likely = first.share > LIKELY;
    Ok(match dangers.first() {
        Some(danger) if likely => Finding::danger(
            FindingCode::BuiltWrong,
            format!("{named}; so {danger}: play nothing on it before it is put right"),
        ),
        _ if likely => Finding::caution(FindingCode::BuiltWrong, named.clone()),
        _ => Finding::caution(
            FindingCode::BuiltPerhapsWrong,
            format!("perhaps {named}; the measurement does not decide it"),
        ),
    })
}

fn of_measurement(bench: &Bench, ranking: &Ranking, built: &Built) -> Vec<Finding> {
    let found = &built.measurement;
    let mut list = Vec::new();
    if found.noise_share > NOISY {
        list.push(Finding::caution(
            FindingCode::NoisyMeasurement,
            format!(
                "the measurement has {:.1} % of noise, which hides small mistakes: a higher level or more \
                 averages",
                100.0 * found.noise_share
            ),
        ));
    }
    if found.leads_ohm > LONG_LEADS_OHM {
        list.push(Finding::note(
            FindingCode::Leads,
            format!(
                "about {:.2} ohm of the measured impedance are leads or a bad contact: clip nearer to the \
                 terminals, or state them with --lead",
                found.leads_ohm
            ),
        ));
    }
    if (found.scale - 1.0).abs() > SCALE_OFF && built.something_else < LIKELY {
        list.push(Finding::note(
            FindingCode::Scale,
            format!(
                "the meter shows about {:.1} % {} than is there: check it on a resistor of known value",
                100.0 * (found.scale - 1.0).abs(),
                if found.scale > 1.0 { "more" } else { "less" }
            ),
        ));
    }
    /// Squares above those of noise, by this factor, are not explained in full.
    const UNEXPLAINED: f64 = 2.0;
    if ranking.reduced > UNEXPLAINED && built.something_else < LIKELY {
        list.push(Finding::note(
            FindingCode::NotAllExplained,
            "even the best hypothesis leaves more than noise: the drivers differ from their data, or the box \
             does; shares are made less sure for it"
                .to_owned(),
        ));
    }
    let points = bench
        .sets
        .iter()
        .map(|set| set.ln_ohm.len())
        .min()
        .unwrap_or(0);
    const FEW: usize = 100;
    if points < FEW {
        list.push(Finding::note(
            FindingCode::FewPoints,
            format!("{points} points show coarse mistakes only; 200 or more show the rest"),
        ));
    }
    list
}

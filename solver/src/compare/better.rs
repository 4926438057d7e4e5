//! Which loudspeaker is better in what, and in which order they come.

use serde::Serialize;

use super::builds::ComparedBuilds;
use super::figure::{Contender, DecidedBy, Figure, ToleranceFigures};
use crate::judge::check::Assessment;

/// One is called better than another when it is in so many of the builds.
const SURE: f64 = 0.95;

/// One loudspeaker is better than another in a figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Better {
    /// Place of the one that is better.
    pub is: usize,
    /// Place of the other.
    pub than: usize,
    /// In what share of the builds; 1 where builds do not differ.
    pub share: f64,
}

/// One figure of all loudspeakers.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Row {
    /// The figure.
    pub figure: Figure,
    /// One value a loudspeaker.
    pub values: Vec<Option<f64>>,
    /// Whether the values can be held against each other at all: not where other bands, tilts or levels are
    /// asked for.
    pub comparable: bool,
    /// Pairs of which one is better by more than tolerance blurs.
    pub better: Vec<Better>,
}

impl Row {
    /// Whether one is better than another.
    #[must_use]
    pub fn is_better(&self, is: usize, than: usize) -> bool {
        self.better
            .iter()
            .any(|pair| pair.is == is && pair.than == than)
    }

    /// Those that nothing is better than, where they are better than something.
    #[must_use]
    pub fn best(&self, place: usize) -> bool {
        self.better.iter().any(|pair| pair.is == place)
            && self.better.iter().all(|pair| pair.than != place)
    }
}

/// Loudspeakers held against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The figures that there are.
    pub rows: Vec<Row>,
    /// Places, best first: those that keep what is asked for, then by error and parts in one number.
    pub order: Vec<usize>,
    /// The band that all aims have in common, where they differ, Hz.
    pub common_hz: Option<[f64; 2]>,
    /// Builds that were made of each.
    pub builds: usize,
    /// Of each, whether it keeps what is asked for.
    pub keeps: Vec<bool>,
}

impl Comparison {
    /// The row of a figure.
    #[must_use]
    pub fn row(&self, figure: Figure) -> Option<&Row> {
        self.rows.iter().find(|row| row.figure == figure)
    }
}

/// Holds loudspeakers against each other, with `builds` of each drawn at random.
#[must_use]
pub fn compare(
    candidates: &[Contender<'_>],
    builds: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Comparison {
    let common_hz = common_band(candidates);
    let measured: Vec<Option<(ToleranceFigures, Vec<ToleranceFigures>)>> = (candidates.iter())
        .map(|candidate| {
            let network = candidate.project.network.as_ref()?;
            let assessed = candidate.check.assessment.as_ref().ok()?;
            let bench = ComparedBuilds::new(candidate.project, network, assessed, common_hz)?;
            Some((bench.nominal()?, bench.builds(builds, stop)))
        })
        .collect();
    let made = measured
        .iter()
        .flatten()
        .map(|(_, builds)| builds.len())
        .min();
    let rows: Vec<Row> = (Figure::ALL.into_iter())
        .filter(|&figure| figure != Figure::CommonFlatness || common_hz.is_some())
        .map(|figure| row(figure, candidates, &measured, common_hz.is_some()))
        .filter(|row| row.values.iter().any(Option::is_some))
        .collect();
    let score = rows.iter().find(|row| row.figure == Figure::Score);
    let mut order: Vec<usize> = (0..candidates.len()).collect();
    if let Some(score) = score {
        let of = |place: usize| score.values[place].unwrap_or(f64::INFINITY);
        let breaks = |place: usize| !candidates[place].keeps;
        order.sort_by(|&a, &b| breaks(a).cmp(&breaks(b)).then(of(a).total_cmp(&of(b))));
    }
    Comparison {
        rows,
        order,
        common_hz,
        builds: made.unwrap_or(0),
        keeps: candidates.iter().map(|candidate| candidate.keeps).collect(),
    }
}

fn assessments<'a>(candidates: &'a [Contender<'_>]) -> impl Iterator<Item = &'a Assessment> {
    (candidates.iter()).filter_map(|candidate| candidate.check.assessment.as_ref().ok())
}

/// The band that all aims have in common, where they differ and have one.
fn common_band(candidates: &[Contender<'_>]) -> Option<[f64; 2]> {
    let bands: Vec<[f64; 2]> = assessments(candidates)
        .map(|assessed| [assessed.job.aim.from.0, assessed.job.aim.to.0])
        .collect();
    let same = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs();
    let first = bands.first()?;
    if bands
        .iter()
        .all(|band| same(band[0], first[0]) && same(band[1], first[1]))
    {
        return None;
    }
    let from_hz = bands.iter().map(|band| band[0]).fold(0.0, f64::max);
    let to_hz = bands
        .iter()
        .map(|band| band[1])
        .fold(f64::INFINITY, f64::min);
    (from_hz < to_hz).then_some([from_hz, to_hz])
}

fn row(
    figure: Figure,
    candidates: &[Contender<'_>],
    measured: &[Option<(ToleranceFigures, Vec<ToleranceFigures>)>],
    bands_differ: bool,
) -> Row {
    let values: Vec<Option<f64>> = (candidates.iter().zip(measured))
        .map(|(candidate, measured)| value(figure, candidate, measured.as_ref()))
        .collect();
    let asked_levels = assessments(candidates).any(|assessed| assessed.job.aim.level.is_some());
    let first = assessments(candidates)
        .next()
        .map(|first| (first.job.aim.tilt.0, first.job.aim.judged));
    // Another slope, or another place: not the same sum.
    let sums_differ = assessments(candidates).any(|assessed| {
        let aim = &assessed.job.aim;
        first.is_some_and(|(tilt, judged)| (aim.tilt.0 - tilt).abs() > 1e-9 || aim.judged != judged)
    });
    let comparable = match figure {
        Figure::Level => !asked_levels,
        Figure::CommonFlatness => !sums_differ,
        _ if figure.of_own_band() => !bands_differ && !sums_differ,
        _ => true,
    };
    let mut better = Vec::new();
    for is in 0..values.len() {
        for than in 0..values.len() {
            let (Some(a), Some(b)) = (values[is], values[than]) else {
                continue;
            };
            if is == than || !comparable || !beats(figure, a, b) {
                continue;
            }
            let share = match figure.decided_by() {
                DecidedBy::ByItself(grain) if (a - b).abs() > grain * a.abs().max(b.abs()) => 1.0,
                DecidedBy::ByItself(_) => 0.0,
                DecidedBy::ByBuilds => {
                    share(figure, measured[is].as_ref(), measured[than].as_ref())
                }
            };
            if share >= SURE {
                better.push(Better { is, than, share });
            }
        }
    }
    Row {
        figure,
        values,
        comparable,
        better,
    }
}

fn beats(figure: Figure, a: f64, b: f64) -> bool {
    if figure.more_is_better() {
        a > b
    } else {
        a < b
    }
}

/// In what share of the builds one is better than the other.
fn share(
    figure: Figure,
    is: Option<&(ToleranceFigures, Vec<ToleranceFigures>)>,
    than: Option<&(ToleranceFigures, Vec<ToleranceFigures>)>,
) -> f64 {
    let (Some((_, is)), Some((_, than))) = (is, than) else {
        return 0.0;
    };
    let pairs = is.iter().zip(than);
    let count = pairs.len();
    let better = pairs.filter(|(a, b)| match (a.value(figure), b.value(figure)) {
        (Some(a), Some(b)) => beats(figure, a, b),
        _ => false,
    });
    better.count() as f64 / count.max(1) as f64
}

/// A figure as `check` has it, where it has it.
fn value(
    figure: Figure,
    candidate: &Contender<'_>,
    measured: Option<&(ToleranceFigures, Vec<ToleranceFigures>)>,
) -> Option<f64> {
    let check = candidate.check;
    let figures = check
        .assessment
        .as_ref()
        .ok()
        .map(|assessed| &assessed.figures);
    let load = check.load.as_ref().map(|load| load.figures);
    match figure {
        Figure::Score | Figure::CommonFlatness => measured?.0.value(figure),
        Figure::Flatness => Some(figures?.rms_db),
        Figure::Farthest => Some(figures?.max_db),
        Figure::Ways => figures?.match_db.iter().copied().reduce(f64::max),
        Figure::Phases => (figures?.crossovers.iter())
            .map(|c| c.phase_match_deg)
            .reduce(f64::max),
        Figure::Level => Some(figures?.level_db),
        Figure::LeastLoad => Some(load?.least_ohm),
        Figure::LeastEpdr => Some(load?.least_epdr_ohm),
        Figure::Builds => Some(check.tolerance.as_ref().ok()?.all.within_db),
        Figure::Parts => Some(candidate.bill.parts as f64),
        Figure::Price => candidate.bill.price_of_pair,
        Figure::Copper => Some(candidate.bill.copper_of_pair_kg),
    }
}

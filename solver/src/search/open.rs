//! What a brief leaves open: crossover frequencies, slopes, how far a driver is set back. Quick designs along
//! one of these at a time, the others as they are best so far.

use netlist::project::{AlignmentPair, OpenFrequency, Project};
use netlist::quantity::{Hertz, Metres, Quantity};
use rayon::prelude::*;

use super::brief_error::BriefError;
use super::depth::alignment_choices;
use super::grow::{Effort, Fitted};
use super::job::Job;
use super::variant::{QUICK, SearchProgress, grow_variant};

/// One way to decide what is open.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Crossover frequencies, Hz.
    pub frequencies_hz: Vec<f64>,
    /// Slopes, one pair a crossover.
    pub alignments: Vec<AlignmentPair>,
    /// How far back the drivers that may be set back are, by name, m.
    pub backs_m: Vec<(String, f64)>,
    /// Error and parts together in the quick design, the less the better; infinite where it cannot be done.
    pub rank: f64,
}

impl Variant {
    fn same(&self, other: &Self) -> bool {
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(b.abs());
        self.alignments == other.alignments
            && (self.frequencies_hz.iter().zip(&other.frequencies_hz)).all(|(a, b)| close(*a, *b))
            && (self.backs_m.iter().zip(&other.backs_m)).all(|(a, b)| close(a.1, b.1))
    }

    /// The project with this decided.
    #[must_use]
    pub fn settled(&self, project: &Project) -> Project {
        let mut settled = project.clone();
        let crossovers = settled.crossovers.iter_mut();
        for ((crossover, &f_hz), &pair) in
            crossovers.zip(&self.frequencies_hz).zip(&self.alignments)
        {
            crossover.frequency = Hertz(f_hz);
            crossover.open = None;
            crossover.alignment = Some(pair);
        }
        for (name, back_m) in &self.backs_m {
            if let Some(driver) = settled.drivers.get_mut(name.as_str()) {
                driver.position.back = Metres(*back_m);
                driver.position.back_to = None;
            }
        }
        settled
    }
}

/// A brief with nothing open.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    pub(super) project: Project,
    pub(super) alignments: Vec<AlignmentPair>,
    /// What was tried, best first; empty where nothing was open.
    pub(super) variants: Vec<Variant>,
}

/// Steps along a range.
const STEPS: usize = 5;
/// Rounds through everything that is open.
const ROUNDS: usize = 2;
/// The least distance of a crossover above a resonance, as a ratio (common practice for compression drivers with
/// steep slopes).
const ABOVE_RESONANCE: f64 = 1.3;
/// Digits to which a frequency is stated: a hertz more or less cannot be heard.
const FREQUENCY_FIGURES: i32 = 3;

/// Decides what a brief leaves open.
pub(super) fn decide(
    project: &Project,
    stop: &(dyn Fn() -> bool + Sync),
    effort: &mut Effort,
    progress: &mut dyn FnMut(SearchProgress),
) -> Result<Decided, BriefError> {
    let job = Job::new(project)?;
    let choices = alignment_choices(&job);
    let frequencies = frequencies(project, &job);
    let backs = backs(project, &job);
    let open = choices.len() > 1
        || frequencies.iter().any(|list| list.len() > 1)
        || backs.iter().any(|(_, list)| list.len() > 1);
    let mut first = Variant {
        frequencies_hz: job.crossovers.iter().map(|c| c.frequency.si()).collect(),
        alignments: choices[0].clone(),
        backs_m: backs
            .iter()
            .map(|(name, list)| (name.clone(), list[0]))
            .collect(),
        rank: f64::INFINITY,
    };
    if !open {
        return Ok(Decided {
            project: first.settled(project),
            alignments: first.alignments,
            variants: Vec::new(),
        });
    }
    for (c, list) in frequencies.iter().enumerate() {
        first.frequencies_hz[c] = list[list.len() / 2];
    }
    let mut trials = VariantTrials {
        project,
        tried: Vec::new(),
        stop,
        effort,
        progress,
    };
    trials.rate(vec![first]);
    for round in 0..ROUNDS {
        trials.along_frequencies(&frequencies, round);
        let slopes = match round {
            0 => choices.clone(),
            _ => {
                let best = with_slopes_open(project, trials.best());
                alignment_choices(&Job::new(&best).unwrap_or(job.clone()))
            }
        };
        trials.along_slopes(slopes);
        trials.along_backs(&backs);
    }
    let best = trials.best();
    if !best.rank.is_finite() {
        // Says what stands against it.
        Job::new(&best.settled(project))?;
        return Err(BriefError::NothingFound);
    }
    Ok(Decided {
        project: best.settled(project),
        alignments: best.alignments.clone(),
        variants: (trials.tried.into_iter())
            .filter(|variant| variant.rank.is_finite())
            .collect(),
    })
}

/// What was tried, the best first, and with what more is.
struct VariantTrials<'a> {
    project: &'a Project,
    tried: Vec<Variant>,
    stop: &'a (dyn Fn() -> bool + Sync),
    effort: &'a mut Effort,
    progress: &'a mut dyn FnMut(SearchProgress),
}

impl VariantTrials<'_> {
    fn best(&self) -> &Variant {
        &self.tried[0]
    }

    /// One crossover at a time along its frequencies; from the second round on between the steps of the first.
    fn along_frequencies(&mut self, frequencies: &[Vec<f64>], round: usize) {
        let shift = 0.5f64.powi(round as i32 + 1);
        for (c, all) in frequencies.iter().enumerate() {
            let best = self.best().clone();
            let list = match round {
                0 => all.clone(),
                _ => between(all, best.frequencies_hz[c], shift),
            };
            let variants = list.into_iter().map(|f_hz| {
                let mut variant = best.clone();
                variant.frequencies_hz[c] = f_hz;
                variant
            });
            self.rate(variants.collect());
        }
    }

    fn along_slopes(&mut self, slopes: Vec<Vec<AlignmentPair>>) {
        let best = self.best().clone();
        let variants = slopes.into_iter().map(|alignments| Variant {
            alignments,
            ..best.clone()
        });
        self.rate(variants.collect());
    }

    /// One driver at a time along its set-backs.
    fn along_backs(&mut self, backs: &[(String, Vec<f64>)]) {
        for (b, (_, list)) in backs.iter().enumerate() {
            let best = self.best().clone();
            let variants = list.iter().map(|&back_m| {
                let mut variant = best.clone();
                variant.backs_m[b].1 = back_m;
                variant
            });
            self.rate(variants.collect());
        }
    }

    /// Rates those variants that are new, and keeps the list with the best first.
    fn rate(&mut self, variants: Vec<Variant>) {
        let mut fresh: Vec<Variant> = Vec::new();
        for variant in variants {
            if !self
                .tried
                .iter()
                .chain(&fresh)
                .any(|known| known.same(&variant))
            {
                fresh.push(variant);
            }
        }
        let (project, stop) = (self.project, self.stop);
        let must = self.tried.is_empty();
        let rated: Vec<Option<(f64, Effort)>> = fresh
            .par_iter()
            .map(|variant| {
                if !must && stop() {
                    return None;
                }
                let Ok(job) = Job::new(&variant.settled(project)) else {
                    return Some((f64::INFINITY, Effort::default()));
                };
                let (population, spent) =
                    grow_variant(&job, &variant.alignments, QUICK, stop, &mut |_| {});
                Some((population.best().map_or(f64::INFINITY, Fitted::rank), spent))
            })
            .collect();
        for (mut variant, rated) in fresh.into_iter().zip(rated) {
            let Some((rank, spent)) = rated else { continue };
            *self.effort += spent;
            variant.rank = rank;
            if rank.is_finite() {
                (self.progress)(SearchProgress::Variant {
                    frequencies_hz: variant.frequencies_hz.clone(),
                    alignments: variant.alignments.clone(),
                    rank,
                });
            }
            self.tried.push(variant);
        }
        self.tried.sort_by(|a, b| a.rank.total_cmp(&b.rank));
    }
}

/// The project at a variant's frequencies and set-backs, with slopes that are open still open.
fn with_slopes_open(project: &Project, variant: &Variant) -> Project {
    let mut settled = variant.settled(project);
    for (crossover, asked) in settled.crossovers.iter_mut().zip(&project.crossovers) {
        crossover.alignment = asked.alignment;
    }
    settled
}

/// Frequencies worth trying at each crossover; one where it is given.
fn frequencies(project: &Project, job: &Job) -> Vec<Vec<f64>> {
    (project.crossovers.iter().enumerate())
        .map(|(c, crossover)| match crossover.open {
            None => vec![crossover.frequency.si()],
            Some(OpenFrequency::Range([from, to])) => {
                // Within what both can do, where the range has some of it.
                let (able_from_hz, able_to_hz) = both_can(project, job, c);
                let (from_hz, to_hz) = (from.si().max(able_from_hz), to.si().min(able_to_hz));
                match from_hz < to_hz {
                    true => steps(from_hz, to_hz),
                    false => steps(from.si(), to.si()),
                }
            }
            Some(OpenFrequency::Auto) => {
                let (from_hz, to_hz) = both_can(project, job, c);
                match from_hz < to_hz {
                    true => steps(from_hz, to_hz),
                    // They do not meet: as near as can be.
                    false => vec![rounded((from_hz * to_hz).sqrt())],
                }
            }
        })
        .collect()
}

/// From where the upper driver of a crossover can play, and up to where the lower one can: by what the builder
/// says is usable, else by the resonance and the tables.
fn both_can(project: &Project, job: &Job, c: usize) -> (f64, f64) {
    let (lower, upper) = (&job.ways[c], &job.ways[c + 1]);
    let usable = |name: &str| project.drivers[name].usable;
    let above_resonance = upper
        .resonance_hz
        .map_or(job.aim.from.si(), |f| ABOVE_RESONANCE * f);
    let from_hz = usable(&upper.name).map_or(above_resonance, |[from, _]| {
        // A diaphragm below its resonance is in danger whatever is said to be usable.
        if upper.delicate {
            from.si().max(above_resonance)
        } else {
            from.si()
        }
    });
    let table_hz = lower.notes.iter().find_map(|note| match note {
        crate::load::Note::OutsideTable { table_to_hz, .. } => Some(*table_to_hz),
        _ => None,
    });
    let top_hz = job.aim.to.si() / 1.5;
    let to_hz = usable(&lower.name).map_or(top_hz, |[_, to]| to.si());
    (
        from_hz.max(1.5 * job.aim.from.si()),
        to_hz.min(table_hz.unwrap_or(f64::INFINITY)).min(top_hz),
    )
}

fn steps(from_hz: f64, to_hz: f64) -> Vec<f64> {
    let ratio = to_hz / from_hz;
    let last = (STEPS - 1) as f64;
    (0..STEPS)
        .map(|i| rounded(from_hz * ratio.powf(i as f64 / last)))
        .collect()
}

/// A step to either side of `f_hz`, `share` of those of the list, within its ends.
fn between(list: &[f64], f_hz: f64, share: f64) -> Vec<f64> {
    if list.len() < 2 {
        return vec![f_hz];
    }
    let (least, most) = (list[0], list[list.len() - 1]);
    let step = (list[1] / list[0]).powf(share);
    [f_hz / step, f_hz, f_hz * step]
        .into_iter()
        .map(|f| rounded(f.clamp(least, most)))
        .collect()
}

fn rounded(f_hz: f64) -> f64 {
    let scale = 10f64.powi(FREQUENCY_FIGURES - 1 - f_hz.log10().floor() as i32);
    (f_hz * scale).round() / scale
}

/// Drivers that may be set back, each with the depths worth trying.
fn backs(project: &Project, job: &Job) -> Vec<(String, Vec<f64>)> {
    job.ways
        .iter()
        .filter_map(|way| {
            let position = &project.drivers[way.name.as_str()].position;
            let to_m = position.back_to?.si();
            let from_m = position.back.si();
            let last = (STEPS - 1) as f64;
            let list = (0..STEPS).map(|i| {
                let back_m = from_m + (to_m - from_m) * i as f64 / last;
                // To the millimetre.
                (back_m * 1000.0).round() / 1000.0
            });
            Some((way.name.clone(), list.collect()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_keep_the_ends_and_are_stated_shortly() {
        let list = steps(450.0, 900.0);
        assert_eq!(list, [450.0, 535.0, 636.0, 757.0, 900.0]);
        let near = between(&list, 450.0, 0.5);
        assert!(near.iter().all(|f| (450.0..=900.0).contains(f)), "{near:?}");
        assert!(near[2] > 450.0 && near[2] < 535.0);
    }
}

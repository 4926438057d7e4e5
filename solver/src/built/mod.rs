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
//! | `bench` | the drawn loudspeaker and its sweeps, everything that may differ |
//! | `hypothesis` | every single mistake, and how often it happens |
//! | `screen` | their curves, all by the law of changed branches |
//! | `assembly` | a build with a mistake, solved |
//! | `evidence` | how well a curve explains a measurement |
//! | `fit` | one hypothesis fitted |
//! | `rank` | all of them in order |
//! | `named` | a found value by the name of the mistake that makes it |

mod assembly;
mod bench;
mod driver;
mod evidence;
mod fit;
mod hypothesis;
mod measurement;
mod named;
mod rank;
mod screen;

use netlist::project::Project;
use serde::Serialize;

pub use hypothesis::{Change, Kind};
pub use measurement::{LEAST_POINTS, Sweep, SweepError};

use crate::nodal::PlanError;
use bench::{Bench, Target};
use rank::{Candidate, Ranking, SAME_LN, rank};

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
    pub kind: Kind,
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
    pub changes: Vec<Change>,
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
    Ok(Some(told(project, &bench, &ranking)))
}

/// A ranking in words, what cannot be told apart together.
fn told(project: &Project, bench: &Bench, ranking: &Ranking) -> Built {
    let mut left: Vec<&Candidate> = ranking.candidates.iter().collect();
    let (mut as_designed, mut unseen) = (0.0, Vec::new());
    let mut hypotheses = Vec::new();
    while !left.is_empty() {
        let first = left.remove(0);
        let near = |other: &&Candidate| other.ln_likelihood > first.ln_likelihood - SAME_LN;
        let (same, rest): (Vec<&Candidate>, Vec<&Candidate>) = left.into_iter().partition(near);
        left = rest;
        let mut group = vec![first];
        group.extend(same);
        let share: f64 = group.iter().map(|candidate| candidate.share).sum();
        let drawn = group.iter().any(|candidate| candidate.changes.is_empty());
        let words = |candidate: &&Candidate| mistake(project, bench, &candidate.changes);
        if drawn && first.changes.is_empty() {
            as_designed = share;
            unseen = group[1..].iter().map(words).collect();
            continue;
        }
        if drawn {
            // A mistake as good as the drawing is told, but the drawing keeps its own share.
            as_designed = group
                .iter()
                .filter(|c| c.changes.is_empty())
                .map(|c| c.share)
                .sum();
            group.retain(|candidate| !candidate.changes.is_empty());
        }
        hypotheses.push(Hypothesis {
            mistake: words(&group[0]),
            share: if drawn { share - as_designed } else { share },
            same: group[1..].iter().map(words).collect(),
            changes: group[0].changes.clone(),
        });
    }
    Built {
        measurement: measurement(bench, ranking),
        as_designed,
        unseen,
        something_else: ranking.something_else,
        hypotheses,
    }
}

fn measurement(bench: &Bench, ranking: &Ranking) -> Measurement {
    let best = ranking
        .candidates
        .first()
        .map(|candidate| &ranking.fits[candidate.fit]);
    let found = |target: Target| {
        let place = bench.drift.iter().position(|drift| drift.target == target);
        let (place, best) = (place.unwrap_or_default(), best);
        best.map_or(0.0, |fit| {
            bench.drift[place].mean + fit.sigma[place] * fit.u[place]
        })
    };
    let ends = bench.sets.iter().map(|set| {
        let f_hz = set.grid.f_hz();
        (f_hz[0], f_hz[f_hz.len() - 1])
    });
    let (from_hz, to_hz) = ends.fold((0.0f64, f64::INFINITY), |all, ends| {
        (all.0.max(ends.0), all.1.min(ends.1))
    });
    Measurement {
        from_hz,
        to_hz,
        noise_share: ranking.noise,
        leads_ohm: found(Target::Leads),
        scale: found(Target::Scale).exp(),
    }
}

/// Changes in words.
fn mistake(project: &Project, bench: &Bench, changes: &[Change]) -> Mistake {
    let network = &bench.network;
    let name = |part: usize| {
        network
            .parts()
            .get_index(part)
            .map_or("", |(name, _)| name)
            .to_owned()
    };
    let node = |node: usize| network.node_names().nth(node).unwrap_or("").to_owned();
    let mut mistake = Mistake {
        kind: Kind::Two,
        parts: (changes.iter())
            .flat_map(|change| change.parts())
            .map(name)
            .collect(),
        between: None,
        found_si: None,
        named: String::new(),
    };
    if let [change] = changes {
        mistake.kind = change.kind();
        match *change {
            Change::Move(_, to) => mistake.between = Some(to.map(node)),
            Change::Value(_, x) | Change::Loss(_, x) | Change::Impedance(_, x) => {
                mistake.found_si = Some(x);
            }
            _ => {}
        }
    }
    let said: Vec<String> = changes
        .iter()
        .map(|change| say(project, bench, *change))
        .collect();
    mistake.named = said.join(", and ");
    mistake
}

/// One change in words.
fn say(project: &Project, bench: &Bench, change: Change) -> String {
    let network = &bench.network;
    let parts = network.parts();
    let name = |part: usize| parts.get_index(part).map_or("", |(name, _)| name.as_str());
    let driver = |part: usize| bench.driver_of[part].is_some();
    let node = |node: usize| network.node_names().nth(node).unwrap_or("").to_owned();
    match change {
        Change::Open(part) if driver(part) => {
            format!("{} is not connected, or its voice coil is dead", name(part))
        }
        Change::Open(part) => format!(
            "{} carries no current: a joint, a wire, or the part",
            name(part)
        ),
        Change::Short(part) => format!("{} is bridged", name(part)),
        Change::Value(part, value) => {
            let drawn = bench.values.value[part];
            let words = named::words(&parts[part].kind, &project.stock, drawn, value);
            format!("{} is {words}", name(part))
        }
        Change::Loss(part, ohm) => {
            let drawn = bench.values.loss[part];
            let why = if ohm > drawn {
                "thinner wire"
            } else {
                "thicker wire, or a core"
            };
            format!(
                "the wire of {} has about {ohm:.2} ohm where the drawing has {drawn:.2} ohm: {why}",
                name(part)
            )
        }
        Change::Impedance(part, factor) => format!(
            "{} has about {factor:.2} times the impedance of its data: another version of the driver",
            name(part)
        ),
        Change::Exchange(one, other) => format!(
            "{} and {} are in each other's place",
            name(one),
            name(other)
        ),
        Change::Move(part, to) => {
            let drawn = parts[part]
                .kind
                .between()
                .unwrap_or_default()
                .map(|n| node(n.0));
            let to = to.map(node);
            format!(
                "{} lies between {} and {}, not between {} and {}",
                name(part),
                to[0],
                to[1],
                drawn[0],
                drawn[1]
            )
        }
    }
}

//! The order of hypotheses in words, what cannot be told apart together.

use netlist::project::{Project, Source};
use netlist::quantity::Hertz;

use super::assembly::{Assembly, AssemblyCurve};
use super::bench::{Bench, Target};
use super::hypothesis::{BuiltChange, MistakeKind};
use super::named;
use super::rank::{RankedBuild, Ranking, SAME_LN};
use super::{Built, Hypothesis, Measurement, Mistake, SweepCurves};

/// A ranking in words, what cannot be told apart together.
pub(super) fn told(project: &Project, bench: &Bench, ranking: &Ranking) -> Built {
    // What is not explained makes all of it less sure.
    let apart = SAME_LN * ranking.reduced.clamp(1.0, 4.0);
    let mut left: Vec<&RankedBuild> = ranking.candidates.iter().collect();
    let (mut as_designed, mut unseen) = (0.0, Vec::new());
    let mut hypotheses = Vec::new();
    while !left.is_empty() {
        let first = left.remove(0);
        let near = |other: &&RankedBuild| other.ln_fit > first.ln_fit - apart;
        let (same, rest): (Vec<&RankedBuild>, Vec<&RankedBuild>) = left.into_iter().partition(near);
        left = rest;
        let mut group = vec![first];
        group.extend(same);
        let share: f64 = group.iter().map(|candidate| candidate.share).sum();
        let drawn = group.iter().any(|candidate| candidate.changes.is_empty());
        let words = |candidate: &&RankedBuild| mistake(project, bench, &candidate.changes);
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
    // What looks the same has its shares together: a group may be likelier than one with a likelier first.
    hypotheses.sort_by(|a: &Hypothesis, b| b.share.total_cmp(&a.share));
    Built {
        measurement: measurement(bench, ranking),
        as_designed,
        unseen,
        something_else: ranking.something_else,
        hypotheses,
        next: Vec::new(),
        findings: Vec::new(),
        curves: curves(bench, ranking),
    }
}

/// Each sweep with the drawn curve and the fitted one.
fn curves(bench: &Bench, ranking: &Ranking) -> Vec<SweepCurves> {
    let best = (ranking.candidates.first()).and_then(|first| ranking.fits.get(first.fit));
    let (none, sigma) = (vec![0.0; bench.drift.len()], bench.sigmas());
    let drawn = Assembly::new(bench, &[]).ok();
    let ohm = |curve: Option<&AssemblyCurve>| -> Vec<f64> {
        curve.map_or(Vec::new(), |curve| {
            curve.ln_z.iter().map(|ln_z| ln_z.re.exp()).collect()
        })
    };
    (bench.sets.iter().enumerate())
        .map(|(number, set)| {
            let drawn = drawn
                .as_ref()
                .and_then(|drawn| drawn.curve(bench, set, &none, &sigma));
            SweepCurves {
                f_hz: set.grid.f_hz().to_vec(),
                measured_ohm: set.ln_ohm.iter().map(|ln| ln.exp()).collect(),
                designed_ohm: ohm(drawn.as_ref()),
                best_ohm: ohm(best.and_then(|fit| fit.curves.get(number))),
            }
        })
        .collect()
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
fn mistake(project: &Project, bench: &Bench, changes: &[BuiltChange]) -> Mistake {
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
        kind: MistakeKind::Two,
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
            BuiltChange::Move(_, to) => mistake.between = Some(to.map(node)),
            BuiltChange::Value(_, x) | BuiltChange::Loss(_, x) | BuiltChange::Impedance(_, x) => {
                mistake.found_si = Some(x);
            }
            BuiltChange::Tuning(part, factor) => {
                mistake.found_si = tuning(project, bench, part).map(|f_hz| f_hz * factor);
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

/// A box tuned so many times as high is one without a vent.
const STOPPED: f64 = 0.5;

/// Frequency to which the box of a driver is drawn to be tuned, Hz.
fn tuning(project: &Project, bench: &Bench, part: usize) -> Option<f64> {
    let name = &bench.plan.drivers()[bench.driver_of[part]?];
    match &project.drivers[name.as_str()].source {
        Source::Cone(cone) => Some(cone.enclosure?.tuning?.0),
        _ => None,
    }
}

/// One change in words.
fn say(project: &Project, bench: &Bench, change: BuiltChange) -> String {
    let network = &bench.network;
    let parts = network.parts();
    let name = |part: usize| parts.get_index(part).map_or("", |(name, _)| name.as_str());
    let driver = |part: usize| bench.driver_of[part].is_some();
    let node = |node: usize| network.node_names().nth(node).unwrap_or("").to_owned();
    match change {
        BuiltChange::Open(part) if driver(part) => {
            format!("{} is not connected, or its voice coil is dead", name(part))
        }
        BuiltChange::Open(part) => format!(
            "{} carries no current: a joint, a wire, or the part",
            name(part)
        ),
        BuiltChange::Short(part) => format!("{} is bridged", name(part)),
        BuiltChange::Value(part, value) => {
            let drawn = (bench.values.value[part], bench.tolerance[part]);
            let words = named::words(&parts[part].kind, &project.stock, drawn, value);
            format!("{} is {words}", name(part))
        }
        BuiltChange::Loss(part, ohm) => {
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
        BuiltChange::Impedance(part, factor) => format!(
            "{} has about {factor:.2} times the impedance of its data: another version of the driver",
            name(part)
        ),
        BuiltChange::Tuning(part, factor) => {
            let drawn_hz = tuning(project, bench, part).unwrap_or_default();
            if factor < STOPPED {
                return format!(
                    "the box of {} is as good as closed where the drawing has a vent tuned to {:.3}: look whether it is stopped",
                    name(part),
                    Hertz(drawn_hz)
                );
            }
            format!(
                "the box of {} is tuned to about {:.2} where the drawing has {:.3}: look at the vent",
                name(part),
                Hertz(drawn_hz * factor),
                Hertz(drawn_hz)
            )
        }
        BuiltChange::Exchange(one, other) => format!(
            "{} and {} are in each other's place",
            name(one),
            name(other)
        ),
        BuiltChange::Move(part, to) => {
            let drawn = parts[part]
                .kind
                .between()
                .unwrap_or_default()
                .map(|n| node(n.0));
            let to = to.map(node);
            if drawn[0] == to[1] && drawn[1] == to[0] {
                return format!(
                    "{} is turned end for end, and with it its coupling",
                    name(part)
                );
            }
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

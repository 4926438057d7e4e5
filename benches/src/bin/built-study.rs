//! Planted mistakes: how often `built` names the one that is there.
//!
//!     cargo run --release -p benches --bin built-study            # the demo and 30 random loudspeakers
//!     cargo run --release -p benches --bin built-study -- 5 20    # 5 of them, every 20th mistake
//!     cargo run --release -p benches --bin built-study -- 30 6 1000 designed    # other seeds, designed by the search
//!
//! Prints the shares that are asked for and every case that was missed.

use std::io::Write;
use std::time::Instant;

use benches::random_brief::random_brief;
use netlist::project::Project;
use rayon::prelude::*;
use solver::built::{Built, BuiltOptions, MistakeKind, Sweep, built};
use solver::search::{DesignSettings, design};
use tests::planted::{Dice, Planted, mistakes, sweep, wrong_boxes};
use tests::random_loudspeaker::{random_loudspeaker, wound_loudspeaker};
use tests::verdict::Verdict;

const POINTS: usize = 500;
/// Sound builds of each loudspeaker.
const SOUND: usize = 12;

struct Case {
    speaker: usize,
    planted: Option<Planted>,
    verdict: Verdict,
    first: String,
}

fn main() -> std::io::Result<()> {
    let number = |k: usize, or: usize| {
        std::env::args()
            .nth(k)
            .and_then(|a| a.parse().ok())
            .unwrap_or(or)
    };
    let (count, every) = (number(1, 30), number(2, 6));
    let offset = number(3, 0) as u64;
    let designed = std::env::args().any(|arg| arg == "designed");
    let mut speakers = vec![demo(), wound_loudspeaker()];
    speakers.extend((0..count as u64).map(|seed| match designed {
        true => designed_loudspeaker(seed + offset),
        false => random_loudspeaker(seed + offset),
    }));
    let out = &mut std::io::stdout().lock();
    let started = Instant::now();
    let mut cases = Vec::new();
    let mut seconds = 0.0;
    for (speaker, project) in speakers.iter().enumerate() {
        for (planted, sweep) in sweeps(project, (speaker, every), offset) {
            let begun = Instant::now();
            let found = built(project, &[sweep], &BuiltOptions::default());
            let found = found
                .expect("a network that can be solved")
                .expect("a design");
            seconds += begun.elapsed().as_secs_f64();
            let case = case(speaker, planted, &found);
            if case.verdict.place != Some(0) {
                missed(&case, out)?;
            }
            cases.push(case);
        }
    }
    summary(&cases, out)?;
    writeln!(
        out,
        "{:.3} s a sweep of {POINTS} points; {:.0} s in all",
        seconds / cases.len() as f64,
        started.elapsed().as_secs_f64()
    )
}

/// Every so-manyth mistake of a loudspeaker, and sound builds, each with its sweep.
fn sweeps(
    project: &Project,
    (speaker, every): (usize, usize),
    offset: u64,
) -> Vec<(Option<Planted>, Sweep)> {
    let network = project.network.as_ref().expect("a design");
    let mut dice = Dice::new(1000 + speaker as u64 + offset);
    let mut all = mistakes(network, &mut dice, 2);
    all.extend(wrong_boxes(project, &mut dice));
    let some = all.into_iter().skip(speaker % every).step_by(every);
    let mut todo: Vec<Option<Planted>> = some.map(Some).collect();
    todo.extend((0..SOUND).map(|_| None));
    (todo.into_par_iter().enumerate())
        .map(|(k, planted)| {
            let mut dice = Dice::new((speaker * 10_000 + k) as u64 + offset);
            let found = sweep(project, planted.as_ref(), POINTS, &mut dice);
            (planted, found)
        })
        .collect()
}

fn case(speaker: usize, planted: Option<Planted>, found: &Built) -> Case {
    let first = match found.hypotheses.first() {
        Some(first) => format!(
            "{} {:.2}; as drawn {:.2}; else {:.2}",
            first.mistake.named, first.share, found.as_designed, found.something_else
        ),
        None => format!("as drawn {:.2}", found.as_designed),
    };
    Case {
        speaker,
        verdict: Verdict::new(found, planted.as_ref()),
        planted,
        first,
    }
}

fn missed(case: &Case, out: &mut dyn Write) -> std::io::Result<()> {
    let planted = match &case.planted {
        Some(planted) => format!(
            "{:?} of {} {:?} {:?}",
            planted.kind,
            planted.parts.join(" and "),
            planted.value_si,
            planted.between
        ),
        None => "sound".to_owned(),
    };
    writeln!(
        out,
        "loudspeaker {}, {planted}, in place {:?}: {}",
        case.speaker, case.verdict.place, case.first
    )
}

fn summary(cases: &[Case], out: &mut dyn Write) -> std::io::Result<()> {
    let kinds = [
        MistakeKind::Open,
        MistakeKind::Shorted,
        MistakeKind::Value,
        MistakeKind::Resistance,
        MistakeKind::Exchanged,
        MistakeKind::Misplaced,
        MistakeKind::Tuning,
    ];
    let line = |name: String, of: Vec<&Case>, out: &mut dyn Write| {
        let share = |count: usize| 100.0 * count as f64 / of.len().max(1) as f64;
        let within = |places: usize| {
            of.iter()
                .filter(|c| c.verdict.place.is_some_and(|p| p < places))
                .count()
        };
        let wrong = of
            .iter()
            .filter(|c| c.verdict.sure && c.verdict.place != Some(0))
            .count();
        let sound = of.iter().filter(|c| c.verdict.sound).count();
        let group = of.iter().map(|c| c.verdict.group as f64).sum::<f64>() / of.len().max(1) as f64;
        writeln!(
            out,
            "{name:<12} {:5} cases: first {:5.1} %, in three {:5.1} %, surely wrong {:4.2} %, as drawn {:5.1} %, group of {group:.1}",
            of.len(),
            share(within(1)),
            share(within(3)),
            share(wrong),
            share(sound)
        )
    };
    for kind in kinds {
        let of = cases
            .iter()
            .filter(|c| c.planted.as_ref().is_some_and(|p| p.kind == kind))
            .collect();
        line(format!("{kind:?}"), of, out)?;
    }
    line(
        "planted".to_owned(),
        cases.iter().filter(|c| c.planted.is_some()).collect(),
        out,
    )?;
    line(
        "sound".to_owned(),
        cases.iter().filter(|c| c.planted.is_none()).collect(),
        out,
    )
}

/// A random brief with the network that a quick search finds for it.
fn designed_loudspeaker(seed: u64) -> Project {
    let mut project = random_brief(seed);
    let settings = DesignSettings {
        quick: true,
        ..DesignSettings::default()
    };
    let found = design(&project, settings, &|| false, &mut |_| {}).expect("a network");
    project.network = Some(found.proposals[found.chosen].snapped.network.clone());
    project
}

/// The demo's network with its tables.
fn demo() -> Project {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo");
    let loaded = netlist::project::load(&folder.join("network.toml"));
    loaded.expect("the demo is well").project
}

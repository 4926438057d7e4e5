//! `handover snap`: the same network with values that can be bought.

mod compared;
mod document;
mod screen;

use std::io::Write;
use std::path::PathBuf;
use std::sync::atomic::Ordering;

use netlist::network::Network;
use netlist::project::{Project, StockKind};
use solver::goal::{Figures, LoadFigures};
use solver::judge::check::{Assessment, assess, in_order_of_ways};
use solver::judge::{Finding, load_findings};
use solver::search::{
    AudioLoads, SnapGoal, SnapMerit, SnapSettings, Snapped, SoundChange, audio_loads, judge,
    snap_network, with_free_values,
};

use document::SnapDocument;

use super::open;
use crate::args::SnapArguments;
use crate::failure::Failure;
use crate::interrupt;
use crate::project_file::{Asked, ProjectFile};

/// A network with what it does.
struct Judged {
    figures: Figures,
    load: LoadFigures,
    /// Change against the file; `None` of the file itself.
    change: Option<SoundChange>,
    /// Price of all parts; `None` where one has none.
    price: Option<f64>,
    /// Parts that are bought, those kept as they are not counted.
    pieces: Option<u32>,
}

/// Everything that the screen and the document show.
struct Shown<'a> {
    project: &'a Project,
    network: &'a Network,
    assessment: &'a Assessment,
    snapped: &'a Snapped,
    goal: SnapGoal,
    /// What the builder must know of the choice.
    findings: Vec<Finding>,
    window: u32,
    seconds: f64,
    before: Judged,
    nearest: Judged,
    /// The picked network with the values that suit it best, whatever can be bought: what is left to
    /// gain. Only against the aim; against the file's own curves that is the file.
    free: Option<Judged>,
    /// The choice, then the alternatives.
    offers: Vec<(Option<SnapMerit>, Judged)>,
    pick: usize,
    target: Option<PathBuf>,
}

/// How much worse a cheaper choice may be, dB.
const AS_GOOD_DB: f64 = 0.2;

pub(crate) fn run(
    args: &SnapArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), Failure> {
    let mut loaded = open(&args.source, "network.toml")?;
    let file = loaded.path.display().to_string();
    let unusable = |message: &dyn std::fmt::Display, help: &str| Failure::Unusable {
        message: format!("{file}: {message}"),
        help: help.to_owned(),
    };
    let asked_for = Asked {
        output: args.output.as_ref(),
        force: args.force,
        json: args.json,
        page: false,
        added: "snapped",
    };
    let target = ProjectFile::new(&asked_for, &args.source, &loaded)?;
    if let Some(series) = args.series {
        of_series(&mut loaded.project, series);
    }
    let project = &loaded.project;
    let Some(network) = &project.network else {
        return Err(unusable(
            &"it has no [parts], so there is nothing to move onto the stock",
            "make a design of it first: handover design FILE",
        ));
    };
    let started = std::time::Instant::now();
    let assessment = assess(project, network).map_err(|error| {
        unusable(
            &error,
            "complete the project: every driver of a crossover is fed by one part of the network",
        )
    })?;
    let job = &assessment.job;
    let targets = job.targets(&assessment.alignments);
    let goal = match args.to_aim {
        true => SnapGoal::Aim,
        false => SnapGoal::LeastChange,
    };
    let settings = SnapSettings {
        goal,
        window: args.window as usize,
        budget: args.budget,
        seed: args.seed,
        ..SnapSettings::default()
    };
    let level_db = assessment.figures.level_db;
    let stop = interrupt::flag();
    let asked = || stop.load(Ordering::Relaxed);
    if interrupt::someone_watches() {
        writeln!(err, "searching among the values of the stock ...")?;
    }
    let mut snapped = snap_network(job, &targets, network, level_db, settings, &asked)
        .map_err(|error| unusable(&error, "change the parts named above"))?;
    if snapped.parts.is_empty() {
        return Err(unusable(
            &"no part of it can be moved: all are fixed, or the stock has nothing of their kinds",
            "leave fixed = true away, or add to [stock] what can be bought",
        ));
    }
    let seconds = started.elapsed().as_secs_f64();
    let audio = audio_loads(project);
    let before = network;
    let judged = |network: &Network, price: Option<f64>, pieces: Option<u32>| {
        let ordered = in_order_of_ways(job, network);
        let change = SoundChange::new(job, &targets, level_db, [before, network]).ok();
        figures(&assessment, &ordered, &audio)
            .map(|(figures, load)| Judged {
                figures,
                load,
                change: change.filter(|_| pieces.is_some()),
                price,
                pieces,
            })
            .ok_or_else(|| unusable(&"the network cannot be judged", "look at its parts"))
    };
    if !snapped.best.cost.is_finite() {
        return Err(unusable(
            &"the stock does not hold enough parts for this network, or they cost more than --budget",
            "raise the counts in the catalogue, list more values, look farther with --window, or spend more",
        ));
    }
    // Cheaper is an alternative where the ear hardly knows: within 0.2 dB in flatness and every match.
    let known = judged(&snapped.best.network, None, None)?.figures;
    let mut still_good = Vec::new();
    for (merit, other) in std::mem::take(&mut snapped.alternatives) {
        let figures = judged(&other.network, None, None)?.figures;
        let mut pairs = figures.match_db.iter().zip(&known.match_db);
        let near = figures.rms_db <= known.rms_db + AS_GOOD_DB
            && pairs.all(|(other, best)| *other <= best + AS_GOOD_DB);
        if merit != SnapMerit::Cheapest || near {
            still_good.push((merit, other));
        }
    }
    snapped.alternatives = still_good;
    let mut offers = Vec::new();
    let best = (None, &snapped.best);
    let others = snapped
        .alternatives
        .iter()
        .map(|(merit, other)| (Some(*merit), other));
    for (merit, selection) in std::iter::once(best).chain(others) {
        let judged = judged(&selection.network, selection.price, Some(selection.pieces))?;
        offers.push((merit, judged));
    }
    let pick = args.pick as usize;
    let taken = match pick {
        1 => Some(&snapped.best),
        _ => snapped.alternatives.get(pick - 2).map(|(_, other)| other),
    };
    let Some(taken) = taken else {
        return Err(Failure::Unusable {
            message: format!("--pick {pick}, but there are {} choices", offers.len()),
            help: format!("pick 1 to {}", offers.len()),
        });
    };
    let nearest = &snapped.nearest;
    let findings = load_findings(job, &offers[pick - 1].1.load);
    let free = match goal {
        SnapGoal::Aim => {
            let ordered = in_order_of_ways(job, &taken.network);
            with_free_values(job, &targets, &ordered, taken.level_db)
        }
        SnapGoal::LeastChange => None,
    };
    let shown = Shown {
        free: free.and_then(|network| judged(&network, None, None).ok()),
        project,
        network,
        assessment: &assessment,
        snapped: &snapped,
        goal,
        findings,
        window: args.window,
        seconds,
        before: judged(network, None, None)?,
        nearest: judged(&nearest.network, nearest.price, Some(nearest.pieces))?,
        offers,
        pick,
        target: target.as_ref().map(|target| target.path.clone()),
    };
    let text = match &target {
        Some(target) => Some(target.text(&args.source, &loaded, &taken.network, None)?),
        None => None,
    };
    if target.as_ref().is_some_and(ProjectFile::is_stdout) {
        // The design is what is asked for there.
    } else if args.json {
        crate::document::write(&SnapDocument::new(&shown), out)?;
    } else {
        screen::print(&shown, out)?;
    }
    if let (Some(target), Some(text)) = (&target, &text) {
        target.write(text, None, "snapped design", out, err)?;
    }
    Ok(())
}

fn figures(
    assessment: &Assessment,
    network: &Network,
    audio: &AudioLoads,
) -> Option<(Figures, LoadFigures)> {
    let targets = assessment.job.targets(&assessment.alignments);
    judge(&assessment.job, network, &targets, audio)
}

/// All values from one series, the rest of the stock as it is said.
fn of_series(project: &mut Project, series: netlist::series::Series) {
    let stock = &mut project.stock;
    stock.catalogue.clear();
    for kind in [
        StockKind::Capacitor,
        StockKind::Inductor,
        StockKind::Resistor,
    ] {
        let mut range = stock.range(kind);
        range.series = series;
        let said = match kind {
            StockKind::Capacitor => &mut stock.capacitors,
            StockKind::Inductor => &mut stock.inductors,
            StockKind::Resistor => &mut stock.resistors,
        };
        *said = Some(range);
    }
}

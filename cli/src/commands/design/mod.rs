//! `handover design`: from a brief to a network.

mod document;
mod page;
mod screen;
mod trade_off;

use std::io::Write;
use std::sync::atomic::Ordering;

use netlist::project::{Project, Settled};
use netlist::quantity::Metres;
use solver::compare::{WishContext, WishCost, wish_costs};
use solver::judge::centres::{Centres, centres};
use solver::judge::{Finding, brief_findings, design_findings, sort_findings};
use solver::search::{BriefError, Job, Outcome, Proposal, SearchProgress, design};

use document::DesignDocument;

use super::open;
use crate::args::DesignArguments;
use crate::failure::Failure;
use crate::findings::{Danger, danger};
use crate::interrupt;
use crate::progress;
use crate::project_file::{Asked, ProjectFile};

/// A design that was made, as it is shown.
struct Designed<'a> {
    project: &'a Project,
    outcome: &'a Outcome,
    /// Number of the alternative that is taken, from 1.
    pick: usize,
    /// Where the drivers are heard from.
    centres: &'a Centres,
    findings: &'a [Finding],
    /// What each wish costs.
    costs: &'a [WishCost],
    seconds: f64,
    /// Notes too.
    full: bool,
}

impl<'a> Designed<'a> {
    /// The network that is taken.
    fn taken(&self) -> &'a Proposal {
        &self.outcome.proposals[self.pick - 1]
    }
}

pub(crate) fn run(
    args: &DesignArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "brief.toml")?;
    let asked_for = Asked {
        output: args.output.as_ref(),
        force: args.force,
        json: args.json,
        page: true,
        added: "design",
    };
    let target = ProjectFile::new(&asked_for, &args.source, &loaded)?;
    let file = loaded.path.display().to_string();
    let unusable = |error: BriefError| Failure::Unusable {
        message: format!("{file}: {error}"),
        help: "change the brief as said above; see the README for what a brief holds".to_owned(),
    };
    let started = std::time::Instant::now();
    // Mistakes first, before the work.
    Job::new(&loaded.project).map_err(unusable)?;
    let outcome = search(args, &loaded.project, started, err).map_err(unusable)?;
    let seconds = started.elapsed().as_secs_f64();
    let pick = picked(args, &outcome, err)?;
    let proposal = &outcome.proposals[pick - 1];
    let project = Project {
        network: Some(proposal.snapped.network.clone()),
        ..outcome.project.clone()
    };
    let centres = centres(&outcome.job, &outcome.alignments);
    let mut findings = brief_findings(&outcome.project, &outcome.job);
    findings.extend(design_findings(
        &project,
        &outcome.job,
        &centres.depths,
        &proposal.figures,
        &proposal.load,
    ));
    sort_findings(&mut findings);
    let costs = costs(&outcome, pick, args.full);
    let danger = danger(&findings);

    let designed = Designed {
        project: &outcome.project,
        outcome: &outcome,
        pick,
        centres: &centres,
        findings: &findings,
        costs: &costs,
        seconds,
        full: args.full,
    };

    // All of it is worked out before any of it is written.
    let files = match &target {
        Some(target) => {
            let written = if args.ideal {
                &proposal.ideal.network
            } else {
                &proposal.snapped.network
            };
            let settled = settled(&outcome);
            let text = target.text(&args.source, &loaded, written, settled.as_ref())?;
            let page = page::page(args, &loaded, &designed, &target.path, &text)?;
            Some((target, text, page))
        }
        None => None,
    };
    let design_file = target.as_ref().map(|target| target.path.as_path());
    if target.as_ref().is_some_and(ProjectFile::is_stdout) {
        // The design is what is asked for there.
    } else if args.json {
        crate::document::write(&DesignDocument::new(&designed, design_file), out)?;
    } else {
        designed.print(out)?;
    }
    if outcome.interrupted {
        writeln!(err, "ended early: this is the best found until then")?;
    }
    if let Some((target, text, page)) = &files {
        target.write(text, Some(page), "design", out, err)?;
    }
    Ok(danger)
}

fn search(
    args: &DesignArguments,
    project: &Project,
    started: std::time::Instant,
    err: &mut dyn Write,
) -> Result<Outcome, BriefError> {
    let stop = interrupt::flag();
    let asked = || stop.load(Ordering::Relaxed);
    let settings = args.search.settings();
    let quiet = !interrupt::someone_watches();
    let mut last = f64::NEG_INFINITY;
    let mut progress = |step: SearchProgress| {
        let seconds = started.elapsed().as_secs_f64();
        // Growing tells of itself many times a second.
        let often = matches!(step, SearchProgress::Growing { .. }) && seconds < last + 0.5;
        if !quiet && !often {
            last = seconds;
            let _ = writeln!(err, "{seconds:5.1} s  {}", progress::words(&step));
        }
    };
    design(project, settings, &asked, &mut progress)
}

/// What each wish costs the network that is taken; with `search` by new searches too.
fn costs(outcome: &Outcome, pick: usize, search: bool) -> Vec<WishCost> {
    let chosen = &outcome.proposals[pick - 1];
    let stop = interrupt::flag();
    let context = WishContext {
        job: &outcome.job,
        alignments: &outcome.alignments,
        audio: &outcome.audio,
        network: &chosen.ideal.network,
        level_db: chosen.ideal.level_db,
        trade_off: Some((&outcome.proposals, pick - 1)),
    };
    wish_costs(&context, search, &|| stop.load(Ordering::Relaxed))
}

/// What the brief left open, as it was decided.
fn settled(outcome: &Outcome) -> Option<Settled> {
    let decided = outcome.variants.first()?;
    let crossovers = outcome.job.crossovers.iter().zip(&outcome.alignments);
    Some(Settled {
        crossovers: crossovers.map(|(c, &pair)| (c.frequency, pair)).collect(),
        backs: (decided.backs_m.iter())
            .map(|(name, back_m)| (name.clone(), Metres(*back_m)))
            .collect(),
    })
}

/// The number of the alternative that is taken, from 1.
fn picked(
    args: &DesignArguments,
    outcome: &Outcome,
    err: &mut dyn Write,
) -> Result<usize, Failure> {
    let there_are = outcome.proposals.len();
    let chosen = outcome.chosen + 1;
    match args.pick.map(|pick| pick as usize) {
        None => Ok(chosen),
        // The search is done, and its best is worth more than a refusal.
        Some(beyond) if beyond > there_are => {
            writeln!(
                err,
                "--pick {beyond}, but there are {there_are} alternatives: {chosen} is taken; pick 1 to {there_are}"
            )?;
            Ok(chosen)
        }
        Some(pick) => Ok(pick),
    }
}

//! `handover design`: from a brief to a network.

mod document;
mod page;
mod screen;
mod trade_off;

use std::io::Write;

use netlist::project::{Project, Settled};
use netlist::quantity::Metres;
use solver::compare::{WishContext, WishCost, wish_costs};
use solver::judge::centres::{Centres, centres};
use solver::judge::{Finding, brief_findings, design_findings, sort_findings};
use solver::search::{BriefError, Job, Outcome, Proposal, SearchProgress, design};

use document::DesignDocument;

use super::{open, picked};
use crate::args::DesignArguments;
use crate::failure::Failure;
use crate::findings::{Danger, danger};
use crate::interrupt;
use crate::progress::{self, Teller};
use crate::project_file::{OutputRequest, ProjectFile};

/// A design that was made, as it is shown.
struct Designed<'a> {
    /// As it was given, what is left open still open.
    brief: &'a Project,
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
    let asked_for = OutputRequest {
        output: args.output.as_ref(),
        force: args.force,
        json: args.json,
        page: true,
        added: "design",
    };
    let target = ProjectFile::new(&asked_for, &args.source, &loaded)?;
    let file = loaded.path.display().to_string();
    let unusable = |error: BriefError| {
        Failure::unusable(
            format!("{file}: {error}"),
            "change the brief as said above; see the README for what a brief holds",
        )
    };
    let started = std::time::Instant::now();
    // Mistakes first, before the work.
    Job::new(&loaded.project).map_err(unusable)?;
    let outcome = search(args, &loaded.project, err).map_err(unusable)?;
    let seconds = started.elapsed().as_secs_f64();
    let there_are = outcome.proposals.len();
    let pick = picked(args.pick, there_are, outcome.chosen + 1, err)?;
    let proposal = &outcome.proposals[pick - 1];
    let project = outcome.project.with_network(&proposal.snapped.network);
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
        brief: &loaded.project,
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
    err: &mut dyn Write,
) -> Result<Outcome, BriefError> {
    let mut teller = Teller::new(err);
    let mut progress = |step: SearchProgress| {
        // Growing tells of itself many times a second.
        let growing = matches!(step, SearchProgress::Growing { .. });
        teller.tell(if growing { 0.5 } else { 0.0 }, || progress::words(&step));
    };
    let settings = args.search.settings();
    design(project, settings, &interrupt::asked, &mut progress)
}

/// What each wish costs the network that is taken; with `search` by new searches too.
fn costs(outcome: &Outcome, pick: usize, search: bool) -> Vec<WishCost> {
    let chosen = &outcome.proposals[pick - 1];
    let context = WishContext {
        job: &outcome.job,
        alignments: &outcome.alignments,
        audio: &outcome.audio,
        network: &chosen.ideal.network,
        level_db: chosen.ideal.level_db,
        trade_off: Some((&outcome.proposals, pick - 1)),
    };
    wish_costs(&context, search, &interrupt::asked)
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

//! `handover design`: from a brief to a network.

mod document;
mod page;
mod screen;

use std::io::Write;
use std::sync::atomic::Ordering;

use netlist::network::Network;
use netlist::project::{Loaded, Project, write_parts};
use solver::judge::{Severity, brief_findings, design_findings, sort_findings};
use solver::search::{Effort, Job, Progress, audio_loads, design};

use screen::Screen;

use super::open;
use crate::args::Design;
use crate::demo;
use crate::failure::Failure;
use crate::files::{beside_project, can_be_written, write_whole};
use crate::interrupt;
use crate::words;

/// Whether a finding of severity `danger` stands.
pub(crate) type Danger = bool;

pub(crate) fn run(
    args: &Design,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "brief.toml")?;
    let target = beside_project(args.output.as_ref(), &args.source, &loaded, "design");
    // Before the work, not after it.
    let page = target.as_deref().map(super::report::beside);
    let tables = match &target {
        Some(path) if args.source.demo => demo::tables_for(path),
        _ => Vec::new(),
    };
    let tables_to = tables.iter().map(|(path, _)| path);
    for path in target.iter().chain(&page).chain(tables_to) {
        can_be_written(path, args.force)?;
    }
    if target.is_some() && target == page {
        return Err(Failure::Unusable {
            message: format!(
                "{} is for the report that goes with the design",
                page.as_deref().map(super::report::name).unwrap_or_default()
            ),
            help: "end the name of the design file in .toml or .json".to_owned(),
        });
    }
    let file = loaded.path.display().to_string();
    let unusable = |error: solver::search::BriefError| Failure::Unusable {
        message: format!("{file}: {error}"),
        help: "change the brief as said above; see the README for what a brief holds".to_owned(),
    };
    let started = std::time::Instant::now();
    let job = Job::new(&loaded.project).map_err(unusable)?;
    let audio = audio_loads(&loaded.project, &job);
    let mut findings = brief_findings(&loaded.project, &job);
    let stop = interrupt::flag();
    let asked = || stop.load(Ordering::Relaxed);
    let effort = Effort {
        seed: args.seed,
        starts: args.starts as usize,
        ..Effort::default()
    };
    let quiet = !interrupt::someone_watches();
    let mut progress = |step: Progress| {
        if !quiet {
            let seconds = started.elapsed().as_secs_f64();
            let _ = writeln!(err, "{seconds:5.1} s  {}", progress_words(&step));
        }
    };
    let outcome = design(job, &audio, effort, &asked, &mut progress).map_err(unusable)?;
    let seconds = started.elapsed().as_secs_f64();
    let there_are = outcome.proposals.len();
    let pick = match args.pick as usize {
        // The search is done, and its best is worth more than a refusal.
        beyond if beyond > there_are => {
            writeln!(
                err,
                "--pick {beyond}, but there are {there_are} alternatives: 1 is taken; pick 1 to {there_are}"
            )?;
            1
        }
        pick => pick,
    };
    let (_, proposal) = &outcome.proposals[pick - 1];
    let designed = Project {
        network: Some(proposal.snapped.network.clone()),
        ..loaded.project.clone()
    };
    findings.extend(design_findings(
        &designed,
        &outcome.job,
        &outcome.depths,
        &proposal.figures,
        &proposal.load,
    ));
    sort_findings(&mut findings);
    let danger = findings
        .iter()
        .any(|finding| finding.severity == Severity::Danger);

    let network = &proposal.snapped.network;
    if let Some(path) = &target {
        // Both are worked out before one of them is written.
        let written = if args.ideal {
            &proposal.ideal.network
        } else {
            network
        };
        let text = design_text(&loaded, written)?;
        let report = page::page(args, &loaded, &outcome, path)?;
        for (path, table) in &tables {
            write_whole(path, table.as_bytes(), args.force)?;
        }
        write_whole(path, text.as_bytes(), args.force)?;
        write_whole(&super::report::beside(path), report.as_bytes(), args.force)?;
    }
    if args.json {
        let document = document::document(&outcome, pick, &findings, seconds, target.as_deref());
        writeln!(out, "{document}")?;
    } else {
        let screen = Screen {
            project: &loaded.project,
            outcome: &outcome,
            pick,
            findings: &findings,
            seconds,
            full: args.full,
        };
        screen.print(out)?;
    }
    if outcome.interrupted {
        writeln!(err, "ended early: this is the best found until then")?;
    }
    if let Some(path) = &target {
        writeln!(err, "design written to {}", path.display())?;
        if netlist::project::load(path).is_err() {
            // Names of files are relative to the project file, and this one is in another folder.
            let from = loaded.path.parent().unwrap_or(std::path::Path::new(""));
            writeln!(
                err,
                "it names its measured tables relative to itself: copy them from {} to where it is",
                from.display()
            )?;
        }
    }
    if !tables.is_empty() {
        let count = tables.len();
        writeln!(err, "{count} measured tables of the demo written beside it")?;
    }
    if let Some(page) = &page {
        writeln!(err, "report written to {}", page.display())?;
    }
    Ok(danger)
}

fn design_text(loaded: &Loaded, network: &Network) -> Result<String, Failure> {
    write_parts(&loaded.text, loaded.form, network).map_err(|error| Failure::Unusable {
        message: format!("the design cannot be written into a copy of the brief: {error}"),
        help: "mend the brief as said above".to_owned(),
    })
}

fn progress_words(step: &Progress) -> String {
    match step {
        Progress::Way {
            name,
            shapes,
            match_db,
        } => {
            format!("{name}: {shapes} shapes tried, the best within {match_db:.2} dB of its target")
        }
        Progress::Joint { combinations } => {
            format!("{combinations} combinations of the best, searched together")
        }
        Progress::Snapping {
            networks,
            flatness_db,
        } => {
            let best = flatness_db.map_or(String::new(), |db| {
                format!("; the best so far is flat within {db:.2} dB rms with ideal values")
            });
            format!("{networks} networks moved onto the stock{best}")
        }
        Progress::Slopes {
            alignments,
            flatness_db,
        } => {
            let slopes: Vec<String> = alignments.iter().map(|&pair| words::slopes(pair)).collect();
            format!(
                "slopes {}: flat within {flatness_db:.2} dB rms in a quick design",
                slopes.join(", ")
            )
        }
    }
}

//! `handover design`: from a brief to a network.

mod document;
mod page;
mod screen;

use std::io::Write;
use std::sync::atomic::Ordering;

use netlist::project::Project;
use solver::judge::{Severity, brief_findings, design_findings, sort_findings};
use solver::search::{Effort, Job, Progress, audio_loads, design};

use screen::Screen;

use super::open;
use crate::args::Design;
use crate::failure::Failure;
use crate::interrupt;
use crate::project_file::{Asked, ProjectFile};
use crate::words;

/// Whether a finding of severity `danger` stands.
pub(crate) type Danger = bool;

pub(crate) fn run(
    args: &Design,
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
    // All of it is worked out before any of it is written.
    let files = match &target {
        Some(target) => {
            let written = if args.ideal {
                &proposal.ideal.network
            } else {
                network
            };
            let text = target.text(&args.source, &loaded, written)?;
            let page = page::page(args, &loaded, &outcome, &target.path)?;
            Some((target, text, page))
        }
        None => None,
    };
    let design_file = target.as_ref().map(|target| target.path.as_path());
    if target.as_ref().is_some_and(ProjectFile::is_stdout) {
        // The design is what is asked for there.
    } else if args.json {
        let document = document::document(&outcome, pick, &findings, seconds, design_file);
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
    if let Some((target, text, page)) = &files {
        target.write(text, Some(page), "design", out, err)?;
    }
    Ok(danger)
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

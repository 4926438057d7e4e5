//! `handover improve`: a network that exists made better.

mod document;
mod screen;

use std::io::Write;

use solver::judge::check::in_order_of_ways;
use solver::search::{audio_loads, improve};

use document::ImproveDocument;

use super::existing::ExistingNetwork;
use crate::args::ImproveArguments;
use crate::failure::Failure;
use crate::interrupt;
use crate::project_file::{OutputRequest, ProjectFile};

pub(crate) fn run(
    args: &ImproveArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), Failure> {
    let asked_for = OutputRequest {
        output: args.output.as_ref(),
        force: args.force,
        json: args.json,
        page: false,
        added: "improved",
    };
    let existing = ExistingNetwork::open(&args.source, &asked_for)?;
    let (network, assessment) = existing.assessed((
        "it has no [parts], so there is nothing to improve",
        "design a network from it first: handover design",
    ))?;
    let (project, target) = (&existing.loaded.project, &existing.target);
    let job = &assessment.job;
    let network = &in_order_of_ways(job, network);
    let targets = job.targets(&assessment.alignments);
    let audio = audio_loads(project);
    if interrupt::someone_watches() {
        writeln!(err, "wires, values, needless parts: a few seconds")?;
    }
    let improved = improve(job, &targets, &audio, network, args.grow, &interrupt::asked)
        .ok_or_else(|| {
            existing.unusable(
                &"its network cannot be solved",
                "see what handover check says of it",
            )
        })?;
    let text = match (target, improved.network()) {
        (Some(target), Some(network)) => {
            Some(target.text(&args.source, &existing.loaded, network, None)?)
        }
        _ => None,
    };
    if target.as_ref().is_some_and(ProjectFile::is_stdout) && text.is_some() {
        // The file is what is asked for there.
    } else if args.json {
        let path = target.as_ref().map(|target| target.path.as_path());
        let written = path.filter(|_| text.is_some());
        let document = ImproveDocument::new(job, network, &improved, written);
        crate::document::write(&document, out)?;
    } else {
        screen::print(project, &assessment, network, &improved, out)?;
    }
    if interrupt::asked() {
        writeln!(err, "ended early: this is the best found until then")?;
    }
    match (target, &text) {
        (Some(target), Some(text)) => target.write(text, None, "design", out, err)?,
        (Some(_), None) => writeln!(err, "nothing written: nothing is better")?,
        _ => {}
    }
    Ok(())
}

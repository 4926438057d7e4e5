//! `handover built`: one impedance sweep of the built loudspeaker against the design.

mod document;
mod expected;
mod input;
mod page;
mod screen;

use std::io::Write;
use std::path::Path;

use netlist::project::Loaded;
use netlist::quantity::Quantity;
use solver::built::{Built, BuiltOptions, Heard, Sweep, built, expect, heard};
use solver::judge::{Finding, FindingCode, sort_findings};
use solver::nodal::PlanError;

use document::BuiltDocument;

use super::open;
use crate::args;
use crate::failure::Failure;
use crate::files::{can_be_written, not_over, write_whole};
use crate::findings::{Danger, danger};

pub(crate) fn run(
    args: &args::BuiltArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "network.toml")?;
    let options = BuiltOptions {
        leads_ohm: args.lead.map(Quantity::si),
    };
    if options
        .leads_ohm
        .is_some_and(|ohm| !(0.0..=input::MOST_LEADS_OHM).contains(&ohm))
    {
        return Err(Failure::unusable(
            format!("--lead: leads have from 0 to {} ohm", input::MOST_LEADS_OHM),
            "write it like --lead \"0.2 ohm\"",
        ));
    }
    if loaded.project.network.is_none() {
        return Err(no_parts(&loaded));
    }
    if args.expect {
        let found = expect(&loaded.project, &options).map_err(|e| unsolvable(&loaded, &e))?;
        let Some(found) = found else {
            return Err(no_parts(&loaded));
        };
        match args.json {
            true => {
                let title = loaded.project.title.as_deref();
                let expect = &found;
                crate::document::write(&expected::ExpectDocument { title, expect }, out)?;
            }
            false => expected::print(&loaded.project, &found, out)?,
        }
        return Ok(false);
    }
    if let Some(page) = &args.output {
        not_over(page, &loaded.path, "the design itself")?;
        can_be_written(page, args.force)?;
    }
    let sweeps = input::sweeps(args, &loaded.project)?;
    let responses = input::responses(args, &loaded.project)?;
    if let Some(page) = &args.output {
        let swept = sweeps.iter().map(|sweep| &sweep.file);
        for file in swept.chain(responses.iter().map(|response| &response.file)) {
            not_over(page, Path::new(file), "one of the measurements")?;
        }
    }
    if sweeps.is_empty() && args.output.is_some() {
        return Err(Failure::unusable(
            "the page shows a measured impedance, and none is named",
            "name the sweep with --impedance FILE",
        ));
    }
    let wrong = |error: PlanError| unsolvable(&loaded, &error);
    let found = Diagnosis {
        built: match sweeps.is_empty() {
            true => None,
            false => built(&loaded.project, &sweeps, &options).map_err(wrong)?,
        },
        heard: match responses.is_empty() {
            true => None,
            false => heard(&loaded.project, &responses).map_err(wrong)?,
        },
        sweeps,
    };
    if let (Some(path), Some(built)) = (&args.output, &found.built) {
        let text = page::page(&loaded.project, &found, built);
        write_whole(path, text.as_bytes(), args.force)?;
        writeln!(err, "page written to {}", path.display())?;
    }
    match args.json {
        true => crate::document::write(&BuiltDocument::new(&loaded.project, &found), out)?,
        false => screen::print(&loaded.project, &found, out)?,
    }
    Ok(found.danger())
}

/// What was measured and what was found.
struct Diagnosis {
    sweeps: Vec<Sweep>,
    /// `None` where no impedance was measured.
    built: Option<Built>,
    /// `None` where no response was measured.
    heard: Option<Heard>,
}

impl Diagnosis {
    /// All findings, the most severe first.
    fn findings(&self) -> Vec<Finding> {
        let built = self.built.iter().flat_map(|built| &built.findings);
        let heard = self.heard.iter().flat_map(|heard| &heard.findings);
        let has_sum = self.heard.as_ref().is_some_and(|heard| heard.sum.is_some());
        // What a response has shown needs no hint.
        let told = |finding: &&Finding| !(has_sum && finding.code == FindingCode::PolarityNotSeen);
        let mut list: Vec<Finding> = built.filter(told).chain(heard).cloned().collect();
        sort_findings(&mut list);
        list
    }

    fn danger(&self) -> Danger {
        danger(&self.findings())
    }
}

fn no_parts(loaded: &Loaded) -> Failure {
    Failure::unusable(
        format!(
            "{}: this project has no parts, so there is nothing that could be built otherwise",
            loaded.path.display()
        ),
        "name the design that was built, not its brief",
    )
}

fn unsolvable(loaded: &Loaded, error: &PlanError) -> Failure {
    Failure::unusable(
        format!(
            "{}: the network cannot be solved: {error}",
            loaded.path.display()
        ),
        "change the parts as said above",
    )
}

//! `handover check`: everything that can be known of a design on paper.

mod document;
mod full;
mod screen;

use std::io::Write;

use netlist::project::Project;
use solver::judge::Severity;
use solver::judge::check::{Check, check};

use super::design::Danger;
use super::open;
use crate::args;
use crate::failure::Failure;

/// A design and what was found.
struct Checked<'a> {
    project: &'a Project,
    check: Check,
}

impl Checked<'_> {
    fn danger(&self) -> bool {
        self.count(Severity::Danger) > 0
    }

    fn count(&self, severity: Severity) -> usize {
        let findings = self.check.findings.iter();
        findings.filter(|found| found.severity == severity).count()
    }
}

pub(crate) fn run(
    args: &args::Check,
    out: &mut dyn Write,
    _err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "network.toml")?;
    let file = loaded.path.display();
    let unusable = |message: String, help: &str| Failure::Unusable {
        message: format!("{file}: {message}"),
        help: help.to_owned(),
    };
    let found = check(&loaded.project).map_err(|error| {
        unusable(
            format!("the network cannot be solved: {error}"),
            "change the parts as said above",
        )
    })?;
    let Some(check) = found else {
        return Err(unusable(
            "this project has no parts, so there is nothing to check".to_owned(),
            "let `handover design` make a network for it, or write [parts]",
        ));
    };
    let checked = Checked {
        project: &loaded.project,
        check,
    };
    if args.json {
        writeln!(out, "{}", document::document(&checked))?;
    } else if args.full {
        full::print(&checked, out)?;
    } else {
        screen::print(&checked, out)?;
    }
    Ok(checked.danger())
}

//! `handover check`: everything that can be known of a design on paper.

mod document;
mod faults;
mod full;
mod screen;
mod stress;
mod text;

use std::io::Write;
use std::path::Path;

use netlist::project::Project;
use netlist::quantity::Quantity;
use netlist::table::TableKind;
use solver::judge::Severity;
use solver::judge::check::{Check, CheckProgress, OtherAmplifier, check, other_amplifiers};
use solver::judge::sum_depth::{SumDepth, sum_depth};
use solver::judge::tolerance::{ToleranceError, ToleranceOptions};

use document::CheckDocument;

use super::open;
use crate::args;
use crate::failure::Failure;
use crate::findings::{self, Danger, danger};
use crate::interrupt;
use crate::progress::Teller;
use crate::tables::measured_table;

/// A design and what was found.
struct Checked<'a> {
    project: &'a Project,
    check: &'a Check,
    /// The same on other amplifiers.
    others: &'a [OtherAmplifier],
    /// What a measured sum says of depth.
    sum_depth: Option<&'a SumDepth>,
}

impl Checked<'_> {
    fn count(&self, severity: Severity) -> usize {
        findings::count(&self.check.findings, severity)
    }
}

/// Seconds between two lines of progress.
const EVERY_S: f64 = 1.0;

/// Output impedance beyond which nothing drives a loudspeaker, ohm.
const MOST_OHM: f64 = 1000.0;

pub(crate) fn run(
    args: &args::CheckArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "network.toml")?;
    let file = loaded.path.display();
    let unusable =
        |message: String, help: &str| Failure::unusable(format!("{file}: {message}"), help);
    let options = ToleranceOptions {
        seed: args.seed,
        builds: args.builds as usize,
        driver_level_db: args.driver_level.si(),
        ..ToleranceOptions::default()
    };
    if !(0.0..=20.0).contains(&options.driver_level_db) {
        let message = ToleranceError::DriverLevel(options.driver_level_db).to_string();
        return Err(unusable(message, "write it like --driver-level \"1 dB\""));
    }
    let ohm: Vec<f64> = args.amplifier.iter().map(|ohm| ohm.si()).collect();
    if let Some(below) = ohm.iter().find(|ohm| !(0.0..=MOST_OHM).contains(*ohm)) {
        return Err(unusable(
            format!("no amplifier has an output impedance of {below} ohm"),
            "write it like --amplifier \"0 ohm\",\"3 ohm\", from 0 to 1000 ohm",
        ));
    }
    // Mistakes first, before the work.
    let sum = (args.sum.as_ref())
        .map(|file| measured_sum(file, &args.ways, &loaded.project))
        .transpose()?;
    let found = {
        let mut teller = Teller::new(err);
        let mut progress = |step| {
            teller.tell(EVERY_S, || match step {
                CheckProgress::Faults { done, to_do } => format!("{done} of {to_do} faults"),
                CheckProgress::Builds { done, to_do } => format!("{done} of {to_do} builds"),
            });
            interrupt::until_asked()
        };
        check(&loaded.project, &options, &mut progress).map_err(|error| {
            unusable(
                format!("the network cannot be solved: {error}"),
                "change the parts as said above",
            )
        })?
    };
    let Some(check) = found else {
        return Err(unusable(
            "this project has no parts, so there is nothing to check".to_owned(),
            "let `handover design` make a network for it, or write [parts]",
        ));
    };
    let others = other_amplifiers(&loaded.project, &ohm).map_err(|error| {
        unusable(
            format!("the network cannot be solved: {error}"),
            "change the parts as said above",
        )
    })?;
    let checked = Checked {
        project: &loaded.project,
        check: &check,
        others: &others,
        sum_depth: sum.as_ref(),
    };
    if let Ok(tolerance) = &checked.check.tolerance
        && tolerance.builds < options.builds
    {
        writeln!(
            err,
            "ended early: tolerance is that of {} builds",
            tolerance.builds
        )?;
    }
    if args.json {
        crate::document::write(&CheckDocument::new(&checked), out)?;
    } else if args.full {
        full::print(&checked, out)?;
    } else {
        screen::print(&checked, out)?;
    }
    Ok(danger(&check.findings))
}

/// What a measured sum says of the depth between the ways that played.
fn measured_sum(file: &Path, ways: &[String], project: &Project) -> Result<SumDepth, Failure> {
    let table = measured_table(file, TableKind::Response)?;
    sum_depth(project, ways, &table).map_err(|error| Failure::unusable(format!("--sum {}: {error}", file.display()), "measure the level of the ways together through the network, on the axis, and write it like \
               --sum FILE --ways low,mid"))
}

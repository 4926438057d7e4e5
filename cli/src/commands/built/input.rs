//! What was measured, read and looked at.

use std::path::Path;

use netlist::project::Project;
use netlist::table::{Table, TableKind};
use solver::built::Sweep;

use crate::args;
use crate::failure::Failure;

/// Leads with more are no leads, ohm.
pub(super) const MOST_LEADS_OHM: f64 = 10.0;

/// The sweeps; all that is wrong with them is told at once.
pub(super) fn sweeps(args: &args::Built, project: &Project) -> Result<Vec<Sweep>, Failure> {
    if args.sweeps.0.is_empty() {
        return Err(Failure::Unusable {
            message: "there is no measurement to look at".to_owned(),
            help: "name the sweep with --impedance FILE; --expect tells what a meter should show"
                .to_owned(),
        });
    }
    let fed: Vec<String> = match &project.network {
        Some(network) => network.driver_names().map(String::from).collect(),
        None => Vec::new(),
    };
    let mut list = Vec::new();
    let mut mistakes = Vec::new();
    for asked in &args.sweeps.0 {
        let table = table(&asked.file, TableKind::Impedance)?;
        let sweep = sweep(asked, table, &fed);
        // A driver that is the only one must be one.
        let unknown = asked.only.iter().filter(|name| !fed.contains(name));
        mistakes.extend(unknown.map(|name| {
            format!(
                "the design's network has no driver '{name}'; it has {}",
                fed.join(", ")
            )
        }));
        mistakes.extend(sweep.mistakes(project).iter().map(ToString::to_string));
        if fed.iter().all(|name| sweep.off.contains(name)) && !fed.is_empty() {
            mistakes.push(format!(
                "{}: no driver would have been connected",
                sweep.file
            ));
        }
        list.push(sweep);
    }
    if mistakes.is_empty() {
        return Ok(list);
    }
    Err(Failure::Unusable {
        message: mistakes.join("\nerror: "),
        help: "measure the impedance at the loudspeaker's terminals from 20 Hz to 20 kHz, 200 points or \
               more, in Hz and ohm"
            .to_owned(),
    })
}

fn sweep(asked: &args::BuiltSweep, table: Table, fed: &[String]) -> Sweep {
    let mut off = asked.without.clone();
    if !asked.only.is_empty() {
        off.extend(
            fed.iter()
                .filter(|name| !asked.only.contains(name))
                .cloned(),
        );
    }
    Sweep {
        file: table.file,
        f_hz: table.f_hz,
        ohm: table.magnitude,
        phase_deg: table.phase_deg,
        off,
    }
}

/// A measured table from a file.
pub(super) fn table(path: &Path, kind: TableKind) -> Result<Table, Failure> {
    let bytes = std::fs::read(path).map_err(|error| Failure::Unusable {
        message: format!(
            "{} cannot be read: {}",
            path.display(),
            match error.kind() {
                std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
                std::io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
                _ => error.to_string(),
            }
        ),
        help: "check the name and the folder".to_owned(),
    })?;
    Ok(Table::parse(&path.display().to_string(), &bytes, kind)?)
}

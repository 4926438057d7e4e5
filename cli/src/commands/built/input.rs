//! What was measured, read and looked at.

use std::path::Path;

use netlist::project::Project;
use netlist::quantity::Quantity;
use netlist::table::{Table, TableKind};
use solver::built::{Response, Sweep};

use crate::args;
use crate::failure::Failure;
use crate::tables::measured_table;

/// Leads with more are no leads, ohm.
pub(super) const MOST_LEADS_OHM: f64 = 10.0;

/// The sweeps; all that is wrong with them is told at once.
pub(super) fn sweeps(
    args: &args::BuiltArguments,
    project: &Project,
) -> Result<Vec<Sweep>, Failure> {
    if args.sweeps.0.is_empty() && args.response.is_empty() {
        return Err(Failure::unusable(
            "there is no measurement to look at",
            "name the sweep with --impedance FILE; --expect tells what a meter should show",
        ));
    }
    let fed: Vec<String> = match &project.network {
        Some(network) => network.driver_names().map(String::from).collect(),
        None => Vec::new(),
    };
    let mut list = Vec::new();
    let mut mistakes = Vec::new();
    for asked in &args.sweeps.0 {
        let table = measured_table(&asked.file, TableKind::Impedance)?;
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
    Err(Failure::unusable(
        mistakes.join("\nerror: "),
        "measure the impedance at the loudspeaker's terminals from 20 Hz to 20 kHz, 200 points or \
               more, in Hz and ohm",
    ))
}

fn sweep(asked: &args::SweepArgument, table: Table, fed: &[String]) -> Sweep {
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

/// The responses: of the sum, or `WAY=FILE`.
pub(super) fn responses(
    args: &args::BuiltArguments,
    project: &Project,
) -> Result<Vec<Response>, Failure> {
    let fed: Vec<&str> = match &project.network {
        Some(network) => network.driver_names().collect(),
        None => Vec::new(),
    };
    let mut list: Vec<Response> = Vec::new();
    for asked in &args.response {
        // A file may have a name with such a sign in it.
        let (way, file) = match asked.split_once('=') {
            Some((way, file)) if fed.contains(&way) => (Some(way.to_owned()), file),
            Some((way, _)) if !Path::new(asked).exists() => {
                return Err(Failure::unusable(
                    format!(
                        "--response: the design's network has no driver '{way}'; it has {}",
                        fed.join(", ")
                    ),
                    format!(
                        "write it like --response {}=FILE",
                        fed.first().unwrap_or(&"low")
                    ),
                ));
            }
            _ => (None, asked.as_str()),
        };
        let table = measured_table(Path::new(file), TableKind::Response)?;
        let [from, to] = table.ends_hz();
        let (aim_from, aim_to) = (project.aim.from.si(), project.aim.to.si());
        if to < 2.0 * aim_from.max(from) || from > 0.5 * aim_to {
            return Err(Failure::unusable(
                format!(
                    "{file}: the response runs from {from} to {to} Hz, which is hardly any of the band from \
                     {aim_from} to {aim_to} Hz in which the design is judged"
                ),
                "column 1 is the frequency in Hz, column 2 the level in dB",
            ));
        }
        if list.iter().any(|known| known.way == way) {
            return Err(Failure::unusable(
                format!(
                    "--response: {} is named twice",
                    way.map_or("the sum".to_owned(), |way| format!("way {way}"))
                ),
                "name one file for the sum, and one for each way as WAY=FILE",
            ));
        }
        list.push(Response {
            file: table.file,
            f_hz: table.f_hz,
            level_db: table.magnitude,
            way,
        });
    }
    Ok(list)
}

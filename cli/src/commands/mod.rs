//! One file a command.

pub(crate) mod built;
pub(crate) mod check;
pub(crate) mod compare;
pub(crate) mod demo;
pub(crate) mod design;
mod existing;
pub(crate) mod improve;
pub(crate) mod pad;
pub(crate) mod report;
pub(crate) mod snap;
pub(crate) mod sweep;

use std::io::Write;

use netlist::project::{Loaded, load};

use crate::args::SourceArguments;
use crate::failure::Failure;

/// Reads the project that a command was given, or the demo's file of that name.
fn open(source: &SourceArguments, demo_file: &str) -> Result<Loaded, Failure> {
    match &source.file {
        Some(path) => Ok(load(path)?),
        None => Ok(crate::demo::load(demo_file)?),
    }
}

/// The number of the alternative that is taken, from 1: the one that is asked for, or the one that was chosen.
fn picked(
    asked: Option<u32>,
    there_are: usize,
    chosen: usize,
    err: &mut dyn Write,
) -> Result<usize, Failure> {
    match asked.map(|pick| pick as usize) {
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

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

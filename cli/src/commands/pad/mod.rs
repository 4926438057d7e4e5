//! `handover pad`: what a pad does on a resistor or on a driver, and which pad can be bought.

mod document;
mod judged;
mod listing;
mod request;
mod screen;
mod text;
mod work;

use std::io::Write;

use crate::args::Pad as Args;
use crate::failure::Failure;
use crate::words;
use request::Request;

/// Whether a finding of severity `danger` stands.
pub(crate) type Danger = bool;

pub(crate) fn run(
    args: &Args,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let request = Request::new(args)?;
    let work = work::work(&request)?;
    if args.json {
        writeln!(out, "{}", document::document(&work))?;
    } else {
        screen::screen(&work, out)?;
    }
    if let Some(name) = &request.driver {
        for note in &work.load.notes {
            writeln!(err, "note: {}", words::note(name, note))?;
        }
    }
    Ok(work.danger())
}

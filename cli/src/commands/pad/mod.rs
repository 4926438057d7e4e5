//! `handover pad`: what a pad does on a resistor or on a driver, and which pad can be bought.

mod document;
mod judged;
mod listing;
mod picture;
mod request;
mod screen;
mod text;
mod work;

use std::io::Write;

use crate::args::Pad as Args;
use crate::failure::Failure;
use crate::files::write_whole;
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
    if let Some(path) = &args.picture {
        // Before the work, not after it.
        if path.exists() && !args.force {
            return Err(Failure::Exists { path: path.clone() });
        }
    }
    let work = work::work(&request)?;
    if let Some(path) = &args.picture {
        write_whole(path, picture::picture(&work).as_bytes(), args.force)?;
    }
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
    if let Some(path) = &args.picture {
        writeln!(err, "picture written to {}", path.display())?;
    }
    Ok(work.danger())
}

//! `handover pad`: what a pad does on a resistor or on a driver, and which pad can be bought.

mod document;
mod inside;
mod judged;
mod listing;
mod pairs;
mod picture;
mod request;
mod screen;
mod site;
mod solve;
mod target;
mod text;
mod work;

use std::io::Write;
use std::path::Path;

use crate::args::PadArguments;
use crate::failure::Failure;
use crate::files::{can_be_written, write_whole};
use crate::findings::{Danger, danger};
use crate::words;
use document::{InsideDocument, PadDocument};
use request::Request;

pub(crate) fn run(
    args: &PadArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let request = Request::new(args)?;
    if let Some(path) = &args.picture {
        // Before the work, not after it.
        named_svg(path)?;
        can_be_written(path, args.force)?;
    }
    if args.picture.is_none()
        && let Some(inside) = inside::of(&request)
    {
        match args.json {
            true => crate::document::write(&InsideDocument::new(&request, &inside), out)?,
            false => inside::screen(&request, &inside, out)?,
        }
        return Ok(false);
    }
    let work = solve::solve(&request)?;
    if let Some(path) = &args.picture {
        write_whole(path, picture::picture(&work).as_bytes(), args.force)?;
    }
    if args.json {
        crate::document::write(&PadDocument::new(&work), out)?;
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
    Ok(danger(&work.findings))
}

/// A picture is SVG, and its name must say so.
fn named_svg(path: &Path) -> Result<(), Failure> {
    let ending = path.extension().and_then(|ending| ending.to_str());
    if ending.is_some_and(|ending| ending.eq_ignore_ascii_case("svg")) {
        return Ok(());
    }
    Err(Failure::Unusable {
        message: format!(
            "--picture {}: the picture is SVG, and the name says otherwise",
            path.display()
        ),
        help: format!(
            "say --picture {}; a browser shows it and prints it",
            path.with_extension("svg").display()
        ),
    })
}

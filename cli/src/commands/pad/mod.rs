//! `handover pad`: what a pad does on a resistor or on a driver, and which pad can be bought.

mod document;
mod inside;
mod listing;
mod pairs;
mod picture;
mod request;
mod screen;
mod text;

use std::io::Write;
use std::path::Path;

use crate::args::PadArguments;
use crate::failure::Failure;
use crate::files::{can_be_written, write_whole};
use crate::findings::{Danger, danger};
use crate::words;
use document::{InsideDocument, PadDocument};
use request::Request;
use solver::pad::{PadError, PadFound};

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
    let may_be_inside = args.picture.is_none();
    let found = solver::pad::answer(request.of_project(), &request.question, may_be_inside);
    let answer = match found.map_err(|error| unusable(&request, &error))? {
        PadFound::Pad(answer) => answer,
        PadFound::Inside(inside) => {
            match args.json {
                true => crate::document::write(&InsideDocument::new(&request, &inside), out)?,
                false => inside::screen(&request, &inside, out)?,
            }
            return Ok(false);
        }
    };
    if let Some(path) = &args.picture {
        write_whole(path, picture::picture(&answer).as_bytes(), args.force)?;
    }
    if args.json {
        crate::document::write(&PadDocument::new(&answer), out)?;
    } else {
        screen::screen(&answer, out)?;
    }
    for note in &answer.bench.load.notes {
        writeln!(err, "note: {}", words::note(answer.name(), note))?;
    }
    if let Some(path) = &args.picture {
        writeln!(err, "picture written to {}", path.display())?;
    }
    Ok(danger(&answer.findings))
}

fn unusable(request: &Request, error: &PadError) -> Failure {
    let file = (request.loaded.as_ref()).filter(|_| error.of_project());
    Failure::Unusable {
        message: match file {
            Some(loaded) => format!("{}: {error}", loaded.path.display()),
            None => error.to_string(),
        },
        help: error.help(),
    }
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

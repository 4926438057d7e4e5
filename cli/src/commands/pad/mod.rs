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
use solver::pad::{PadBench, PadError, PadFound};

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
    let question = &request.question;
    let refused = |error: PadError| unusable(&request, &error);
    let bench = PadBench::new(request.of_project(), question.load_ohm, question.power_w);
    let bench = bench.map_err(refused)?;
    let notes = bench.load.notes.iter();
    let mut notes: Vec<String> = notes.map(|note| words::note(bench.name(), note)).collect();
    let may_be_inside = args.picture.is_none();
    let dangerous = match solver::pad::answer(bench, question, may_be_inside).map_err(refused)? {
        PadFound::Pad(answer) => {
            if let Some(path) = &args.picture {
                write_whole(path, picture::picture(&answer).as_bytes(), args.force)?;
            }
            match args.json {
                true => crate::document::write(&PadDocument::new(&answer), out)?,
                false => screen::screen(&answer, out)?,
            }
            danger(&answer.findings)
        }
        PadFound::Inside(inside) => {
            match args.json {
                true => crate::document::write(&InsideDocument::new(&request, &inside), out)?,
                false => inside::screen(&request, &inside, out)?,
            }
            notes.extend(inside::left_out(args));
            false
        }
    };
    for note in notes {
        writeln!(err, "note: {note}")?;
    }
    if let Some(path) = &args.picture {
        writeln!(err, "picture written to {}", path.display())?;
    }
    Ok(dangerous)
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

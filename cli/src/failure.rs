//! Why a command could not be done, in words for the builder.

use std::fmt;
use std::path::PathBuf;

use netlist::problem::{Problem, Problems};

/// Why a command could not be done.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The project, its tables or its catalogue have mistakes.
    Problems(Problems),
    /// The input is well written but cannot be used: message, and the way out.
    Unusable { message: String, help: String },
    /// A file cannot be written.
    Write {
        path: PathBuf,
        error: std::io::Error,
    },
    /// A file is there and may not be overwritten.
    Exists { path: PathBuf },
    /// The output cannot be written to.
    Output(std::io::Error),
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Failure::Output(error)
    }
}

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Failure::Problems(problems)
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Problems(problems) => {
                for problem in problems.list() {
                    show(f, problem, problems.source(&problem.file))?;
                }
                match problems.list().len() {
                    0 | 1 => Ok(()),
                    count => writeln!(f, "{count} mistakes found"),
                }
            }
            Failure::Unusable { message, help } => writeln!(f, "error: {message}\n  help: {help}"),
            Failure::Write { path, error } => writeln!(
                f,
                "error: {} cannot be written: {error}\n  help: choose another place, or look at who may write there",
                path.display()
            ),
            Failure::Exists { path } => writeln!(
                f,
                "error: {} is there already and was left as it is\n  help: name another place, or say --force to overwrite it",
                path.display()
            ),
            Failure::Output(error) => writeln!(f, "error: the output cannot be written: {error}"),
        }
    }
}

/// A mistake with the line it is in, a mark below the place, and the way out.
fn show(f: &mut fmt::Formatter<'_>, problem: &Problem, source: Option<&str>) -> fmt::Result {
    write!(f, "error: {}", problem.file)?;
    if let Some(place) = &problem.place {
        write!(f, ":{}:{}", place.line, place.column)?;
    }
    writeln!(f, ": {}", problem.message)?;
    let line = problem.place.as_ref().and_then(|place| {
        let text = source?.lines().nth(place.line - 1)?;
        Some((place, text))
    });
    if let Some((place, text)) = line {
        // A long line is shown around the place only.
        let from = place.column.saturating_sub(60);
        let shown: String = (text.chars().skip(from).take(120))
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        let number = place.line.to_string();
        let marked = place.span.len().clamp(1, shown.chars().count().max(1));
        writeln!(f, "  {number} | {}", shown.trim_end())?;
        let indent = number.len() + 5 + (place.column - 1 - from.min(place.column - 1));
        let room = (number.len() + 5 + shown.chars().count())
            .saturating_sub(indent)
            .max(1);
        writeln!(f, "{}{}", " ".repeat(indent), "^".repeat(marked.min(room)))?;
    }
    if let Some(help) = &problem.help {
        writeln!(f, "  help: {help}")?;
    }
    Ok(())
}

//! Why a command could not be done, in words for the builder.

use std::fmt;
use std::path::PathBuf;

use netlist::problem::{FileProblem, Problems};

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
    /// Several at once.
    Several(Vec<Failure>),
    /// One that belongs to something that was made on the way: an edited file.
    With { what: String, failure: Box<Failure> },
}

impl Failure {
    /// Input that is well written and cannot be used: message, and the way out.
    pub(crate) fn unusable(message: impl Into<String>, help: impl Into<String>) -> Self {
        Failure::Unusable {
            message: message.into(),
            help: help.into(),
        }
    }
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
                "error: {} cannot be written: {}\n  help: choose another place, or look at who may write there",
                path.display(),
                why_not_written(error)
            ),
            Failure::Exists { path } => writeln!(
                f,
                "error: {} is there already and was left as it is\n  help: name another place, or say --force to overwrite it",
                path.display()
            ),
            Failure::Output(error) => writeln!(f, "error: the output cannot be written: {error}"),
            Failure::Several(failures) => failures.iter().try_for_each(|failure| failure.fmt(f)),
            Failure::With { what, failure } => {
                if !what.is_empty() {
                    writeln!(f, "{what}:")?;
                }
                failure.fmt(f)
            }
        }
    }
}

/// Why a file could not be written, in plain words.
fn why_not_written(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "its folder is not there".to_owned(),
        std::io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        std::io::ErrorKind::PermissionDenied => "its folder may not be written to".to_owned(),
        std::io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        _ => error.to_string(),
    }
}

/// A mistake with the line it is in, a mark below the place, and the way out.
fn show(f: &mut fmt::Formatter<'_>, problem: &FileProblem, source: Option<&str>) -> fmt::Result {
    write!(f, "error: {}", problem.file)?;
    if let Some(place) = &problem.place {
        write!(f, ":{}:{}", place.line, place.column)?;
    }
    writeln!(f, ": {}", problem.message)?;
    if let (Some(place), Some(text)) = (&problem.place, source) {
        // By the span, not by the line's number: a line may end with LF, CR LF or CR alone.
        let ends = ['\n', '\r'];
        let line_start = text[..place.span.start].rfind(ends).map_or(0, |at| at + 1);
        let line_end = text[place.span.start..].find(ends);
        let line_end = line_end.map_or(text.len(), |at| place.span.start + at);
        // A long line is shown around the place only.
        let skipped = place.column.saturating_sub(60);
        let shown: String = (text[line_start..line_end].chars().skip(skipped).take(120))
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        let before = place.column - 1 - skipped.min(place.column - 1);
        let room = shown.chars().count().saturating_sub(before).max(1);
        let marked_end = place.span.end.clamp(place.span.start, line_end);
        let marked = text[place.span.start..marked_end].chars().count();
        let margin = place.line.to_string();
        writeln!(f, "  {margin} | {}", shown.trim_end())?;
        let indent = " ".repeat(margin.len() + 5 + before);
        writeln!(f, "{indent}{}", "^".repeat(marked.clamp(1, room)))?;
    }
    if let Some(help) = &problem.help {
        writeln!(f, "  help: {help}")?;
    }
    Ok(())
}

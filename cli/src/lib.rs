//! *Who asks*: commands, words, tables, files.
//!
//! Data go to `out`, messages to `err`; nothing else is written to, so that whole commands can be
//! tested in process. Exit status: 0 done; 1 done, and a finding of severity `danger` stands; 2 the
//! input cannot be used.

mod args;
mod centres;
mod commands;
mod demo;
mod document;
mod drawing;
mod failure;
mod figures;
mod files;
mod findings;
mod help;
mod interrupt;
mod page;
mod picture;
mod progress;
mod project_file;
mod purpose;
mod report;
mod tables;
mod wishes;
mod words;

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};
use failure::Failure;

/// Fits running text to the terminal that stdout is, where it is one.
pub fn fit_terminal() {
    if let Some((width, _)) = terminal_size::terminal_size_of(std::io::stdout()) {
        words::fit(usize::from(width.0));
    }
}

/// Runs one command line, the program's name first.
pub fn run<A>(
    args: impl IntoIterator<Item = A>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> ExitCode
where
    A: Into<OsString> + Clone,
{
    let result = match Arguments::try_parse_from(args) {
        Ok(arguments) => match &arguments.command {
            Command::Demo(demo) => commands::demo::run(demo, err).map(|()| false),
            Command::Design(design) => commands::design::run(design, out, err),
            Command::Snap(snap) => commands::snap::run(snap, out, err).map(|()| false),
            Command::Improve(improve) => commands::improve::run(improve, out, err).map(|()| false),
            Command::Check(check) => commands::check::run(check, out, err),
            Command::Report(report) => commands::report::run(report, out, err),
            Command::Pad(pad) => commands::pad::run(pad, out, err),
            Command::Help(help) => help::run(help, out).map(|()| false),
            Command::Sweep(sweep) => commands::sweep::run(sweep, out, err).map(|()| false),
            Command::Compare(compare) => commands::compare::run(compare, out, err),
            Command::Built(built) => commands::built::run(built, out, err),
        },
        // Help and version come as errors too, and go where data go.
        Err(usage) if usage.use_stderr() => {
            let _ = write!(err, "{usage}");
            return ExitCode::from(2);
        }
        Err(help) => (write!(out, "{help}").map(|()| false)).map_err(Failure::Output),
    };
    // `out` may hold data back, and may fail only when it gives them up.
    match result.and_then(|danger| out.flush().map(|()| danger).map_err(Failure::Output)) {
        Ok(false) => ExitCode::SUCCESS,
        Ok(true) => ExitCode::from(1),
        // Whoever read the output has seen enough.
        Err(Failure::Output(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => {
            ExitCode::SUCCESS
        }
        Err(failure) => {
            let _ = write!(err, "{failure}");
            ExitCode::from(2)
        }
    }
}

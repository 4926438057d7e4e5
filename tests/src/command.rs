//! Whole commands in process: what a command line gives on its two outputs, and its status.

use std::process::ExitCode;

/// What a command gave.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Exit status.
    pub status: u8,
    /// Data.
    pub out: String,
    /// Messages.
    pub err: String,
}

/// Runs `handover` with these arguments.
///
/// # Panics
/// If an output is not UTF-8 or the status is none of 0, 1 and 2.
#[must_use]
pub fn handover(args: &[&str]) -> Outcome {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let line = std::iter::once("handover").chain(args.iter().copied());
    let code = handover::run(line, &mut out, &mut err);
    // `ExitCode` can be shown but not compared.
    let shown = format!("{code:?}");
    let status = (0..=2u8).find(|status| shown == format!("{:?}", ExitCode::from(*status)));
    Outcome {
        status: status.expect("an exit status of 0, 1 or 2"),
        out: String::from_utf8(out).expect("UTF-8 on stdout"),
        err: String::from_utf8(err).expect("UTF-8 on stderr"),
    }
}

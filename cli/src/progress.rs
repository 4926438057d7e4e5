//! What a search is doing, in words.

use std::io::Write;
use std::time::Instant;

use solver::search::SearchProgress;

use crate::interrupt::someone_watches;
use crate::words::{hz, slopes};

/// Tells whoever waits what is being done.
pub(crate) struct Teller<'a> {
    err: &'a mut dyn Write,
    quiet: bool,
    started: Instant,
    /// When it told last.
    last_s: f64,
}

impl<'a> Teller<'a> {
    pub(crate) fn new(err: &'a mut dyn Write) -> Self {
        Self {
            err,
            quiet: !someone_watches(),
            started: Instant::now(),
            last_s: 0.0,
        }
    }

    /// A line, unless there was one so many seconds ago.
    pub(crate) fn tell(&mut self, every_s: f64, words: impl FnOnce() -> String) {
        let seconds = self.started.elapsed().as_secs_f64();
        if !self.quiet && seconds >= self.last_s + every_s {
            self.last_s = seconds;
            // Nobody reads it where it cannot be written.
            let _ = writeln!(self.err, "{seconds:5.1} s  {}", words());
        }
    }
}

/// One step in a line.
pub(crate) fn words(step: &SearchProgress) -> String {
    match step {
        SearchProgress::Variant {
            frequencies_hz,
            alignments,
            rank,
        } => {
            let slopes: Vec<String> = alignments.iter().map(|&pair| slopes(pair)).collect();
            let at: Vec<String> = (frequencies_hz.iter()).copied().map(hz).collect();
            format!(
                "{} with {}: {rank:.1} in a quick design (error and parts, the less the better)",
                at.join(", "),
                slopes.join(", ")
            )
        }
        SearchProgress::Way { name, fits, parts } => {
            format!("{name}: grown alone to {parts} parts, {fits} networks fitted so far")
        }
        SearchProgress::Growing { parts, rank, fits } => format!(
            "all together: {parts} parts, {rank:.2} (error and parts), {fits} networks fitted so far"
        ),
        SearchProgress::Refining { networks } => {
            format!("{networks} networks fitted on all frequencies")
        }
        SearchProgress::Snapping { networks } => {
            format!("{networks} networks moved onto the stock")
        }
    }
}

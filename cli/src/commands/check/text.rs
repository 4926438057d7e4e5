//! Lines and numbers of the screen of `check`.

use std::io::{Result, Write};

use netlist::quantity::Hertz;
use solver::judge::tolerance::{Amount, Contributor};

use crate::words;

/// Column in which what is said of a subject begins.
pub(super) const INDENT: usize = 11;

/// A line about a subject.
pub(super) fn line(subject: &str, text: &str, out: &mut dyn Write) -> Result<()> {
    words::folded(&format!("{subject:<INDENT$}{text}"), INDENT, out)
}

pub(super) fn hz(f_hz: f64) -> String {
    format!("{:.3}", Hertz(f_hz))
}

/// A change with its sign, in as many digits as it needs to be seen.
pub(super) fn signed(db: f64) -> String {
    words::signed(db, if db.abs() < 0.95 { 2 } else { 1 })
}

/// A share in percent, with a tenth where it has one.
pub(super) fn percent(share: f64) -> f64 {
    (1000.0 * share).round() / 10.0
}

/// What varies, for people.
pub(super) fn contributor(one: &Contributor) -> String {
    match one.amount {
        Amount::LevelDb(db) => format!("level of {} (±{db} dB)", one.name),
        Amount::Share(_) => one.name.clone(),
    }
}

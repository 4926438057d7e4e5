//! Lines and numbers of the screen of `check`.

use solver::judge::tolerance::{Amount, Contributor};

use crate::words;
pub(super) use crate::words::{about as line, hz};

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

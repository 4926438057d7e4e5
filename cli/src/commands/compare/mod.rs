//! `handover compare`: designs and briefs side by side.
//!
//! | file | what |
//! |---|---|
//! | `plan` | what is compared: files, or one file with edits |
//! | `work` | briefs designed, all checked |
//! | `words` | names of figures, pieces and wishes |
//! | `verdict` | the whole in a sentence |
//! | `screen` | one screen |
//! | `document` | one JSON document |

mod document;
mod plan;
mod screen;
mod verdict;
mod words;
mod work;

use std::io::Write;
use std::sync::atomic::Ordering;
use std::time::Instant;

use solver::compare::{Candidate, Comparison, Role, compare, roles};

use plan::Varied;
use work::Column;

use crate::args::Compare;
use crate::failure::Failure;
use crate::interrupt;

/// Builds of each that are held against each other.
const BUILDS: usize = 400;

/// All that is shown.
struct Compared {
    columns: Vec<Column>,
    comparison: Comparison,
    /// For each row of ways the number of the way in each column.
    ways: Vec<Vec<Option<usize>>>,
    roles: Vec<Role>,
    varied: Option<Varied>,
    seconds: f64,
    interrupted: bool,
}

pub(crate) fn run(args: &Compare, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), Failure> {
    let started = Instant::now();
    let (plans, varied) = plan::plan(args)?;
    let done = work::work(args, plans, err)?;
    let stop = interrupt::flag();
    let asked = || stop.load(Ordering::Relaxed);
    let candidates: Vec<Candidate<'_>> = done.columns.iter().map(Column::candidate).collect();
    let comparison = compare(&candidates, BUILDS.min(args.builds as usize), &asked);
    let (ways, roles) = roles(&candidates);
    let compared = Compared {
        comparison,
        ways,
        roles,
        varied,
        seconds: started.elapsed().as_secs_f64(),
        interrupted: asked(),
        columns: done.columns,
    };
    if args.json {
        writeln!(out, "{}", document::document(&compared))?;
    } else {
        screen::print(&compared, args.full, out)?;
    }
    if compared.interrupted {
        let mut words = "ended early: this is the best found until then".to_owned();
        if !done.left_out.is_empty() {
            words += &format!("; {} not begun and left out", done.left_out.join(", "));
        }
        writeln!(err, "{words}")?;
    }
    Ok(())
}

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
//! | `charts` | pictures of all over each other |
//! | `page` | the page |

mod charts;
mod document;
mod page;
mod plan;
mod screen;
mod verdict;
mod words;
mod work;

use std::io::Write;
use std::path::Path;
use std::time::Instant;

use solver::compare::{Comparison, Contender, Likeness, Role, compare, likeness, roles};

use document::CompareDocument;
use plan::Varied;
use work::Column;

use crate::args::CompareArguments;
use crate::failure::Failure;
use crate::files::{can_be_written, is_stdout, not_over, write_out};
use crate::findings::{Danger, danger};
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
    likeness: Likeness,
    varied: Option<Varied>,
    /// The command that makes the comparison again; `None` where it was ended early.
    command: Option<String>,
    seconds: f64,
    interrupted: bool,
}

pub(crate) fn run(
    args: &CompareArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let started = Instant::now();
    if let Some(page) = &args.output {
        page_can_be_written(args, page)?;
    }
    let (plans, varied) = plan::plan(args)?;
    let done = work::work(args, plans, err)?;
    if done.columns.is_empty() {
        return Err(Failure::unusable(
            "ended before anything was finished",
            "let it run for some seconds; --quick takes fewer",
        ));
    }
    let candidates: Vec<Contender<'_>> = done.columns.iter().map(Column::candidate).collect();
    let comparison = compare(
        &candidates,
        BUILDS.min(args.builds as usize),
        &interrupt::asked,
    );
    let (ways, roles) = roles(&candidates);
    let compared = Compared {
        comparison,
        likeness: likeness(&candidates),
        ways,
        roles,
        // Values and columns are beside each other.
        varied: varied.filter(|varied| varied.values.len() == done.columns.len()),
        command: (!interrupt::asked()).then(|| args.words()),
        seconds: started.elapsed().as_secs_f64(),
        interrupted: interrupt::asked(),
        columns: done.columns,
    };
    let page = args
        .output
        .as_ref()
        .map(|path| (path, page::page(&compared)));
    if page.as_ref().is_some_and(|(path, _)| is_stdout(path)) {
        // The page is what is asked for there.
    } else if args.json {
        crate::document::write(&CompareDocument::new(&compared), out)?;
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
    if let Some((path, page)) = page {
        write_out(path, page.as_bytes(), args.force, out)?;
        if !is_stdout(path) {
            writeln!(err, "page written to {}", path.display())?;
        }
    }
    // What is finished is shown before it is told what is not.
    if !done.failures.is_empty() {
        return Err(Failure::Several(done.failures));
    }
    let mut columns = compared.columns.iter();
    Ok(columns.any(|column| danger(&column.check.findings)))
}

/// Before the work, so that nothing is worked out that cannot be written.
fn page_can_be_written(args: &CompareArguments, page: &Path) -> Result<(), Failure> {
    if args.json && is_stdout(page) {
        return Err(Failure::unusable(
            "--json and the page would both go to the same output",
            "leave one of them away, or name a file with -o",
        ));
    }
    for file in &args.files {
        not_over(page, file, "one of the files to compare")?;
    }
    can_be_written(page, args.force)
}

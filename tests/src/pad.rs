//! What tests of `pad` share: the command and its document, the demo's files to change, and networks
//! solved by nodes.

use std::path::PathBuf;

use netlist::network::Network;
use netlist::project::{Loaded, load};
use serde_json::Value;
use solver::grid::Grid;
use solver::nodal::{Drive, Plan, Solution, Values, Workspace};
use solver::spectrum::Spectrum;
use tempfile::TempDir;

use crate::command::{Outcome, handover};
pub use crate::document::{all_finite, codes, number};

/// Runs `pad` with these arguments and `--json`, and reads the document.
///
/// # Panics
/// If the status is another one, or the output no document.
#[must_use]
pub fn document_with(args: &[&str], status: u8) -> Value {
    let mut line = vec!["pad"];
    line.extend(args);
    line.push("--json");
    let outcome = handover(&line);
    assert_eq!(outcome.status, status, "{args:?}: {}", outcome.err);
    serde_json::from_str(&outcome.out).expect("a document")
}

/// The same, where no danger stands.
#[must_use]
pub fn document(args: &[&str]) -> Value {
    document_with(args, 0)
}

/// Runs `pad` with these arguments for people, and gives what it prints.
///
/// # Panics
/// If the input was refused.
#[must_use]
pub fn screen(args: &[&str]) -> String {
    let mut line = vec!["pad"];
    line.extend(args);
    let outcome = handover(&line);
    assert!(outcome.status < 2, "{args:?}: {}", outcome.err);
    outcome.out
}

/// The same as running text, where folding parts no words.
#[must_use]
pub fn running_text(args: &[&str]) -> String {
    let words: Vec<String> = screen(args).split_whitespace().map(str::to_owned).collect();
    words.join(" ")
}

/// `pad` with these arguments must be refused with these words, and print nothing.
///
/// # Panics
/// If it is not.
pub fn refused(args: &[&str], words: &[&str]) {
    let mut line = vec!["pad"];
    line.extend(args);
    let Outcome { status, out, err } = handover(&line);
    assert_eq!(status, 2, "{args:?}: {err}");
    assert!(out.is_empty(), "{args:?} printed {out}");
    for word in words {
        assert!(err.contains(word), "{args:?} does not say '{word}': {err}");
    }
}

/// Message of the finding of a code, which must stand, with its severity.
///
/// # Panics
/// If it does not stand, or with another severity.
pub fn finding<'a>(document: &'a Value, code: &str, severity: &str) -> &'a str {
    let findings = document["findings"].as_array().expect("findings");
    let found = findings.iter().find(|f| f["code"] == code);
    let found = found.unwrap_or_else(|| panic!("no {code} in {:?}", codes(document)));
    assert_eq!(found["severity"], severity, "{found}");
    found["message"].as_str().expect("a message")
}

/// The demo's projects as files of one's own, to change.
#[derive(Debug)]
pub struct DemoFiles {
    folder: TempDir,
}

impl DemoFiles {
    /// Writes them.
    ///
    /// # Panics
    /// If they cannot be written.
    #[must_use]
    #[allow(clippy::new_without_default)]
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().to_str().expect("a name in UTF-8").to_owned();
        let outcome = handover(&["demo", &path]);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        Self { folder }
    }

    /// Path of a file of the folder.
    #[must_use]
    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    /// The same as text.
    ///
    /// # Panics
    /// If it is not UTF-8.
    #[must_use]
    pub fn name(&self, file: &str) -> String {
        self.path(file)
            .to_str()
            .expect("a name in UTF-8")
            .to_owned()
    }

    /// Writes `changed.toml`: a file with some words replaced by others; gives its name.
    ///
    /// # Panics
    /// If the words are not in the file.
    pub fn changed(&self, file: &str, words: &[(&str, &str)]) -> String {
        let mut text = std::fs::read_to_string(self.path(file)).expect("a file");
        for (from, to) in words {
            assert!(text.contains(from), "{from} is not in {file}");
            text = text.replace(from, to);
        }
        std::fs::write(self.path("changed.toml"), text).expect("a file that can be written");
        self.name("changed.toml")
    }

    /// Reads a file of the folder as a project.
    ///
    /// # Panics
    /// If it has mistakes.
    #[must_use]
    pub fn load(&self, file: &str) -> Loaded {
        load(&self.path(file)).unwrap_or_else(|problems| panic!("{problems}"))
    }
}

/// A network with these driver impedances, one a driver in the order of the parts, solved.
///
/// # Panics
/// If it cannot be solved.
#[must_use]
pub fn solved(
    network: &Network,
    grid: &Grid,
    loads: &[&Spectrum],
    amplifier: &Drive,
) -> (Plan, Solution) {
    let plan = Plan::compile(network).expect("a network that can be solved");
    let mut workspace = Workspace::new(&plan, grid, loads).expect("a load for each driver");
    let mut solution = Solution::new(&plan, &workspace);
    plan.run(
        &Values::of(network),
        amplifier,
        &mut workspace,
        &mut solution,
    );
    (plan, solution)
}

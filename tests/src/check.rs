//! What tests of `check` share: the demo's finished network, changed, and the command on it.

use std::path::PathBuf;

use tempfile::TempDir;

use crate::command::{Outcome, handover};

/// Few builds where a test is not about them.
pub const FEW: [&str; 2] = ["--builds", "50"];

/// The demo's finished network in a folder of its own, changed.
///
/// # Panics
/// If the demo cannot be written.
pub fn demo(change: impl Fn(String) -> String) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().to_str().expect("a path of letters");
    assert_eq!(handover(&["demo", path]).status, 0);
    let file = folder.path().join("network.toml");
    let text = std::fs::read_to_string(&file).expect("the network");
    std::fs::write(&file, change(text)).expect("a file of its own");
    (folder, file)
}

/// What `check` says of it in JSON.
///
/// # Panics
/// As [`demo`].
pub fn checked(change: impl Fn(String) -> String) -> Outcome {
    let (_folder, file) = demo(change);
    let file = file.to_str().expect("a path of letters");
    handover(&["check", file, "--json", FEW[0], FEW[1]])
}

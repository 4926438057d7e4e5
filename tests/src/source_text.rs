//! The program's own text, for laws about how it is written.

use std::fs;
use std::path::{Path, PathBuf};

/// The crates of the program, from the root of the repository.
pub const CRATES: [&str; 3] = ["netlist/src", "solver/src", "cli/src"];

/// Root of the repository.
pub fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// All Rust files below a folder, tests left out.
pub fn files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder of the program") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().unwrap_or_default();
        if name == "tests" || name == "main" {
            continue;
        }
        if path.is_dir() {
            files.extend(self::files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    files
}

/// A text without comments, strings and its unit tests.
pub fn code(text: &str) -> String {
    let text = text
        .split("#[cfg(test)]\nmod tests {")
        .next()
        .unwrap_or(text);
    let mut code = String::new();
    for line in text.lines() {
        let line = line.split("//").next().unwrap_or(line);
        // Every other piece between quotes is a string; one over several lines names no path.
        for piece in line.split('"').step_by(2) {
            code.push_str(piece);
        }
        code.push('\n');
    }
    code
}

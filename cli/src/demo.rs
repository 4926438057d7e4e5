//! The demo inside the program: an invented screen speaker of a small repertory cinema.

use std::path::{Path, PathBuf};

use netlist::problem::Problems;
use netlist::project::{Edit, Loaded, load_edited as edited_from};

/// Name and text of each file.
pub(crate) const FILES: [(&str, &str); 12] = [
    ("brief.toml", include_str!("../demo/brief.toml")),
    ("data-sheet.toml", include_str!("../demo/data-sheet.toml")),
    ("two-way.toml", include_str!("../demo/two-way.toml")),
    ("network.toml", include_str!("../demo/network.toml")),
    (
        "low-impedance.txt",
        include_str!("../demo/low-impedance.txt"),
    ),
    ("low-response.txt", include_str!("../demo/low-response.txt")),
    (
        "mid-impedance.txt",
        include_str!("../demo/mid-impedance.txt"),
    ),
    ("mid-response.txt", include_str!("../demo/mid-response.txt")),
    (
        "high-impedance.txt",
        include_str!("../demo/high-impedance.txt"),
    ),
    (
        "high-response.txt",
        include_str!("../demo/high-response.txt"),
    ),
    (
        "high-b-impedance.txt",
        include_str!("../demo/high-b-impedance.txt"),
    ),
    (
        "high-b-response.txt",
        include_str!("../demo/high-b-response.txt"),
    ),
];

/// The measured tables that a design of the demo needs beside it, save those that are there already.
pub(crate) fn tables_for(design: &Path) -> Vec<(PathBuf, &'static str)> {
    let tables = FILES.iter().filter(|(name, _)| name.ends_with(".txt"));
    tables
        .map(|(name, text)| (design.with_file_name(name), *text))
        .filter(|(path, text)| !std::fs::read(path).is_ok_and(|there| there == text.as_bytes()))
        .collect()
}

/// A project of the demo.
pub(crate) fn load(name: &str) -> Result<Loaded, Problems> {
    load_edited(name, &[])
}

/// The same with edits.
pub(crate) fn load_edited(name: &str, edits: &[Edit]) -> Result<Loaded, Problems> {
    let read = |path: &Path| -> std::io::Result<Vec<u8>> {
        let known = FILES.iter().find(|(name, _)| path == Path::new(name));
        let (_, text) = known.ok_or(std::io::ErrorKind::NotFound)?;
        Ok(text.as_bytes().to_vec())
    };
    edited_from(&read, Path::new(name), edits)
}

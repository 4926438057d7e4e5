//! The demo inside the program: an invented screen speaker of a small repertory cinema.

use std::path::Path;

use netlist::problem::Problems;
use netlist::project::{Loaded, load_from};

/// Name and text of each file.
pub(crate) const FILES: [(&str, &str); 10] = [
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
];

/// A project of the demo.
pub(crate) fn load(name: &str) -> Result<Loaded, Problems> {
    let read = |path: &Path| -> std::io::Result<Vec<u8>> {
        let known = FILES.iter().find(|(name, _)| path == Path::new(name));
        let (_, text) = known.ok_or(std::io::ErrorKind::NotFound)?;
        Ok(text.as_bytes().to_vec())
    };
    load_from(&read, Path::new(name))
}

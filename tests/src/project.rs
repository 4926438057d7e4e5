//! Projects from texts of the test's own.

use std::io;
use std::path::Path;

use netlist::project::{Project, load_from};

/// The project of a text, with the files that it names: name and text.
///
/// # Panics
/// If there is a mistake in it.
#[must_use]
pub fn project_from(text: &str, named: &[(&str, &str)]) -> Project {
    let read = |path: &Path| -> io::Result<Vec<u8>> {
        if path == Path::new("project.toml") {
            return Ok(text.as_bytes().to_vec());
        }
        (named.iter())
            .find(|(name, _)| path == Path::new(name))
            .map(|(_, text)| text.as_bytes().to_vec())
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    };
    match load_from(&read, Path::new("project.toml")) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}\n{text}"),
    }
}

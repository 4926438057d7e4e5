//! Where files come from: the disk, or a program that carries its own.

use std::io;
use std::path::Path;

/// Reads a file whole.
pub trait Files {
    /// The bytes of the file of that name.
    ///
    /// # Errors
    /// What the system says, with [`io::ErrorKind::NotFound`] when there is no such file.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;
}

/// The files of the disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        std::fs::read(path)
    }
}

/// Any function that gives bytes for a name.
impl<F: Fn(&Path) -> io::Result<Vec<u8>>> Files for F {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        self(path)
    }
}

/// Why a file could not be read, in plain words.
#[must_use]
pub fn plain_words(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".into(),
        io::ErrorKind::PermissionDenied => "it may not be read".into(),
        io::ErrorKind::IsADirectory => "it is a folder".into(),
        _ => error.to_string(),
    }
}

//! Files are written whole or not at all, none is overwritten unasked, and what is no file is written through.

use std::fs::FileType;
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::failure::Failure;

/// Name of a file without its folder.
pub(crate) fn own_name(path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy());
    name.map_or_else(|| path.display().to_string(), |name| name.into_owned())
}

/// Whether two names are of one file that is there.
pub(crate) fn is_same(one: &Path, two: &Path) -> bool {
    match (one.canonicalize(), two.canonicalize()) {
        (Ok(one), Ok(two)) => one == two,
        _ => one == two,
    }
}

/// Refuses a page in the place of a file that it is made from, which is `what`.
pub(crate) fn not_over(page: &Path, file: &Path, what: &str) -> Result<(), Failure> {
    match is_same(page, file) {
        true => Err(Failure::unusable(
            format!("{} is {what}", page.display()),
            "name another file for the page with -o",
        )),
        false => Ok(()),
    }
}

/// Whether a name stands for the program's own output.
pub(crate) fn is_stdout(path: &Path) -> bool {
    const NAMES: [&str; 4] = ["-", "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"];
    NAMES.iter().any(|name| path == Path::new(name))
}

/// Whether a name is of something that takes data one after another and cannot be replaced: the program's
/// output, a pipe with a name, a terminal or another device.
pub(crate) fn is_stream(path: &Path) -> bool {
    let open_already = path.starts_with("/dev/fd") || path.starts_with("/proc/self/fd");
    is_stdout(path)
        || open_already
        || path == Path::new("/dev/stderr")
        || path
            .metadata()
            .is_ok_and(|there| takes_data(there.file_type()))
}

#[cfg(unix)]
fn takes_data(kind: FileType) -> bool {
    use std::os::unix::fs::FileTypeExt;
    kind.is_fifo() || kind.is_char_device()
}

#[cfg(not(unix))]
fn takes_data(_: FileType) -> bool {
    false
}

/// Where a link leads, which need not be there; the name itself when it is no link.
fn led_to(path: &Path) -> std::io::Result<PathBuf> {
    /// A chain of links that is longer goes round, as the system takes it.
    const LINKS: usize = 40;
    let mut path = path.to_owned();
    for _ in 0..LINKS {
        match path.read_link() {
            Ok(to) => path = folder_of(&path).join(to),
            Err(_) => return Ok(path),
        }
    }
    Err(std::io::Error::other("links lead round in a circle"))
}

/// Refuses, before any work is done, a file that is there and may not be overwritten, and one that cannot be
/// written because its folder is not there or it is a folder, a disk or the like itself.
pub(crate) fn can_be_written(path: &Path, force: bool) -> Result<(), Failure> {
    let failed = |error| Failure::Write {
        path: path.to_owned(),
        error,
    };
    if is_stream(path) {
        return Ok(());
    }
    // A link that leads nowhere counts as there.
    if !force && path.symlink_metadata().is_ok() {
        return Err(Failure::Exists {
            path: path.to_owned(),
        });
    }
    let end = led_to(path).map_err(failed)?;
    match end.metadata() {
        Ok(there) if there.is_dir() => Err(failed(std::io::ErrorKind::IsADirectory.into())),
        Ok(there) if !there.is_file() => Err(failed(std::io::Error::other(
            "it is a disk or a connection, not a file",
        ))),
        _ if folder_of(&end).is_dir() => Ok(()),
        _ => Err(failed(std::io::ErrorKind::NotFound.into())),
    }
}

/// The folder that a file is in.
pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Writes a file by way of a temporary one beside it; the file that a link leads to, not over the link; and
/// straight into what is no file.
pub(crate) fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let failed = |error| Failure::Write {
        path: path.to_owned(),
        error,
    };
    can_be_written(path, force)?;
    if is_stream(path) {
        let opened = std::fs::OpenOptions::new().append(true).open(path);
        return opened
            .and_then(|mut stream| stream.write_all(bytes))
            .map_err(failed);
    }
    let end = led_to(path).map_err(failed)?;
    let mut file = NamedTempFile::new_in(folder_of(&end)).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    set_usual_permissions(&file).map_err(failed)?;
    let kept = if force {
        file.persist(&end)
    } else {
        file.persist_noclobber(&end)
    };
    match kept {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(Failure::Exists {
                path: path.to_owned(),
            })
        }
        Err(error) => Err(failed(error.error)),
    }
}

/// Writes several files into a folder, which is made where it is not there: all, or none where one may not be
/// overwritten. `what` they are for, where the folder is a file.
pub(crate) fn write_all(
    folder: &Path,
    files: &[(impl AsRef<Path>, impl AsRef<[u8]>)],
    what: &str,
    force: bool,
) -> Result<(), Failure> {
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::unusable(
            format!("{} is a file, not a folder", folder.display()),
            format!("name a folder {what}; it is made when it is not there"),
        ));
    }
    std::fs::create_dir_all(folder).map_err(|error| Failure::Write {
        path: folder.to_owned(),
        error,
    })?;
    for (name, _) in files {
        can_be_written(&folder.join(name), force)?;
    }
    for (name, text) in files {
        write_whole(&folder.join(name), text.as_ref(), force)?;
    }
    Ok(())
}

/// The same, and to `out` where the name stands for it.
pub(crate) fn write_out(
    path: &Path,
    bytes: &[u8],
    force: bool,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    if is_stdout(path) {
        return Ok(out.write_all(bytes)?);
    }
    write_whole(path, bytes, force)
}

/// A temporary file is for its owner alone; a written one is for whoever may read the folder.
#[cfg(unix)]
fn set_usual_permissions(file: &NamedTempFile) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let permissions = std::fs::Permissions::from_mode(0o644);
    file.as_file().set_permissions(permissions)
}

#[cfg(not(unix))]
fn set_usual_permissions(_: &NamedTempFile) -> std::io::Result<()> {
    Ok(())
}

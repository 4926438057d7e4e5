//! Files are written whole or not at all, and none is overwritten unasked.

use std::io::Write;
use std::path::{Path, PathBuf};

use netlist::project::{Form, Loaded};
use tempfile::NamedTempFile;

use crate::args::Source;
use crate::failure::Failure;

/// Where what is made of a project goes: where the builder says, or beside its file, with `added` to the
/// name; nowhere for the demo.
pub(crate) fn beside_project(
    output: Option<&PathBuf>,
    source: &Source,
    loaded: &Loaded,
    added: &str,
) -> Option<PathBuf> {
    if output.is_some() {
        return output.cloned();
    }
    source.file.as_ref()?;
    let stem = loaded.path.file_stem()?.to_string_lossy();
    let ending = match loaded.form {
        Form::Toml => "toml",
        Form::Json => "json",
    };
    let name = format!("{stem}-{added}.{ending}");
    Some(loaded.path.with_file_name(name))
}

/// Whether two names are of one file that is there.
pub(crate) fn is_same(one: &Path, two: &Path) -> bool {
    match (one.canonicalize(), two.canonicalize()) {
        (Ok(one), Ok(two)) => one == two,
        _ => one == two,
    }
}

/// Refuses, before any work is done, a file that is there and may not be overwritten, and one that cannot be
/// written because its folder is not there or it is a folder itself.
pub(crate) fn can_be_written(path: &Path, force: bool) -> Result<(), Failure> {
    // A link that leads nowhere counts as there.
    if !force && path.symlink_metadata().is_ok() {
        return Err(Failure::Exists {
            path: path.to_owned(),
        });
    }
    let kind = if path.is_dir() {
        std::io::ErrorKind::IsADirectory
    } else if folder_of(path).is_dir() {
        return Ok(());
    } else {
        std::io::ErrorKind::NotFound
    };
    Err(Failure::Write {
        path: path.to_owned(),
        error: kind.into(),
    })
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Writes a file by way of a temporary one beside it.
pub(crate) fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let failed = |error| Failure::Write {
        path: path.to_owned(),
        error,
    };
    let mut file = NamedTempFile::new_in(folder_of(path)).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    set_usual_permissions(&file).map_err(failed)?;
    let kept = if force {
        file.persist(path)
    } else {
        file.persist_noclobber(path)
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

/// Whether the folder that a file is to be written to is there.
pub(crate) fn in_a_folder(path: &Path) -> Result<(), Failure> {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            Err(Failure::Unusable {
                message: format!(
                    "{} cannot be written: there is no folder {}",
                    path.display(),
                    folder.display()
                ),
                help: "make the folder first, or choose another place".to_owned(),
            })
        }
        _ => Ok(()),
    }
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

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

/// Writes a file by way of a temporary one beside it.
pub(crate) fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let failed = |error| Failure::Write {
        path: path.to_owned(),
        error,
    };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut file = NamedTempFile::new_in(folder).map_err(failed)?;
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

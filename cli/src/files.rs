//! Files are written whole or not at all, and none is overwritten unasked.

use std::io::Write;
use std::path::Path;

use tempfile::NamedTempFile;

use crate::failure::Failure;

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

//! `handover demo`: the demo project as files.

use std::io::Write;

use crate::args::Demo;
use crate::demo::FILES;
use crate::failure::Failure;
use crate::files::{can_be_written, write_whole};

pub(crate) fn run(demo: &Demo, err: &mut dyn Write) -> Result<(), Failure> {
    let folder = &demo.folder;
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::Unusable {
            message: format!("{} is a file, not a folder", folder.display()),
            help: "name a folder to write the demo into; it is made when it is not there"
                .to_owned(),
        });
    }
    std::fs::create_dir_all(folder).map_err(|error| Failure::Write {
        path: folder.clone(),
        error,
    })?;
    // All or none: do not stop half-way because of one file.
    for (name, _) in FILES {
        can_be_written(&folder.join(name), demo.force)?;
    }
    for (name, text) in FILES {
        write_whole(&folder.join(name), text.as_bytes(), demo.force)?;
    }
    let (brief, network) = (folder.join("brief.toml"), folder.join("network.toml"));
    writeln!(
        err,
        "{} files written to {}; all data are invented",
        FILES.len(),
        folder.display()
    )?;
    writeln!(err, "try next: handover design {}", brief.display())?;
    writeln!(err, "      or: handover check {}", network.display())?;
    writeln!(err, "      or: handover sweep {}", network.display())?;
    Ok(())
}

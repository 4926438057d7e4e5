//! `handover demo`: the demo project as files.

use std::io::Write;
use std::path::Path;

use crate::args::DemoArguments;
use crate::demo::FILES;
use crate::failure::Failure;
use crate::files::{can_be_written, write_whole};

pub(crate) fn run(demo: &DemoArguments, err: &mut dyn Write) -> Result<(), Failure> {
    // No name is the folder where the command is run.
    let folder = match demo.folder.as_os_str().is_empty() {
        true => Path::new("."),
        false => &demo.folder,
    };
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::Unusable {
            message: format!("{} is a file, not a folder", folder.display()),
            help: "name a folder to write the demo into; it is made when it is not there"
                .to_owned(),
        });
    }
    std::fs::create_dir_all(folder).map_err(|error| Failure::Write {
        path: folder.to_owned(),
        error,
    })?;
    // All or none: do not stop half-way because of one file.
    for (name, _) in FILES {
        can_be_written(&folder.join(name), demo.force)?;
    }
    for (name, text) in FILES {
        write_whole(&folder.join(name), text.as_bytes(), demo.force)?;
    }
    let at = |name: &str| folder.join(name).display().to_string();
    let tables = FILES.iter().filter(|(name, _)| name.ends_with(".txt"));
    writeln!(
        err,
        "written to {}, all data invented: the briefs brief.toml, two-way.toml and data-sheet.toml, the finished \
         network network.toml, and {} measured tables",
        folder.display(),
        tables.count()
    )?;
    writeln!(
        err,
        "try next: handover design {}, which writes {} and its page {}",
        at("brief.toml"),
        at("brief-design.toml"),
        at("brief-design.html")
    )?;
    writeln!(err, "      or: handover check {}", at("network.toml"))?;
    writeln!(
        err,
        "      or: handover compare {} --swap high=high-b --quick",
        at("brief.toml")
    )?;
    writeln!(err, "      or: handover sweep {}", at("network.toml"))?;
    Ok(())
}

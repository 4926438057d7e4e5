//! `handover demo`: the demo project as files.

use std::io::Write;
use std::path::Path;

use crate::args::DemoArguments;
use crate::demo::FILES;
use crate::failure::Failure;
use crate::files::write_all;

pub(crate) fn run(demo: &DemoArguments, err: &mut dyn Write) -> Result<(), Failure> {
    // No name is the folder where the command is run.
    let folder = match demo.folder.as_os_str().is_empty() {
        true => Path::new("."),
        false => &demo.folder,
    };
    write_all(folder, &FILES, "to write the demo into", demo.force)?;
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

//! Measured tables that a command names.

use std::path::Path;

use netlist::project::plain_words;
use netlist::table::{Table, TableKind};

use crate::failure::Failure;

/// A measured table from a file.
pub(crate) fn measured_table(path: &Path, kind: TableKind) -> Result<Table, Failure> {
    let bytes = std::fs::read(path).map_err(|error| {
        let (path, why) = (path.display(), plain_words(&error));
        Failure::unusable(
            format!("{path} cannot be read: {why}"),
            "check the name and the folder",
        )
    })?;
    Ok(Table::parse(&path.display().to_string(), &bytes, kind)?)
}

//! Measured tables that a command names.

use std::path::Path;

use netlist::table::{Table, TableKind};

use crate::failure::Failure;

/// A measured table from a file.
pub(crate) fn measured_table(path: &Path, kind: TableKind) -> Result<Table, Failure> {
    let bytes = std::fs::read(path).map_err(|error| Failure::Unusable {
        message: format!(
            "{} cannot be read: {}",
            path.display(),
            match error.kind() {
                std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
                std::io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
                _ => error.to_string(),
            }
        ),
        help: "check the name and the folder".to_owned(),
    })?;
    Ok(Table::parse(&path.display().to_string(), &bytes, kind)?)
}

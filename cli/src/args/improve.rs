//! The options of `improve`.

use std::path::PathBuf;

use clap::Args;

use super::SourceArguments;

#[derive(Debug, Args)]
pub(crate) struct ImproveArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Design file to write [default: beside the design, its name with -improved]
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Overwrite the file if it is there
    #[arg(long)]
    pub(crate) force: bool,
    /// Let the network grow: sections may be added and exchanged
    #[arg(long)]
    pub(crate) grow: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

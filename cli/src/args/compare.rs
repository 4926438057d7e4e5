//! The options of `compare`.

use std::path::PathBuf;

use clap::Args;

use super::search::SearchArguments;
use super::value::whole;

#[derive(Debug, Args)]
pub(crate) struct CompareArguments {
    /// Two to six designs or briefs; briefs are designed first. One where it is changed by the options below
    #[arg(
        value_name = "FILE",
        required_unless_present = "demo",
        conflicts_with = "demo"
    )]
    pub(crate) files: Vec<PathBuf>,
    /// Use the demo inside the program: its three-way, that with another high driver, and its two-way
    #[arg(long)]
    pub(crate) demo: bool,
    /// Let other drivers of the file take a way, such as high=high-b,high-c; may be repeated
    #[arg(long, value_name = "WAY=DRIVERS")]
    pub(crate) swap: Vec<String>,
    /// Leave out ways, such as mid; may be repeated for another column
    #[arg(long, value_name = "WAYS")]
    pub(crate) without: Vec<String>,
    /// Keep only these ways, such as low,high; may be repeated for another column
    #[arg(long, value_name = "WAYS")]
    pub(crate) ways: Vec<String>,
    /// Give a field of the file other values, such as amplifier.output_impedance="0 ohm","2 ohm"; may be repeated
    #[arg(long, value_name = "FIELD=VALUES")]
    pub(crate) vary: Vec<String>,
    /// Page to write: curves over each other, trade-offs, drawings side by side
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Overwrite the page if it is there
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
    #[command(flatten)]
    pub(crate) search: SearchArguments,
    /// Builds drawn at random for the tolerance, as for check
    #[arg(long, value_name = "N", default_value_t = 10_000, allow_hyphen_values = true, value_parser = whole::<u32>(1..=1_000_000))]
    pub(crate) builds: u32,
    /// Show all parts, those that do not differ too
    #[arg(long, conflicts_with = "json")]
    pub(crate) full: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

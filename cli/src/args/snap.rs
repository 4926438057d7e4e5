//! The options of `snap`.

use std::path::PathBuf;

use clap::Args;
use netlist::series::Series;

use super::SourceArguments;
use super::value::{price, whole};

#[derive(Debug, Args)]
pub(crate) struct SnapArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Design file to write [default: beside the design, its name with -snapped]
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Overwrite the file if it is there
    #[arg(long)]
    pub(crate) force: bool,
    /// Values looked at on each side of the nearest, for every part
    #[arg(long, value_name = "N", default_value_t = 3, allow_hyphen_values = true, value_parser = whole::<u32>(1..=10))]
    pub(crate) window: u32,
    /// Take all values from this series in place of what the stock says
    #[arg(long, value_name = "SERIES")]
    pub(crate) series: Option<Series>,
    /// Most that all parts of one loudspeaker may cost, in the money of the catalogue
    #[arg(long, value_name = "PRICE", allow_hyphen_values = true, value_parser = price)]
    pub(crate) budget: Option<f64>,
    /// Come as near to the aim as the stock allows, in place of changing the loudspeaker least: for ideal values
    /// that were never tuned by ear
    #[arg(long)]
    pub(crate) to_aim: bool,
    /// Accepted and needless: the tolerance of the parts always counts
    #[arg(long)]
    pub(crate) robust: bool,
    /// Seed of the search
    #[arg(long, value_name = "N", default_value_t = 1, allow_hyphen_values = true, value_parser = whole::<u64>(0..=u64::MAX))]
    pub(crate) seed: u64,
    /// Write another of the alternatives
    #[arg(long, value_name = "N", default_value_t = 1, allow_hyphen_values = true, value_parser = whole::<u32>(1..=9))]
    pub(crate) pick: u32,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

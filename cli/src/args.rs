//! What is typed: commands and options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use netlist::quantity::Hertz;

/// Designs passive loudspeaker crossover networks for the drivers as they are.
#[derive(Debug, Parser)]
#[command(name = "handover", version, arg_required_else_help = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the demo project: three briefs, measured tables and a finished network, all invented
    Demo(Demo),
    /// Curves of a design: levels, phases, load and node voltages
    Sweep(Sweep),
}

#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// Folder to write into; made when it is not there
    pub(crate) folder: PathBuf,
    /// Overwrite files that are there
    #[arg(long)]
    pub(crate) force: bool,
}

/// The project that a command works on.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
pub(crate) struct Source {
    /// Project file, TOML or JSON
    pub(crate) file: Option<PathBuf>,
    /// Use the demo inside the program
    #[arg(long)]
    pub(crate) demo: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Sweep {
    #[command(flatten)]
    pub(crate) source: Source,
    /// Print one JSON document
    #[arg(long, conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print comma-separated columns
    #[arg(long)]
    pub(crate) csv: bool,
    /// Frequencies to compute, such as 100,1k,"6.5 kHz"; rising
    #[arg(long, value_delimiter = ',', value_name = "FREQUENCIES", conflicts_with_all = ["points", "from", "to"])]
    pub(crate) at: Vec<Hertz>,
    /// Number of frequencies, evenly spaced in log-frequency [default: 400 with --json or --csv, 31 without]
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub(crate) points: Option<u32>,
    /// Lowest frequency
    #[arg(long, default_value = "20 Hz")]
    pub(crate) from: Hertz,
    /// Highest frequency
    #[arg(long, default_value = "20 kHz")]
    pub(crate) to: Hertz,
}

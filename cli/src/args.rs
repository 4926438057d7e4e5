//! What is typed: commands and options.

mod built;
mod compare;
mod improve;
mod pad;
mod search;
mod snap;
mod value;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use netlist::quantity::{Decibels, Hertz, Ohms};

pub(crate) use built::{BuiltArguments, SweepArgument};
pub(crate) use compare::CompareArguments;
pub(crate) use improve::ImproveArguments;
pub(crate) use pad::PadArguments;
pub(crate) use search::SearchArguments;
pub(crate) use snap::SnapArguments;

use value::{quantity, whole};

/// Builds drawn at random where nothing else is said.
const BUILDS: u32 = 10_000;

/// Designs passive loudspeaker crossover networks for the drivers as they are.
#[derive(Debug, Parser)]
#[command(
    name = "handover",
    version,
    arg_required_else_help = true,
    disable_help_subcommand = true
)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the demo project: three briefs, measured tables and a finished network, all invented
    Demo(DemoArguments),
    /// Design a network from a brief; writes the design file and shows it on one screen
    Design(DesignArguments),
    /// Move the values of a design onto parts that can be bought, so that the loudspeaker changes least
    Snap(SnapArguments),
    /// Make a network that exists better: values, wires of drivers, needless parts; --grow adds sections
    Improve(ImproveArguments),
    /// Check a design before money is spent: load, stress, heat, wire, tolerance, faults
    Check(CheckArguments),
    /// Size or check a pad on a resistor or on a driver's real impedance
    Pad(PadArguments),
    /// Curves of a design: levels, phases, load and node voltages
    Sweep(SweepArguments),
    /// One page about a design, on which values can be changed: curves, parts, wiring, coils, cautions
    Report(ReportArguments),
    /// Designs and briefs side by side: which is better, in what, and what differs; other drivers, fewer ways, other
    /// values of any field
    Compare(CompareArguments),
    /// Was it built as drawn? One impedance sweep at the terminals names the part that is wrong
    Built(BuiltArguments),
    /// Help on a command, on `files` (what a project file holds), or on `json` (what --json gives)
    Help(HelpArguments),
}

#[derive(Debug, Args)]
pub(crate) struct HelpArguments {
    /// A command, files, or json
    pub(crate) topic: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct DemoArguments {
    /// Folder to write into; made when it is not there
    pub(crate) folder: PathBuf,
    /// Overwrite files that are there
    #[arg(long)]
    pub(crate) force: bool,
}

/// The project that a command works on.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
pub(crate) struct SourceArguments {
    /// Project file, TOML or JSON
    pub(crate) file: Option<PathBuf>,
    /// Use the demo inside the program
    #[arg(long)]
    pub(crate) demo: bool,
}

#[derive(Debug, Args)]
pub(crate) struct DesignArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Design file to write [default: beside the brief, its name with -design]
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Overwrite the design file if it is there
    #[arg(long)]
    pub(crate) force: bool,
    /// Write the ideal values instead of those of the stock
    #[arg(long)]
    pub(crate) ideal: bool,
    /// Write another of the alternatives, by its number in the list
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = whole::<u32>(1..=99))]
    pub(crate) pick: Option<u32>,
    #[command(flatten)]
    pub(crate) search: SearchArguments,
    /// Show notes too
    #[arg(long)]
    pub(crate) full: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct CheckArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Number of builds drawn at random for the tolerance
    #[arg(long, value_name = "N", default_value_t = BUILDS, allow_hyphen_values = true, value_parser = whole::<u32>(1..=1_000_000))]
    pub(crate) builds: u32,
    /// Seed of the builds; the same seed gives the same builds
    #[arg(long, value_name = "N", default_value_t = 1, allow_hyphen_values = true, value_parser = whole::<u64>(0..=u64::MAX))]
    pub(crate) seed: u64,
    /// Spread of the level of each driver, plus or minus
    #[arg(long, value_name = "LEVEL", default_value = "1 dB", allow_hyphen_values = true, value_parser = quantity::<Decibels>)]
    pub(crate) driver_level: Decibels,
    /// Output impedances of other amplifiers it may be used with, such as "0 ohm","3 ohm"
    #[arg(long, value_name = "OHM", value_delimiter = ',', allow_hyphen_values = true, value_parser = quantity::<Ohms>)]
    pub(crate) amplifier: Vec<Ohms>,
    /// Measured response of ways playing together: the depth between them is fitted to it
    #[arg(long, value_name = "FILE")]
    pub(crate) sum: Option<PathBuf>,
    /// Ways that played in --sum, neighbours such as low,mid; all when not said
    #[arg(long, value_name = "WAYS", value_delimiter = ',', requires = "sum")]
    pub(crate) ways: Vec<String>,
    /// Print all tables and notes
    #[arg(long, conflicts_with = "json")]
    pub(crate) full: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct SweepArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Print one JSON document
    #[arg(long, conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print comma-separated columns
    #[arg(long)]
    pub(crate) csv: bool,
    /// Frequencies to compute, such as 100,1k,"6.5 kHz"; rising
    #[arg(long, value_delimiter = ',', value_name = "FREQUENCIES", allow_hyphen_values = true, value_parser = quantity::<Hertz>, conflicts_with_all = ["points", "from", "to"])]
    pub(crate) at: Vec<Hertz>,
    /// Number of frequencies, evenly spaced in log-frequency [default: 400 with --json or --csv, 31 without]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = whole::<u32>(1..=100_000))]
    pub(crate) points: Option<u32>,
    /// Lowest frequency
    #[arg(long, value_name = "HZ", default_value = "20 Hz", allow_hyphen_values = true, value_parser = quantity::<Hertz>)]
    pub(crate) from: Hertz,
    /// Highest frequency
    #[arg(long, value_name = "HZ", default_value = "20 kHz", allow_hyphen_values = true, value_parser = quantity::<Hertz>)]
    pub(crate) to: Hertz,
}

#[derive(Debug, Args)]
pub(crate) struct ReportArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    /// Page to write [default: beside the design, its name with .html]
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Write the pictures as SVG files into a folder too
    #[arg(long, value_name = "FOLDER")]
    pub(crate) pictures: Option<PathBuf>,
    /// Overwrite files that are there
    #[arg(long)]
    pub(crate) force: bool,
    /// Open the page when it is written
    #[arg(long)]
    pub(crate) open: bool,
}

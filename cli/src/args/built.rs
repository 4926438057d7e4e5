//! Options of `built`.

use std::path::PathBuf;

use clap::error::Error;
use clap::{Arg, ArgAction, ArgMatches, Args, Command, FromArgMatches, value_parser};
use netlist::quantity::Ohms;

use super::SourceArguments;
use super::value::quantity;

#[derive(Debug, Args)]
pub(crate) struct BuiltArguments {
    #[command(flatten)]
    pub(crate) source: SourceArguments,
    #[command(flatten)]
    pub(crate) sweeps: Sweeps,
    /// Measured response: of the sum, or MID=FILE of one way; may be repeated
    #[arg(long, value_name = "FILE")]
    pub(crate) response: Vec<String>,
    /// Resistance of the measuring leads, such as "0.2 ohm"; estimated when not said
    #[arg(long, value_name = "OHM", allow_hyphen_values = true, value_parser = quantity::<Ohms>)]
    pub(crate) lead: Option<Ohms>,
    /// What a meter should show before the first switch-on
    #[arg(long, conflicts_with_all = ["impedance", "without", "only", "response", "output"])]
    pub(crate) expect: bool,
    /// Write a page with the measured curve over the designed one
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Overwrite the page if it is there
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

/// Sweeps, each with the drivers that were connected: `--without` and `--only` belong to the `--impedance`
/// before them, or to the first.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Sweeps(pub(crate) Vec<SweepArgument>);

/// One sweep.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct SweepArgument {
    pub(crate) file: PathBuf,
    /// Drivers that were disconnected.
    pub(crate) without: Vec<String>,
    /// The only drivers that were connected; all where none is named.
    pub(crate) only: Vec<String>,
}

impl Args for Sweeps {
    fn augment_args(command: Command) -> Command {
        let name = |id: &'static str, help: &'static str| {
            Arg::new(id)
                .long(id)
                .value_name("DRIVER")
                .action(ArgAction::Append)
                .value_delimiter(',')
                .requires("impedance")
                .help(help)
        };
        command
            .arg(
                Arg::new("impedance")
                    .long("impedance")
                    .value_name("FILE")
                    .action(ArgAction::Append)
                    .value_parser(value_parser!(PathBuf))
                    .help("Impedance measured at the loudspeaker's terminals; may be repeated"),
            )
            .arg(name(
                "without",
                "Driver that was disconnected in the sweep before",
            ))
            .arg(name(
                "only",
                "The only driver that was connected in the sweep before",
            ))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Sweeps {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let files = matches
            .get_many::<PathBuf>("impedance")
            .into_iter()
            .flatten();
        let places: Vec<usize> = matches
            .indices_of("impedance")
            .into_iter()
            .flatten()
            .collect();
        let mut sweeps: Vec<SweepArgument> = files
            .map(|file| SweepArgument {
                file: file.clone(),
                ..SweepArgument::default()
            })
            .collect();
        for id in ["without", "only"] {
            let names = matches.get_many::<String>(id).into_iter().flatten();
            let indices = matches.indices_of(id).into_iter().flatten();
            for (name, index) in names.zip(indices) {
                let before = places.iter().filter(|place| **place < index).count();
                let Some(sweep) = sweeps.get_mut(before.saturating_sub(1)) else {
                    continue;
                };
                match id {
                    "without" => sweep.without.push(name.clone()),
                    _ => sweep.only.push(name.clone()),
                }
            }
        }
        Ok(Self(sweeps))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::super::{Arguments, Command as Which};
    use super::*;

    fn sweeps(line: &[&str]) -> Vec<SweepArgument> {
        let line = ["handover", "built", "d.toml"].iter().chain(line);
        match Arguments::try_parse_from(line).unwrap().command {
            Which::Built(built) => built.sweeps.0,
            _ => panic!("built"),
        }
    }

    #[test]
    fn what_was_connected_belongs_to_the_sweep_before_it() {
        let one = |file: &str, without: &[&str], only: &[&str]| SweepArgument {
            file: file.into(),
            without: without.iter().map(|s| (*s).to_owned()).collect(),
            only: only.iter().map(|s| (*s).to_owned()).collect(),
        };
        let found = sweeps(&[
            "--impedance",
            "a",
            "--impedance",
            "b",
            "--without",
            "low,mid",
            "--impedance",
            "c",
            "--only",
            "high",
        ]);
        let right = [
            one("a", &[], &[]),
            one("b", &["low", "mid"], &[]),
            one("c", &[], &["high"]),
        ];
        assert_eq!(found, right);
        // Before the first it belongs to the first.
        let found = sweeps(&["--without", "low", "--impedance", "a"]);
        assert_eq!(found, [one("a", &["low"], &[])]);
    }

    #[test]
    fn nothing_was_disconnected_from_no_sweep() {
        let line = ["handover", "built", "d.toml", "--without", "low"];
        assert!(Arguments::try_parse_from(line).is_err());
    }
}

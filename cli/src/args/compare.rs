//! The options of `compare`.

use std::path::PathBuf;

use clap::Args;

use super::BUILDS;
use super::search::SearchArguments;
use super::value::whole;
use crate::words::quoted;

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
    #[arg(long, value_name = "N", default_value_t = BUILDS, allow_hyphen_values = true, value_parser = whole::<u32>(1..=1_000_000))]
    pub(crate) builds: u32,
    /// Show all parts, those that do not differ too
    #[arg(long, conflicts_with = "json")]
    pub(crate) full: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}

impl CompareArguments {
    /// The command that makes the same comparison again.
    pub(crate) fn words(&self) -> String {
        let mut words = vec!["handover compare".to_owned()];
        let files = self.files.iter().map(|file| file.display().to_string());
        words.extend(files.map(|file| quoted(&file)));
        words.extend(self.demo.then(|| "--demo".to_owned()));
        for (option, values) in [
            ("--swap", &self.swap),
            ("--without", &self.without),
            ("--ways", &self.ways),
            ("--vary", &self.vary),
        ] {
            let values = values.iter();
            words.extend(values.map(|value| format!("{option} {}", quoted(value))));
        }
        words.push(self.search.words());
        words.extend((self.builds != BUILDS).then(|| format!("--builds {}", self.builds)));
        words.join(" ")
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::super::{Arguments, Command};

    /// What is typed again gives the same.
    #[test]
    fn the_command_is_that_which_was_given() {
        for line in [
            "compare a.toml 'my brief.toml' --seed 1 --starts 2",
            "compare --demo --swap high=high-b --parts 12 --budget 99.5 --seed 3 --starts 4 --quick --builds 500",
        ] {
            let quoted = |word: &str| word.replace('\'', "").replace('_', " ");
            let typed = line.replace("my brief", "my_brief");
            let typed = ["handover".to_owned()]
                .into_iter()
                .chain(typed.split(' ').map(quoted));
            let Command::Compare(given) = Arguments::try_parse_from(typed).unwrap().command else {
                panic!("compare");
            };
            assert_eq!(given.words(), format!("handover {line}"));
        }
    }
}

//! `handover help`: of the commands, of the project file, of the JSON documents.
//!
//! A command that prints a new document adds its fields to its text here; the tests hold the texts against the
//! documents.

use std::io::Write;

use clap::CommandFactory;

use crate::args::{Arguments, HelpArguments};
use crate::failure::Failure;

const FILES: &str = include_str!("help/files.txt");

/// What holds for all documents, then one text a command.
const JSON: [&str; 9] = [
    include_str!("help/json.txt"),
    include_str!("help/design.txt"),
    include_str!("help/snap.txt"),
    include_str!("help/improve.txt"),
    include_str!("help/check.txt"),
    include_str!("help/compare.txt"),
    include_str!("help/built.txt"),
    include_str!("help/pad.txt"),
    include_str!("help/sweep.txt"),
];

pub(crate) fn run(help: &HelpArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let mut program = Arguments::command();
    program.build();
    let text = match help.topic.as_deref() {
        None => program.render_help().to_string(),
        Some("files") => FILES.to_owned(),
        Some("json") => JSON.join("\n"),
        Some(topic) => match program.find_subcommand_mut(topic) {
            Some(command) => command.render_help().to_string(),
            None => return Err(unknown(topic, &program)),
        },
    };
    write!(out, "{text}")?;
    Ok(())
}

fn unknown(topic: &str, program: &clap::Command) -> Failure {
    let commands = program.get_subcommands().map(clap::Command::get_name);
    let topics: Vec<&str> = ["files", "json"].into_iter().chain(commands).collect();
    Failure::unusable(
        format!("there is no help on '{topic}'"),
        format!("there is help on {}", topics.join(", ")),
    )
}

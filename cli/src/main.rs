//! The program; everything is in the library half.

use std::process::ExitCode;

fn main() -> ExitCode {
    handover::fit_terminal();
    handover::run(
        std::env::args_os(),
        &mut std::io::stdout(),
        &mut std::io::stderr(),
    )
}

//! The program as a process of its own, for the few tests that need a real one.

use std::process::ExitCode;

fn main() -> ExitCode {
    handover::run(
        std::env::args_os(),
        &mut std::io::stdout(),
        &mut std::io::stderr(),
    )
}

//! The program as a process of its own: its exit status, and an output that nobody reads.

use std::io::Read;
use std::process::{Command, Stdio};

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_handover-under-test"))
}

#[test]
fn status_0_when_done_and_2_when_the_input_cannot_be_used() {
    let done = program().args(["sweep", "--demo", "--at", "1000"]).output();
    let done = done.expect("a process");
    assert_eq!(done.status.code(), Some(0));
    assert!(!done.stdout.is_empty());

    let wrong = program()
        .args(["sweep", "there-is-no-such-file.toml"])
        .output();
    let wrong = wrong.expect("a process");
    assert_eq!(wrong.status.code(), Some(2));
    assert!(wrong.stdout.is_empty());
    assert!(!wrong.stderr.is_empty());

    let nothing = program().output().expect("a process");
    assert_eq!(nothing.status.code(), Some(2));
}

/// As with `handover sweep ... | head`: whoever reads has seen enough, and that is no failure.
#[test]
fn an_output_closed_early_is_no_failure_and_needs_no_words() {
    // More than a pipe holds, so that the program must still be writing when it is closed.
    let mut process = program()
        .args(["sweep", "--demo", "--csv", "--points", "5000"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("a process");
    let mut out = process.stdout.take().expect("its output");
    let mut first = [0; 100];
    out.read_exact(&mut first).expect("the first bytes");
    assert!(first.starts_with(b"frequency_hz,"));
    drop(out);
    let output = process.wait_with_output().expect("its end");
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

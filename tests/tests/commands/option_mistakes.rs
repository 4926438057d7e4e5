//! What a builder sees when an option is wrong: one message with the way out, status 2, nothing half written.

use std::fs;
use tests::command::handover;

use super::mistakes::{Broken, one_message};

#[test]
fn frequencies_that_fall_or_are_none() {
    for (at, words) in [
        ("100,50", "50 Hz"),
        ("0,50", "--at 0 Hz is outside of 0.001 Hz to 10 MHz"),
    ] {
        let outcome = handover(&["sweep", "--demo", "--json", "--at", at]);
        let first = one_message(&outcome);
        assert!(first.contains(words), "{first}");
    }
    let outcome = handover(&["sweep", "--demo", "--from", "1 kHz", "--to", "100 Hz"]);
    one_message(&outcome);
}

#[test]
fn options_that_do_not_fit() {
    let lines: [&[&str]; 7] = [
        &["sweep"],
        &["sweep", "--demo", "--json", "--csv"],
        &["sweep", "--demo", "project.toml"],
        &["sweep", "--demo", "--points", "0"],
        &["sweep", "--demo", "--at", "loud"],
        &["sweep", "--demo", "--at", "100", "--points", "5"],
        &["swoop"],
    ];
    for line in lines {
        let outcome = handover(line);
        assert_eq!(outcome.status, 2, "{line:?}");
        assert_eq!(outcome.out, "", "{line:?}");
        assert!(
            outcome.err.contains("error: ") && outcome.err.contains("--help"),
            "{}",
            outcome.err
        );
    }
}

#[test]
fn a_value_with_a_minus_is_answered_with_its_limit() {
    let pad = ["pad", "--load", "8 ohm", "--attenuation", "10 dB"];
    let coil = ["pad", "--load", "8 ohm", "--kind", "autoformer"];
    let lines: [(&[&str], &[&str], &str); 20] = [
        (
            &pad,
            &["--steps", "-3dB"],
            "--steps -3 dB is outside of 0 to 10 dB",
        ),
        (
            &pad,
            &["--hot", "-400K"],
            "--hot -400 K is outside of 0 to 400 K",
        ),
        (
            &pad,
            &["--power", "-20W"],
            "-20 W is outside of 0.001 to 100000 W",
        ),
        (
            &pad,
            &["--at", "-650,1k"],
            "-650 Hz is outside of 1 Hz to 100 kHz",
        ),
        (&pad, &["--core", "-10V"], "--core -10 V is no voltage"),
        (
            &pad[..3],
            &["--attenuation", "-10dB"],
            "--attenuation -10 dB is not above 0 and at most 80 dB",
        ),
        (
            &pad[..3],
            &["--series", "-8R2"],
            "-8.2 Ω is outside of 0.001 to",
        ),
        (
            &pad[..3],
            &["--series", "8", "--shunt", "-3ohm"],
            "-3 Ω is outside of 0.001 to",
        ),
        (
            &pad[3..],
            &["pad", "--load", "-8ohm"],
            "-8 Ω is outside of 0.001 to",
        ),
        (
            &coil,
            &["--taps", "-0.5"],
            "--taps -0.5: a tap is a share of the turns",
        ),
        (
            &["sweep", "--demo"],
            &["--from", "-20Hz"],
            "--from -20 Hz is outside of 0.001 Hz to 10 MHz",
        ),
        (
            &["sweep", "--demo"],
            &["--to", "-20kHz"],
            "--to -20 kHz is outside of 0.001 Hz",
        ),
        (
            &["sweep", "--demo"],
            &["--at", "-100"],
            "--at -100 Hz is outside of 0.001 Hz",
        ),
        (
            &["sweep", "--demo"],
            &["--points", "-5"],
            "whole number from 1 to 100000",
        ),
        (
            &["check", "--demo"],
            &["--driver-level", "-1dB"],
            "vary by -1 dB; give a number from 0 to 20 dB",
        ),
        (
            &["check", "--demo"],
            &["--builds", "-1"],
            "whole number from 1 to 1000000",
        ),
        (
            &["check", "--demo"],
            &["--seed", "-1"],
            "whole number, 0 or more",
        ),
        (
            &["design", "--demo"],
            &["--pick", "-1"],
            "whole number from 1 to 9",
        ),
        (
            &["snap", "--demo"],
            &["--window", "-1"],
            "whole number from 1 to 10",
        ),
        (
            &["snap", "--demo"],
            &["--budget", "-5"],
            "a price is a number above 0",
        ),
    ];
    for (line, option, words) in lines {
        // The load of the pad may be the value in question.
        let line: Vec<&str> = match line.first() {
            Some(&"--attenuation") => [option, line].concat(),
            _ => [line, option].concat(),
        };
        let outcome = handover(&line);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{line:?}");
        assert!(outcome.err.contains(words), "{words}: {}", outcome.err);
        assert!(outcome.err.contains("help"), "{}", outcome.err);
        assert!(!outcome.err.contains("tip:"), "{}", outcome.err);
    }
}

#[test]
fn an_option_without_its_value_does_not_swallow_the_next() {
    for line in [
        &[
            "pad",
            "--load",
            "8",
            "--attenuation",
            "10",
            "--steps",
            "--json",
        ][..],
        &["pad", "--load", "-h"],
        &["sweep", "--demo", "--points", "--json"],
        &["snap", "--demo", "--budget", "--robust"],
    ] {
        let outcome = handover(line);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{line:?}");
        let swallowed = line.last().expect("an option");
        let words = format!("the value is missing: '{swallowed}' is another option");
        assert!(outcome.err.contains(&words), "{}", outcome.err);
    }
}

#[test]
fn a_page_is_not_written_over_its_design() {
    let broken = Broken::new();
    let file = broken.path("network.toml");
    let before = fs::read(&file).expect("a file");
    // The same file by another name.
    let other = broken.folder.path().join(".").join("network.toml");
    let other = other.to_str().expect("a plain path");
    let page = handover(&["report", &file, "-o", other, "--force"]);
    assert!(
        one_message(&page).contains("is the design itself"),
        "{}",
        page.err
    );
    assert_eq!(fs::read(&file).expect("a file"), before);
}

#[test]
fn a_place_that_cannot_be_written_is_told_before_the_work() {
    let broken = Broken::new();
    let [design, folder] = [broken.path("no/where.toml"), broken.path("")];
    let file = broken.path("network.toml");
    for line in [
        &["design", &file, "-o", &design][..],
        &["snap", &file, "-o", &design],
        &["report", &file, "-o", &design],
    ] {
        let outcome = handover(line);
        let first = one_message(&outcome);
        assert!(
            first.ends_with("cannot be written: its folder is not there"),
            "{first}"
        );
    }
    let outcome = handover(&["report", &file, "-o", &folder, "--force"]);
    let first = one_message(&outcome);
    assert!(
        first.ends_with("cannot be written: it is a folder"),
        "{first}"
    );
}

#[test]
fn help_and_version_are_data() {
    for line in [&["--help"][..], &["--version"], &["sweep", "--help"]] {
        let outcome = handover(line);
        assert_eq!((outcome.status, outcome.err.as_str()), (0, ""), "{line:?}");
        assert!(!outcome.out.is_empty());
    }
}

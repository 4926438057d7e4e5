//! What cannot be used: mistakes on the command line, broken files, extreme values.

use tests::command::handover;
use tests::pad::{DemoFiles, all_finite, refused};

#[test]
fn mistakes_are_told_with_the_way_out() {
    refused(
        &[],
        &[
            "nothing says what the pad stands in front of",
            "help:",
            "--load",
        ],
    );
    refused(
        &["--load", "8 ohm"],
        &["nothing says what to do", "help:", "--attenuation"],
    );
    refused(
        &["--load", "8 ohm", "--shunt", "3.3"],
        &["attenuates nothing", "help:", "--series"],
    );
    refused(
        &["--load", "8 ohm", "--driver", "mid"],
        &["no project", "help:"],
    );
    refused(
        &["--demo", "--attenuation", "10"],
        &["nothing says which", "help:", "low, mid, high"],
    );
    refused(
        &["--demo", "--driver", "horn"],
        &["no driver 'horn'", "help:", "low, mid, high"],
    );
    refused(
        &["--demo", "--driver", "low"],
        &["no pad was found", "help:"],
    );
    refused(
        &["--load", "0", "--attenuation", "10"],
        &["outside of", "help:"],
    );
    refused(&["--load", "8", "--attenuation", "-3"], &["--attenuation"]);
    refused(
        &["--load", "8", "--attenuation=-3"],
        &["not above 0 and at most 80 dB", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "90"],
        &["not above 0 and at most 80 dB", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10 ohm"],
        &["a resistance", "level"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--series", "5"],
        &["cannot be used with"],
    );
    refused(
        &["--load", "8", "--series", "5", "--kind", "l-pad"],
        &["has a shunt, but none", "help:"],
    );
    refused(
        &["--load", "8", "--series", "5", "--kind", "autoformer"],
        &["no series resistor", "help:"],
    );
    refused(
        &["--load", "8", "--kind", "autoformer"],
        &["not one tap", "help:"],
    );
    refused(
        &["--load", "8", "--taps", "1.5"],
        &["share of the turns", "help:"],
    );
    refused(
        &["--load", "8", "--taps", "0.5", "--kind", "series"],
        &["--kind says otherwise", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--power", "0"],
        &["outside of", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--steps", "50"],
        &["--steps", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--steps", "2.5dB"],
        &["--steps 2.5 dB", "no whole number", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--hot", "5000 K"],
        &["--hot", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--core", "0 V"],
        &["--core", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--at", "2k,1k"],
        &["must rise", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "10", "--at", "1 GHz"],
        &["outside of", "help:"],
    );
    refused(
        &["no-such-file.toml", "--driver", "mid"],
        &["no-such-file.toml", "help:"],
    );
}

/// Files in any state are refused or used, and never break the program.
#[test]
fn broken_files_are_refused() {
    let files = DemoFiles::new();
    let text = std::fs::read_to_string(files.path("network.toml")).unwrap();
    let broken = files.path("broken.toml");
    let file = files.name("broken.toml");
    for cut in (0..text.len())
        .step_by(97)
        .filter(|at| text.is_char_boundary(*at))
    {
        std::fs::write(&broken, &text[..cut]).unwrap();
        let outcome = handover(&["pad", &file, "--driver", "mid", "--json"]);
        match outcome.status {
            2 => assert!(
                outcome.out.is_empty() && outcome.err.contains("error"),
                "{cut}"
            ),
            _ => all_finite(&serde_json::from_str(&outcome.out).unwrap()),
        }
    }
}

/// Extreme values, which models and searches must survive.
#[test]
fn extremes_give_numbers() {
    for args in [
        ["--load", "1m", "--attenuation", "80 dB"],
        ["--load", "1M", "--attenuation", "0.01"],
        ["--load", "8", "--series", "1M"],
        ["--load", "8", "--series", "1 mohm"],
        ["--load", "100k", "--taps", "1"],
        ["--load", "8", "--taps", "1e-12"],
        [
            "--demo",
            "--driver=mid",
            "--kind=autoformer",
            "--attenuation=0.05",
        ],
        [
            "--demo",
            "--driver=mid",
            "--kind=autoformer",
            "--attenuation=80",
        ],
    ] {
        let mut line = vec!["pad"];
        line.extend(args);
        line.push("--json");
        let outcome = handover(&line);
        assert!(outcome.status < 2, "{args:?}: {}", outcome.err);
        all_finite(&serde_json::from_str(&outcome.out).unwrap());
    }
}

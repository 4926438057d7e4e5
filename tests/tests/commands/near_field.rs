//! A woofer measured near and far, through the commands.

use std::fmt::Write as _;
use std::path::PathBuf;

use tempfile::TempDir;
use tests::check::{FEW, demo};
use tests::command::handover;
use tests::document::{codes, document, number};

const FAR: &str = "response = \"low-response.txt\"";
const JOINED: &str =
    "near = \"low-near.txt\", far = \"low-far.txt\", join = \"200 Hz\", sd = \"530 cm2\"";

/// The demo's network, its woofer's response cut into a near field below 500 Hz and a far field above 100 Hz, the near
/// one so much louder than the area of its diaphragm has it.
fn cut(tables: &str, louder_db: f64) -> (TempDir, PathBuf) {
    let (folder, path) = demo(|text| {
        assert!(text.contains(FAR));
        text.replace(FAR, tables)
    });
    let whole = std::fs::read_to_string(folder.path().join("low-response.txt")).unwrap();
    // 2r/a at 1 m.
    let gain_db = 20.0 * (2.0 / (0.053 / std::f64::consts::PI).sqrt()).log10() + louder_db;
    let [mut near, mut far] = [
        "* invented, near\n".to_owned(),
        "* invented, far\n".to_owned(),
    ];
    for line in whole.lines().filter(|line| !line.starts_with('*')) {
        let row: Vec<f64> = line
            .split_whitespace()
            .map(|word| word.parse().unwrap())
            .collect();
        if row[0] < 500.0 {
            writeln!(near, "{} {:.4} {}", row[0], row[1] + gain_db, row[2]).unwrap();
        }
        if row[0] > 100.0 {
            far += line;
            far.push('\n');
        }
    }
    std::fs::write(folder.path().join("low-near.txt"), near).unwrap();
    std::fs::write(folder.path().join("low-far.txt"), far).unwrap();
    (folder, path)
}

#[test]
fn near_and_far_are_the_response_that_they_were_cut_from() {
    let (whole_folder, whole) = demo(|text| text);
    let (folder, path) = cut(JOINED, 0.0);
    let [before, after] = [&whole, &path].map(|path| {
        let path = path.to_str().unwrap();
        document(&handover(&["check", path, "--json", FEW[0], FEW[1]]))
    });
    for pointer in ["/level_db", "/flatness/rms_db", "/ways/low/match_db"] {
        let off = number(&before, pointer) - number(&after, pointer);
        assert!(off.abs() < 0.01, "{pointer}: {off}");
    }
    assert!(codes(&after).contains(&"near-field-joined".to_owned()));
    assert!(!codes(&before).contains(&"near-field-joined".to_owned()));
    let swept = handover(&["sweep", path.to_str().unwrap(), "--points", "5"]);
    assert!(
        swept
            .err
            .contains("joined at 200 Hz, where the near field is"),
        "{}",
        swept.err
    );
    // In another folder the design names all its tables from there.
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    let written = other.join("snapped.toml");
    let (path, written) = (path.to_str().unwrap(), written.to_str().unwrap());
    let snapped = handover(&["snap", path, "--window", "1", "-o", written]);
    assert!(snapped.status < 2, "{}", snapped.err);
    let text = std::fs::read_to_string(written).unwrap();
    for name in ["near = \"../low-near.txt\"", "far = \"../low-far.txt\""] {
        assert!(text.contains(name), "{text}");
    }
    // The join is a field like any other.
    let varied = handover(&[
        "compare",
        written,
        "--vary",
        "drivers.low.measured.join=150 Hz,300 Hz",
        FEW[0],
        FEW[1],
    ]);
    assert_eq!(varied.status, 0, "{}", varied.err);
    drop(whole_folder);
}

#[test]
fn a_misfit_is_a_caution_on_the_screen_and_in_the_report() {
    let (folder, path) = cut(JOINED, -3.0);
    let path = path.to_str().unwrap();
    let shown = handover(&["check", path, FEW[0], FEW[1]]);
    assert!(
        shown
            .out
            .contains("the near field of low is 3.0 dB less loud"),
        "{}",
        shown.out
    );
    let reported = handover(&["report", path]);
    assert!(reported.status < 2, "{}", reported.err);
    let page = std::fs::read_to_string(folder.path().join("network.html")).unwrap();
    assert!(page.contains("near field below 200 Hz in"));
}

#[test]
fn a_join_outside_of_both_is_refused_with_its_place() {
    let (_folder, path) = cut(&JOINED.replace("200 Hz", "700 Hz"), 0.0);
    let refused = handover(&["check", path.to_str().unwrap()]);
    assert_eq!(refused.status, 2);
    for words in [
        "network.toml:22:",
        "the far field from 101 Hz to 21.7 kHz",
        "join them between 101 Hz and",
    ] {
        assert!(refused.err.contains(words), "{}", refused.err);
    }
}

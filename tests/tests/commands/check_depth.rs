//! `check`: acoustic centres, and the depth that a measured sum shows.

use std::fmt::Write as _;

use serde_json::Value;
use tests::check::{FEW, demo};
use tests::command::handover;
use tests::document::{document, number};

/// The sum of low and mid of the demo's network with mid so far back, as a table.
fn sum(back: &str) -> String {
    let (_folder, path) = demo(|text| set_back(&text, back));
    let swept = document(&handover(&["sweep", path.to_str().unwrap(), "--json"]));
    let list = |pointer: &str| -> Vec<f64> {
        let values = swept.pointer(pointer).and_then(Value::as_array).unwrap();
        values.iter().map(|value| value.as_f64().unwrap()).collect()
    };
    let way = |name: &str| {
        let [level, phase] =
            ["level_db", "phase_deg"].map(|what| list(&format!("/ways/{name}/{what}")));
        level.into_iter().zip(phase).map(|(level, phase)| {
            let size = 10f64.powf(level / 20.0);
            let (sin, cos) = phase.to_radians().sin_cos();
            [size * cos, size * sin]
        })
    };
    let mut rows = String::from("Hz dB, invented\n");
    for ((f, low), mid) in list("/frequency_hz").iter().zip(way("low")).zip(way("mid")) {
        let level_db = 20.0 * (low[0] + mid[0]).hypot(low[1] + mid[1]).log10();
        let _ = writeln!(rows, "{f} {level_db:.3}");
    }
    rows
}

fn set_back(text: &str, back: &str) -> String {
    let old = "back = \"28 mm\"";
    assert!(text.contains(old), "{text}");
    text.replacen(old, &format!("back = \"{back}\""), 1)
}

#[test]
fn a_sum_shows_how_far_back_a_driver_really_is() {
    let (folder, path) = demo(|text| text);
    let file = folder.path().join("sum.txt");
    std::fs::write(&file, sum("61 mm")).unwrap();
    let (path, file) = (path.to_str().unwrap(), file.to_str().unwrap());
    let asked = [
        "check", path, "--sum", file, "--ways", "low,mid", FEW[0], FEW[1],
    ];
    let found = document(&handover(&[&asked[..], &["--json"]].concat()));
    let farther_mm = number(&found, "/sum_depth/crossovers/0/farther_mm");
    assert!((farther_mm - 33.0).abs() < 1.0, "{}", found["sum_depth"]);
    assert!((number(&found, "/sum_depth/crossovers/0/back_mm") - 61.0).abs() < 1.0);
    assert_eq!(found["sum_depth"]["crossovers"][0]["reversed"], false);
    assert!(number(&found, "/sum_depth/rms_db") < 0.05);
    assert!(number(&found, "/sum_depth/rms_as_stated_db") > 0.1);
    let shown = handover(&asked);
    assert!(
        shown.out.contains("as summed  mid is 33 ±"),
        "{}",
        shown.out
    );
    assert!(
        shown.out.contains("write back = \"61 mm\""),
        "{}",
        shown.out
    );
}

#[test]
fn what_is_no_sum_is_refused_with_the_way_out() {
    let (folder, path) = demo(|text| text);
    let file = folder.path().join("sum.txt");
    std::fs::write(&file, sum("28 mm")).unwrap();
    let (path, file) = (path.to_str().unwrap(), file.to_str().unwrap());
    for (ways, words) in [
        ("low,high", "name two or more neighbours of low, mid, high"),
        ("low,tweeter", "there is no way 'tweeter'"),
    ] {
        let ran = handover(&["check", path, "--sum", file, "--ways", ways]);
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains(words), "{}", ran.err);
        assert!(ran.err.contains("--ways low,mid"), "{}", ran.err);
    }
    let ran = handover(&["check", path, "--sum", "nowhere.txt"]);
    assert!(
        ran.status == 2 && ran.err.contains("nowhere.txt cannot be read"),
        "{}",
        ran.err
    );
}

#[test]
fn centres_are_told_from_positions_and_phases() {
    let (_folder, path) = demo(|text| text);
    let found = document(&handover(&[
        "check",
        path.to_str().unwrap(),
        "--json",
        FEW[0],
        FEW[1],
    ]));
    let mid = &found["acoustic_centres"]["drivers"][1];
    assert_eq!(mid["driver"], "mid");
    let [placed, behind] = ["placed_mm", "behind_mm"].map(|name| mid[name].as_f64().unwrap());
    let held = mid["held_mm"].as_f64().unwrap_or(0.0);
    assert!((placed + held - behind).abs() < 1e-9, "{mid}");
    let apart = &found["acoustic_centres"]["crossovers"][0];
    let offset = apart["offset_mm"].as_f64().unwrap();
    assert!((offset - behind).abs() < 1e-9, "{apart}");
    // 360° are one wave of 343.2 m/s (20 °C) at the crossover.
    let angle = apart["angle_deg"].as_f64().unwrap();
    let expected = 360.0 * offset / 1000.0 * apart["frequency_hz"].as_f64().unwrap() / 343.2;
    assert!((angle / expected - 1.0).abs() < 2e-3, "{apart}");
    for name in ["lower", "upper"] {
        assert!(apart["slopes"][name].is_string(), "{apart}");
    }
}

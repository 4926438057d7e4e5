//! `pad` as a whole command: the screen, the document, findings and mistakes.

use serde_json::Value;
use tests::command::handover;
use tests::pad::{all_finite, document, number, refused};

#[test]
fn the_document_holds_what_the_contract_names() {
    let sized = document(&["--demo", "--driver", "mid", "--attenuation", "12 dB"]);
    for pointer in [
        "/series_ohm",
        "/shunt_ohm",
        "/attenuation_db",
        "/seen_ohm",
        "/power_w/series",
        "/power_w/shunt",
        "/power_w/driver",
        "/ideal/series_ohm",
        "/stock/0/series_ohm",
        "/stock/0/shunt_ohm",
        "/stock/0/power_w/driver",
        "/curves/frequency_hz/0",
        "/curves/attenuation_db/0",
        "/curves/seen_ohm/0",
        "/curves/source_ohm/0",
        "/attenuation/departure_db",
        "/seen/swing",
        "/source/most_ohm",
        "/crossover/crossovers/0/shift_hz",
        "/crossover/peak_db",
        "/loudspeaker/flatness/rms_db",
        "/loudspeaker/change/largest_db",
        "/textbook/loudspeaker/change/largest_db",
        "/hot/level_db",
        "/steps/6/level_db",
        "/rating_w/series",
        "/sine_w/driver/power_w",
    ] {
        number(&sized, pointer);
    }
    assert_eq!(sized["kind"], "l-pad");
    all_finite(&sized);
    // The pad that is looked at is the best from stock.
    for field in ["series_ohm", "shunt_ohm", "attenuation_db", "seen_ohm"] {
        assert_eq!(sized[field], sized["stock"][0][field]);
    }
    let series = document(&["--demo", "--driver", "mid", "--series", "10"]);
    assert_eq!(series["kind"], "series");
    assert!(series["shunt_ohm"].is_null() && series["power_w"]["shunt"].is_null());
    assert!(series.get("stock").is_none(), "nothing was sized");
    let plain = document(&["--load", "8 ohm", "--attenuation", "6 dB"]);
    assert!(plain.get("curves").is_none() && plain["driver"].is_null());
}

/// Seen by an L-pad's formula from the driver's impedance in the same document.
#[test]
fn the_curves_belong_together_and_at_sets_their_frequencies() {
    let args = [
        "--demo", "--driver", "mid", "--series", "8.2", "--shunt", "3.3",
    ];
    let mut with_at = args.to_vec();
    with_at.extend(["--at", "650,2k,\"6.5 kHz\""]);
    refused(&with_at, &["6.5 kHz"]);
    let at = with_at.len() - 1;
    with_at[at] = "650,2k,6.5kHz";
    let document = document(&with_at);
    let curves = &document["curves"];
    assert_eq!(
        curves["frequency_hz"],
        serde_json::json!([650.0, 2000.0, 6500.0])
    );
    for i in 0..3 {
        let at = |field: &str| curves[field][i].as_f64().unwrap();
        let phase = at("load_phase_deg").to_radians();
        let load = num_complex::Complex64::from_polar(at("load_ohm"), phase);
        let across = 3.3 * load / (3.3 + load);
        assert!(((8.2 + across).norm() / at("seen_ohm") - 1.0).abs() < 1e-12);
        let db = 20.0 * ((8.2 + across) / across).norm().log10();
        assert!((db - at("attenuation_db")).abs() < 1e-9);
    }
}

#[test]
fn a_design_s_own_pad_is_explained_and_the_textbook_s_is_compared() {
    for (driver, parts, series, shunt) in [
        ("mid", ["R2", "R3"], 9.1, 6.2),
        ("high", ["R4", "R5"], 3.3, 4.7),
    ] {
        let built = document(&["--demo", "--driver", driver]);
        assert_eq!(built["origin"], "design");
        assert_eq!(built["parts"], serde_json::json!(parts));
        assert!((number(&built, "/series_ohm") - series).abs() < 1e-12);
        assert!((number(&built, "/shunt_ohm") - shunt).abs() < 1e-12);
        // It is what it is: nothing moves against itself.
        assert!(built["crossover"].is_null());
        assert!(built["loudspeaker"]["change"].is_null());
        // The textbook's pad is right on 8 Ω and wrong for this filter.
        let textbook = &built["textbook"];
        let moved = number(textbook, "/crossover/crossovers/0/change_db").abs();
        assert!(moved > 0.5, "{driver}: {moved}");
        let flat = number(&built, "/loudspeaker/flatness/rms_db");
        assert!(number(textbook, "/loudspeaker/flatness/rms_db") > flat + 0.1);
        assert!(number(textbook, "/loudspeaker/change/largest_db").abs() > 1.0);
    }
}

/// The loudspeaker with the file's own pad, from `sweep` on the same file: two ways to one flatness.
#[test]
fn the_loudspeaker_is_the_one_that_sweep_gives() {
    let built = document(&["--demo", "--driver", "mid"]);
    let args = [
        "sweep", "--demo", "--json", "--from", "60", "--to", "17k", "--points", "200",
    ];
    let swept: Value = serde_json::from_str(&handover(&args).out).unwrap();
    let levels: Vec<f64> = (swept["system"]["level_db"].as_array().unwrap().iter())
        .map(|level| level.as_f64().unwrap())
        .collect();
    let mean = levels.iter().sum::<f64>() / 200.0;
    let rms = (levels.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / 200.0).sqrt();
    assert!((number(&built, "/loudspeaker/level_db") - mean).abs() < 1e-9);
    assert!((number(&built, "/loudspeaker/flatness/rms_db") - rms).abs() < 1e-9);
}

#[test]
fn the_screen_is_one_screen() {
    for args in [
        vec!["pad", "--demo", "--driver", "mid"],
        vec!["pad", "--demo", "--driver", "high"],
        vec!["pad", "--demo", "--driver", "mid", "--attenuation", "10 dB"],
        vec!["pad", "--load", "8 ohm", "--attenuation", "10 dB"],
    ] {
        let outcome = handover(&args);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        assert!(outcome.out.lines().count() <= 48, "{}", outcome.out);
        for line in outcome.out.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
        // Cautions where heat is shown and where parts are changed.
        assert!(outcome.out.contains("burn skin"), "{}", outcome.out);
        assert!(outcome.out.contains("amplifier off"), "{}", outcome.out);
    }
}

#[test]
fn a_picture_is_written_whole_and_not_over_another() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pad.svg");
    let file = path.to_str().unwrap();
    let args = ["pad", "--demo", "--driver", "mid", "--picture", file];
    let outcome = handover(&args);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(
        outcome.err.contains("picture written to"),
        "{}",
        outcome.err
    );
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("<?xml") && text.trim_end().ends_with("</svg>"));
    for name in [
        "mid alone",
        "the filter sees",
        "level behind the pad",
        "9.1 Ω in series",
    ] {
        assert!(text.contains(name), "{name}");
    }
    assert!(!text.contains("NaN") && !text.contains("inf"));
    let again = handover(&args);
    assert_eq!(again.status, 2);
    assert!(
        again.err.contains("--force") && again.out.is_empty(),
        "{}",
        again.err
    );
    let mut forced = args.to_vec();
    forced.push("--force");
    assert_eq!(handover(&forced).status, 0);
    let nowhere = folder.path().join("no").join("pad.svg");
    let args = ["pad", "--load", "8", "--attenuation", "10", "--picture"];
    let mut line = args.to_vec();
    line.push(nowhere.to_str().unwrap());
    let outcome = handover(&line);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("cannot be written") && outcome.out.is_empty());
}

#[test]
fn the_same_words_give_the_same_document() {
    let args = [
        "pad",
        "--demo",
        "--driver",
        "high",
        "--attenuation",
        "7 dB",
        "--json",
    ];
    assert_eq!(handover(&args).out, handover(&args).out);
}

//! `pad` as a whole command: the screen, the document, findings and mistakes.

use std::path::Path;

use serde_json::Value;
use tests::command::{Outcome, handover};

fn document_with(args: &[&str], status: u8) -> Value {
    let mut line = vec!["pad"];
    line.extend(args);
    line.push("--json");
    let outcome = handover(&line);
    assert_eq!(outcome.status, status, "{args:?}: {}", outcome.err);
    serde_json::from_str(&outcome.out).unwrap()
}

fn document(args: &[&str]) -> Value {
    document_with(args, 0)
}

fn number(document: &Value, pointer: &str) -> f64 {
    let value = document.pointer(pointer).and_then(Value::as_f64);
    value.unwrap_or_else(|| panic!("no number at {pointer}"))
}

fn codes(document: &Value) -> Vec<String> {
    let findings = document["findings"].as_array().unwrap();
    let codes = findings.iter().map(|f| f["code"].as_str().unwrap());
    codes.map(str::to_owned).collect()
}

/// Finding of a code, which must stand, with its severity.
fn finding<'a>(document: &'a Value, code: &str, severity: &str) -> &'a str {
    let findings = document["findings"].as_array().unwrap();
    let found = findings.iter().find(|f| f["code"] == code);
    let found = found.unwrap_or_else(|| panic!("no {code} in {:?}", codes(document)));
    assert_eq!(found["severity"], severity, "{found}");
    found["message"].as_str().unwrap()
}

fn refused(args: &[&str], words: &[&str]) {
    let mut line = vec!["pad"];
    line.extend(args);
    let Outcome { status, out, err } = handover(&line);
    assert_eq!(status, 2, "{args:?}: {err}");
    assert!(out.is_empty(), "{args:?} printed {out}");
    for word in words {
        assert!(err.contains(word), "{args:?} does not say '{word}': {err}");
    }
}

/// No number of a document is missing where one must be, and none is out of hand.
fn all_finite(value: &Value) {
    match value {
        Value::Number(number) => assert!(number.as_f64().unwrap().is_finite()),
        Value::Array(values) => values.iter().for_each(all_finite),
        Value::Object(fields) => fields.values().for_each(all_finite),
        _ => {}
    }
}

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

/// The demo's brief and network as files, with words replaced.
fn with_files(use_them: impl Fn(&Path)) {
    let folder = tempfile::tempdir().unwrap();
    let outcome = handover(&["demo", folder.path().to_str().unwrap()]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    use_them(folder.path());
}

fn changed(folder: &Path, file: &str, from: &str, to: &str) -> String {
    let text = std::fs::read_to_string(folder.join(file)).unwrap();
    assert!(text.contains(from), "{from} is not in {file}");
    let path = folder.join("changed.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path.to_str().unwrap().to_owned()
}

const STOCK: &str = "resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }";

#[test]
fn levels_and_reach_have_findings() {
    with_files(|folder| {
        let brief = folder.join("brief.toml");
        let brief = brief.to_str().unwrap();
        let at = |db: &str| document(&[brief, "--driver", "mid", "--attenuation", db]);
        let message = at("5 dB");
        let message = finding(&message, "attenuation-too-small", "caution");
        assert!(message.contains("attenuate by about 9.9 dB"), "{message}");
        finding(&at("14 dB"), "attenuation-too-large", "caution");
        let right = codes(&at("9.9 dB"));
        assert!(
            !right.iter().any(|code| code.starts_with("attenuation")),
            "{right:?}"
        );
        let few = STOCK.replace("E24", "E3").replace("0.47 ohm", "10 ohm");
        let file = changed(folder, "brief.toml", STOCK, &few);
        let document = document(&[
            &file,
            "--driver",
            "mid",
            "--attenuation",
            "3 dB",
            "--kind",
            "series",
        ]);
        finding(&document, "attenuation-out-of-reach", "caution");
    });
}

#[test]
fn several_together_are_taken_when_the_stock_allows_them() {
    with_files(|folder| {
        let weak = STOCK.replace("power = \"20 W\"", "power = \"10 W\", together = 2");
        let file = changed(folder, "network.toml", STOCK, &weak);
        let args = [
            &*file,
            "--driver",
            "mid",
            "--attenuation",
            "9 dB",
            "--power",
            "60 W",
        ];
        let document = document(&args);
        let made_of = &document["stock"][0]["series_made_of"];
        assert_eq!(
            made_of["values_ohm"].as_array().unwrap().len(),
            2,
            "{made_of}"
        );
        // Two share what would be more than half the rating of one.
        assert!(number(&document, "/stock/0/worked") <= 0.5);
        assert!(number(&document, "/power_w/series") > 5.0);
    });
}

#[test]
fn too_much_power_is_a_danger() {
    let at = |power: &str, status: u8| {
        document_with(&["--demo", "--driver", "mid", "--power", power], status)
    };
    let calm = codes(&at("20 W", 0));
    assert!(calm.is_empty(), "{calm:?}");
    finding(&at("70 W", 0), "resistor-too-hot", "caution");
    let document = at("2 kW", 1);
    let message = finding(&document, "resistor-overloaded", "danger");
    assert!(
        message.contains("rated 20 W") && message.contains("buy one of"),
        "{message}"
    );
    finding(&document, "driver-sine-above-rating", "caution");
    let args = [
        "--demo", "--driver", "mid", "--series", "0.5", "--power", "2 kW",
    ];
    finding(&document_with(&args, 1), "driver-overpowered", "danger");
    // A part's own rating counts for the pad that is built.
    with_files(|folder| {
        let from = "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"] }";
        let to = "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"], power = \"2 W\" }";
        let file = changed(folder, "network.toml", from, to);
        let document = document_with(&[&file, "--driver", "mid"], 1);
        let message = finding(&document, "resistor-overloaded", "danger");
        assert!(message.contains("rated 2 W"), "{message}");
    });
}

#[test]
fn a_pad_that_moves_the_crossover_is_told() {
    let series = document(&[
        "--demo",
        "--driver",
        "mid",
        "--attenuation",
        "11",
        "--kind",
        "series",
    ]);
    let message = finding(&series, "pad-moves-crossover", "caution");
    assert!(
        message.contains("limit 0.5 dB") && message.contains("L-pad"),
        "{message}"
    );
    finding(&series, "attenuation-uneven", "note");
    let near = document(&["--demo", "--driver", "mid", "--attenuation", "11"]);
    assert!(!codes(&near).contains(&"pad-moves-crossover".to_owned()));
}

#[test]
fn a_driver_below_its_band_is_told() {
    with_files(|folder| {
        let brief = folder.join("brief.toml");
        let brief = brief.to_str().unwrap();
        let document = document(&[brief, "--driver", "mid", "--series", "12"]);
        let message = finding(&document, "crossover-outside-usable-band", "caution");
        assert!(message.contains("usable from 450 Hz"), "{message}");
        // With a resonance as high as where it begins to play, it can break.
        let file = changed(
            folder,
            "brief.toml",
            "resonance = \"385 Hz\"",
            "resonance = \"600 Hz\"",
        );
        let args = [&*file, "--driver", "mid", "--series", "12"];
        finding(
            &document_with(&args, 1),
            "crossover-below-resonance",
            "danger",
        );
        // In a network, what the driver gets below its band is known: here the filter hardly filters.
        let [from, to] = ["450 Hz", "600 Hz"].map(|f| format!("from = \"{f}\""));
        changed(folder, "network.toml", &from, &to);
        let [from, to] = ["10 uF", "100 uF"].map(|c| format!("C2 = {{ capacitor = \"{c}\""));
        let file = changed(folder, "changed.toml", &from, &to);
        let document = document_with(&[&file, "--driver", "mid"], 0);
        finding(&document, "driven-below-usable-band", "caution");
        let calm = document_with(&["--demo", "--driver", "mid"], 0);
        assert!(codes(&calm).is_empty());
        let calm = document_with(&[brief, "--driver", "mid", "--attenuation", "10"], 0);
        assert!(!codes(&calm).iter().any(|code| code.contains("band")));
    });
}

#[test]
fn a_low_load_and_a_full_core_are_told() {
    let low = document(&["--demo", "--driver", "mid", "--series", "1", "--shunt", "1"]);
    finding(&low, "pad-load-low", "caution");
    let tap = [
        "--demo", "--driver", "mid", "--taps", "0.28", "--shunt", "15",
    ];
    let document_at = |core: &'static str| {
        let mut args = tap.to_vec();
        args.extend(["--core", core]);
        document(&args)
    };
    let message = document_at("0.5 V");
    let message = finding(&message, "autoformer-core", "caution");
    assert!(message.contains("0.005 V for each hertz"), "{message}");
    assert!(!codes(&document_at("10 V")).contains(&"autoformer-core".to_owned()));
}

#[test]
fn parts_beside_the_pad_are_told() {
    with_files(|folder| {
        let driver = "MID = {";
        let zobel = "C9 = { capacitor = \"4.7 uF\", between = [\"m4\", \"gnd\"] }\nMID = {";
        let file = changed(folder, "network.toml", driver, zobel);
        let document = document(&[&file, "--driver", "mid"]);
        let message = finding(&document, "pad-not-alone", "note");
        assert!(message.starts_with("C9 also"), "{message}");
    });
}

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
        &["outside of 0 to 80 dB", "help:"],
    );
    refused(
        &["--load", "8", "--attenuation", "90"],
        &["outside of 0 to 80 dB", "help:"],
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
    with_files(|folder| {
        let text = std::fs::read_to_string(folder.join("network.toml")).unwrap();
        let broken = folder.join("broken.toml");
        let file = broken.to_str().unwrap().to_owned();
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
    });
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
    ] {
        let mut line = vec!["pad"];
        line.extend(args);
        line.push("--json");
        let outcome = handover(&line);
        assert!(outcome.status < 2, "{args:?}: {}", outcome.err);
        all_finite(&serde_json::from_str(&outcome.out).unwrap());
    }
}

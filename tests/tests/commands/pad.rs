//! `pad` as a whole command: the screen, the document, findings and mistakes.

use serde_json::Value;
use tests::command::handover;
use tests::pad::{DemoFiles, all_finite, document, document_with, number, refused, screen};

/// Lines of a screen.
const MOST_LINES: usize = 50;

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

/// Every kind, sized or checked, on a resistor, on a driver alone and in a network.
#[test]
fn every_screen_is_one_screen() {
    let files = DemoFiles::new();
    let brief = files.name("brief.toml");
    let network = files.name("network.toml");
    let places: [&[&str]; 5] = [
        &["--load", "8 ohm"],
        &[&brief, "--driver", "mid"],
        &[&brief, "--driver", "high"],
        &[&network, "--driver", "mid"],
        &[&network, "--driver", "high"],
    ];
    let mut asked: Vec<Vec<&str>> = places[3..].iter().map(|place| place.to_vec()).collect();
    for place in places {
        for given in [
            &["--series", "8.2", "--shunt", "3.3"][..],
            &["--series", "12"],
            &["--series", "15", "--shunt", "18", "--kind", "shunt-series"],
            &["--taps", "0.35", "--shunt", "18"],
            &["--attenuation", "10 dB"],
            &["--attenuation", "10 dB", "--kind", "series"],
            &["--attenuation", "10 dB", "--kind", "shunt-series"],
            &["--attenuation", "10 dB", "--kind", "autoformer"],
            &[
                "--attenuation",
                "10 dB",
                "--kind",
                "series",
                "--power",
                "300 W",
            ],
            &[
                "--attenuation",
                "10 dB",
                "--kind",
                "shunt-series",
                "--power",
                "300 W",
            ],
        ] {
            asked.push([place, given].concat());
        }
    }
    for args in asked {
        let shown = screen(&args);
        let lines = shown.lines().count();
        assert!(lines <= MOST_LINES, "{args:?}: {lines} lines\n{shown}");
        for line in shown.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
        // Cautions where heat is shown and where parts are changed.
        assert!(shown.contains("burn skin"), "{shown}");
        assert!(shown.contains("amplifier off"), "{shown}");
        for word in ["NaN", "inf", " 0 W", "0.00 to"] {
            assert!(!shown.contains(word), "{word}: {shown}");
        }
    }
}

/// Figures that are as good as none are told as such, small ones with the digits that count.
#[test]
fn small_figures_have_digits() {
    let tap = screen(&["--load", "8 ohm", "--taps", "0.5"]);
    assert!(tap.contains("next to 0 Ω"), "{tap}");
    assert!(!tap.contains("0.00") && !tap.contains(" 0 W"), "{tap}");
    let far = screen(&[
        "--load",
        "8 ohm",
        "--attenuation",
        "60 dB",
        "--power",
        "1 W",
    ]);
    assert!(
        far.contains("78 µW") && far.contains("below 1 µW") && !far.contains(" 0 W"),
        "{far}"
    );
}

/// What decided between the first and each other one is what differs most in the cost.
#[test]
fn the_first_is_first_for_what_is_said() {
    let files = DemoFiles::new();
    let two = "together = 2, power = \"20 W\"";
    let name = files.changed(
        "network.toml",
        &[("power = \"20 W\" }", &format!("{two} }}"))],
    );
    let strong = ["--power", "90 W"];
    let mut reasons = Vec::new();
    for (db, kind, more) in [
        ("10 dB", "l-pad", &[][..]),
        ("7 dB", "l-pad", &strong),
        ("12 dB", "series", &strong),
        ("9 dB", "shunt-series", &[]),
        ("9 dB", "autoformer", &[]),
    ] {
        let mut args = vec![
            &*name,
            "--driver",
            "mid",
            "--attenuation",
            db,
            "--kind",
            kind,
        ];
        args.extend(more);
        let document = document_with(&args, document_status(&args));
        let stock = document["stock"].as_array().unwrap();
        assert!(stock[0]["first_by"].is_null());
        for other in &stock[1..] {
            let gains = [
                ("load", "/cost/load_db"),
                ("least-load", "/cost/too_low_db"),
                ("resistors", "/cost/resistors_db"),
                ("power", "/cost/power_db"),
                ("attenuation", "/cost/attenuation_db"),
            ];
            let gains = gains.map(|(code, of)| (code, number(other, of) - number(&stock[0], of)));
            let most = gains.iter().map(|(_, gain)| *gain).fold(f64::MIN, f64::max);
            let said = other["first_by"].as_str().unwrap();
            if let Some((_, gain)) = gains.iter().find(|(code, _)| *code == said) {
                assert!(*gain >= most - 1e-9, "{said}: {gains:?}");
            } else {
                assert!(said == "heat" && most < 1e-9, "{said}: {gains:?}");
            }
            reasons.push(said.to_owned());
        }
    }
    for reason in ["load", "resistors"] {
        assert!(reasons.iter().any(|said| said == reason), "{reasons:?}");
    }
    let shown = screen(&["--load", "8", "--attenuation", "10 dB"]);
    assert!(
        shown.contains("1 is first by change of load: 0.24 dB against 0.63 dB and 1.02 dB"),
        "{shown}"
    );
}

fn document_status(args: &[&str]) -> u8 {
    let line: Vec<&str> = ["pad"].iter().chain(args).copied().collect();
    handover(&line).status
}

/// Where the data of an autoformer come from is said, and those of the stock count.
#[test]
fn the_winding_is_of_the_stock_or_assumed() {
    let tap = ["--taps", "0.35"];
    let from = |place: &[&str]| {
        let args = [place, &tap].concat();
        document_with(&args, document_status(&args))["winding"].clone()
    };
    assert_eq!(from(&["--load", "8"])["from"], "ideal");
    let assumed = from(&["--demo", "--driver", "mid"]);
    assert_eq!(assumed["from"], "assumed");
    assert!((number(&assumed, "/inductance_h") - 0.1).abs() < 1e-12);
    let files = DemoFiles::new();
    let stock = "[stock]\nautoformers = { inductance = \"15 mH\", dcr = \"0.6 ohm\", step = \"2 dB\", to = \"16 dB\" }";
    for file in ["brief.toml", "network.toml"] {
        let name = files.changed(file, &[("[stock]", stock)]);
        let place = [&*name, "--driver", "mid"];
        let of_stock = from(&place);
        assert_eq!(of_stock["from"], "stock");
        assert!((number(&of_stock, "/inductance_h") - 0.015).abs() < 1e-12);
        let sized = [
            &place[..],
            &["--attenuation", "10 dB", "--kind", "autoformer"],
        ]
        .concat();
        let document = document(&sized);
        // Its taps are 2 dB apart, written to a millionth of the turns, and a small winding takes a little more at the low end.
        let ratio = number(&document, "/ratio");
        assert!((20.0 * ratio.log10() + 10.0).abs() < 1e-4, "{ratio}");
        assert!(number(&document, "/attenuation/departure_db").abs() > 0.003);
        assert!(screen(&sized).contains("winding 15 mH, 0.6 Ω of the stock"));
    }
}

/// A winding to order has the tap that the attenuation needs, though it is not ideal.
#[test]
fn a_winding_to_order_has_any_tap() {
    for driver in ["mid", "high"] {
        let args = [
            "--demo",
            "--driver",
            driver,
            "--kind",
            "autoformer",
            "--attenuation",
            "7.5 dB",
        ];
        let sized = document_with(&args, document_status(&args));
        let off = number(&sized, "/attenuation/mean_db") - 7.5;
        assert!(off.abs() < 0.02, "{driver}: {off}");
        // As it is shown, in thousandths of the turns; the ideal tap of 7.5 dB is another.
        let ratio = number(&sized, "/ratio");
        assert!(
            (1000.0 * ratio - (1000.0 * ratio).round()).abs() < 1e-9,
            "{ratio}"
        );
        assert!((20.0 * ratio.log10() + 7.5).abs() > 0.05, "{ratio}");
    }
}

/// Prices of a catalogue are shown, and put pads in order that are as good.
#[test]
fn prices_are_shown_and_break_ties() {
    let files = DemoFiles::new();
    for (first, second, wanted) in [("5.00", "1.00", 6.201), ("1.00", "5.00", 6.2)] {
        let list = format!(
            "kind,value,price\nresistor,9.1 ohm,2.50\nresistor,6.2 ohm,{first}\nresistor,6.201 ohm,{second}\n"
        );
        std::fs::write(files.path("stock.csv"), list).unwrap();
        let name = files.changed(
            "network.toml",
            &[("[stock]", "[stock]\ncatalogue = \"stock.csv\"")],
        );
        let args = [&*name, "--driver", "mid", "--attenuation", "11 dB"];
        let document = document(&args);
        assert!((number(&document, "/shunt_ohm") - wanted).abs() < 1e-12);
        assert!((number(&document, "/stock/0/price") - 3.5).abs() < 1e-12);
        assert_eq!(document["stock"][1]["first_by"], "price");
        let shown = screen(&args);
        assert!(shown.contains("price") && shown.contains("3.50"), "{shown}");
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
    // A picture is SVG, and a missing folder is what is missing.
    let nowhere = folder.path().join("no").join("pad.svg");
    let nowhere = nowhere.to_str().unwrap();
    let other = folder.path().join("pad.png");
    let other = other.to_str().unwrap();
    let plain = ["--load", "8", "--attenuation", "10", "--picture"];
    for (name, words) in [
        (nowhere, &["its folder is not there", "help:"][..]),
        (other, &["is SVG", "help:", "pad.svg"]),
        ("pad", &["is SVG", "help:", "pad.svg"]),
    ] {
        let mut line = plain.to_vec();
        line.push(name);
        refused(&line, words);
    }
    let message = handover(&[
        "pad",
        "--load",
        "8",
        "--attenuation",
        "10",
        "--picture",
        nowhere,
    ])
    .err;
    assert!(!message.contains("os error"), "{message}");
    assert!(!folder.path().join("pad.png").exists());
}

/// Nothing over nothing swings by nothing: an ideal winding on an ideal amplifier is no source impedance at all.
#[test]
fn a_source_of_nothing_has_a_swing() {
    let found = document(&["--load", "8 ohm", "--kind", "autoformer", "--taps", "0.5"]);
    assert!((number(&found, "/source/swing") - 1.0).abs() < 1e-12);
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

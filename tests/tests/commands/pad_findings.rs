//! What `pad` finds: each finding where it stands, and where it does not.

use tests::command::handover;
use tests::pad::{DemoFiles, codes, document, document_with, finding, number, running_text};

const STOCK: &str = "resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }";

#[test]
fn levels_and_reach_have_findings() {
    let files = DemoFiles::new();
    let brief = files.name("brief.toml");
    let brief = brief.as_str();
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
    let file = files.changed("brief.toml", &[(STOCK, &few)]);
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
}

#[test]
fn several_together_are_taken_when_the_stock_allows_them() {
    let files = DemoFiles::new();
    let weak = STOCK.replace("power = \"20 W\"", "power = \"10 W\", together = 2");
    let file = files.changed("network.toml", &[(STOCK, &weak)]);
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
}

#[test]
fn too_much_power_is_a_danger() {
    let at = |power: &str, status: u8| {
        document_with(&["--demo", "--driver", "mid", "--power", power], status)
    };
    let calm = codes(&at("20 W", 0));
    assert!(calm.is_empty(), "{calm:?}");
    finding(&at("70 W", 0), "resistor-without-margin", "caution");
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
    let files = DemoFiles::new();
    let from = "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"] }";
    let to = "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"], power = \"2 W\" }";
    let file = files.changed("network.toml", &[(from, to)]);
    let document = document_with(&[&file, "--driver", "mid"], 1);
    let message = finding(&document, "resistor-overloaded", "danger");
    assert!(message.contains("rated 2 W"), "{message}");
}

/// What the catalogue says of a resistor counts for `pad` as it does for `check`, in the file and as given.
#[test]
fn a_rating_of_the_catalogue_counts() {
    let files = DemoFiles::new();
    let line = |ohm: &str, watt: &str| {
        format!("{{ kind = \"resistor\", value = \"{ohm} ohm\", rating = \"{watt} W\" }}")
    };
    let lines = [line("9.1", "3"), line("6.2", "10"), line("1", "10")].join(", ");
    let name = files.changed(
        "network.toml",
        &[(STOCK, &format!("catalogue = [{lines}]"))],
    );
    let args = [&*name, "--driver", "mid"];
    let message = document_with(&args, 1);
    let message = finding(&message, "resistor-overloaded", "danger");
    assert!(message.contains("rated 3 W"), "{message}");
    let given = [&args[..], &["--series", "9.1", "--shunt", "6.2"]].concat();
    finding(&document_with(&given, 1), "resistor-overloaded", "danger");
    let check = handover(&["check", &name, "--json"]);
    assert!(check.out.contains("resistor-overloaded"), "{}", check.out);
}

/// The power of a part that is made of several is that of each of them.
#[test]
fn a_part_made_of_several_shares_its_heat() {
    let files = DemoFiles::new();
    let from = "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"] }";
    let of = |watt: &str| {
        format!(
            "R2 = {{ resistor = \"9.1 ohm\", made_of = {{ parallel = [\"18.2 ohm\", \"18.2 ohm\"] }}, between = [\"m3\", \"m4\"], power = \"{watt} W\" }}"
        )
    };
    let calm = files.changed("network.toml", &[(from, &of("5"))]);
    let args = [&*calm, "--driver", "mid"];
    let found = codes(&document(&args));
    assert!(
        !found.contains(&"resistor-without-margin".to_owned()),
        "{found:?}"
    );
    assert!(running_text(&args).contains("2 × 5 W"));
    let weak = files.changed("network.toml", &[(from, &of("3"))]);
    let found = document(&[&weak, "--driver", "mid"]);
    let message = finding(&found, "resistor-without-margin", "caution");
    assert!(message.contains("rated 2 × 3 W"), "{message}");
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
    let files = DemoFiles::new();
    let brief = files.name("brief.toml");
    let brief = brief.as_str();
    let document = document(&[brief, "--driver", "mid", "--series", "12"]);
    let message = finding(&document, "crossover-outside-usable-band", "caution");
    assert!(message.contains("usable from 450 Hz"), "{message}");
    // With a resonance as high as where it begins to play, it can break.
    let file = files.changed(
        "brief.toml",
        &[("resonance = \"385 Hz\"", "resonance = \"600 Hz\"")],
    );
    let args = [&*file, "--driver", "mid", "--series", "12"];
    finding(
        &document_with(&args, 1),
        "crossover-below-resonance",
        "danger",
    );
    // In a network, what the driver gets below its band is known: here the filter hardly filters.
    let [from, to] = ["450 Hz", "600 Hz"].map(|f| format!("from = \"{f}\""));
    files.changed("network.toml", &[(&from, &to)]);
    let [from, to] = ["10 uF", "100 uF"].map(|c| format!("C2 = {{ capacitor = \"{c}\""));
    let file = files.changed("changed.toml", &[(&from, &to)]);
    let document = document_with(&[&file, "--driver", "mid"], 0);
    finding(&document, "driven-below-usable-band", "caution");
    let calm = document_with(&["--demo", "--driver", "mid"], 0);
    assert!(codes(&calm).is_empty());
    let calm = document_with(&[brief, "--driver", "mid", "--attenuation", "10"], 0);
    assert!(!codes(&calm).iter().any(|code| code.contains("band")));
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

/// A load far from what the filter is made for has a number, a limit and a way out.
#[test]
fn a_load_far_from_what_the_filter_is_made_for_is_told() {
    let series = document(&["--load", "8", "--series", "18"]);
    let message = finding(&series, "pad-load-far", "caution");
    for words in [
        "26 Ω",
        "8 Ω",
        "limit ±25 %",
        "common practice",
        "5.5 Ω with a shunt of 3.6 Ω",
    ] {
        assert!(message.contains(words), "{words}: {message}");
    }
    let far = document(&["--load", "8", "--attenuation", "60 dB"]);
    let message = finding(&far, "pad-load-far", "caution");
    assert!(message.contains("before the amplifier"), "{message}");
    // The pad that it proposes has no such finding.
    let near = document(&["--load", "8", "--series", "5.5", "--shunt", "3.6"]);
    assert!(codes(&near).is_empty(), "{:?}", codes(&near));
    let calm = document(&["--demo", "--driver", "mid"]);
    assert!(codes(&calm).is_empty());
    let wound = document(&["--load", "8", "--taps", "0.5", "--core", "50 V"]);
    let message = finding(&wound, "pad-load-far", "caution");
    assert!(message.contains("11 Ω across the winding"), "{message}");
    let back = [
        "--load", "8", "--taps", "0.5", "--shunt", "11", "--core", "50 V",
    ];
    assert!(codes(&document(&back)).is_empty());
    let moved = document(&["--demo", "--driver", "mid", "--series", "18"]);
    finding(&moved, "pad-load-far", "caution");
}

#[test]
fn parts_beside_the_pad_are_told() {
    let files = DemoFiles::new();
    let driver = "MID = {";
    let zobel = "C9 = { capacitor = \"4.7 uF\", between = [\"m4\", \"m1\"] }\nMID = {";
    let file = files.changed("network.toml", &[(driver, zobel)]);
    let document = document(&[&file, "--driver", "mid"]);
    let message = finding(&document, "pad-not-alone", "note");
    assert!(message.starts_with("C9 also"), "{message}");
}

/// What is worst at the end of a band is told of the end of the band, and a pad that brings the loudspeaker
/// below the least load says so.
#[test]
fn the_end_of_the_band_and_the_load_of_the_whole() {
    let found = document(&[
        "--demo", "--driver", "mid", "--series", "9.1", "--shunt", "6.2",
    ]);
    let f_hz = found["curves"]["frequency_hz"].as_array();
    if let Some(f_hz) = f_hz {
        assert!(f_hz.iter().any(|f| f.as_f64() == Some(650.0)), "{f_hz:?}");
    }
    assert!(!codes(&found).contains(&"loudspeaker-load-low".to_owned()));
    let low = document(&["--demo", "--driver", "mid", "--series", "1", "--shunt", "2"]);
    let load = &low["loudspeaker"]["load"];
    assert!(
        load["least_ohm"].as_f64().is_some_and(|ohm| ohm < 5.6),
        "{low}"
    );
    assert!(codes(&low).contains(&"loudspeaker-load-low".to_owned()));
}

//! `pad` as a whole command against the published table of L-pads.
//!
//! Where the table is from stands in `tests::l_pad`.

use serde_json::Value;
use tests::l_pad::L_PAD;
use tests::pad::{document, number};

#[test]
fn the_ideal_pads_are_those_of_the_table() {
    for [db, series, shunt, load_share, series_share, shunt_share] in L_PAD {
        let attenuation = format!("{db} dB");
        let document = document(&[
            "--load",
            "8 ohm",
            "--attenuation",
            &attenuation,
            "--power",
            "1 W",
        ]);
        for (pointer, published, digit) in [
            ("/ideal/series_ohm", series, 1e-5),
            ("/ideal/shunt_ohm", shunt, 1e-5),
            ("/ideal/power_w/driver", load_share, 1e-6),
            ("/ideal/power_w/series", series_share, 1e-6),
            ("/ideal/power_w/shunt", shunt_share, 1e-6),
        ] {
            let found = number(&document, pointer);
            assert!(
                (found - published).abs() <= 0.501 * digit,
                "{db} dB {pointer}: {found}"
            );
        }
        assert!((number(&document, "/ideal/attenuation_db") - db).abs() < 1e-9);
        assert!((number(&document, "/ideal/seen_ohm") - 8.0).abs() < 1e-9);
    }
}

#[test]
fn power_grows_with_the_amplifier() {
    let at = |power: &str| document(&["--load", "8", "--attenuation", "10", "--power", power]);
    let (one, twenty) = (at("1 W"), at("20 W"));
    for part in ["series", "shunt", "driver"] {
        let pointer = format!("/power_w/{part}");
        let ratio = number(&twenty, &pointer) / number(&one, &pointer);
        assert!((ratio - 20.0).abs() < 1e-9, "{part}: {ratio}");
    }
}

/// The other kinds on a resistor: K = 10^(dB/20), so that a series resistor is R(K − 1), the shunt in
/// front of it R·K/(K − 1) for a load of R, and the tap 1/K.
#[test]
fn the_other_kinds_have_their_closed_forms() {
    let k = 10f64.powf(9.0 / 20.0);
    let ideal = |kind: &str| {
        let args = ["--load", "8", "--attenuation", "9", "--kind", kind];
        document(&args)["ideal"].clone()
    };
    let near = |value: &Value, pointer: &str, wanted: f64| {
        let found = number(value, pointer);
        assert!(
            (found / wanted - 1.0).abs() < 1e-9,
            "{pointer}: {found}, not {wanted}"
        );
    };
    let series = ideal("series");
    near(&series, "/series_ohm", 8.0 * (k - 1.0));
    assert!(series["shunt_ohm"].is_null());
    let both = ideal("shunt-series");
    near(&both, "/series_ohm", 8.0 * (k - 1.0));
    near(&both, "/shunt_ohm", 8.0 * k / (k - 1.0));
    let winding = ideal("autoformer");
    near(&winding, "/ratio", 1.0 / k);
    // K²·R in parallel with the resistor across the winding is R again.
    near(&winding, "/shunt_ohm", 8.0 * k * k / (k * k - 1.0));
    assert!(winding["series_ohm"].is_null());
}

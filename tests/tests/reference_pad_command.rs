//! `pad` as a whole command against the published table of L-pads.
//!
//! The table is that of `reference_pad.rs`: K = 10^(dB/20), series R(1 − 1/K), shunt R/(K − 1), and the
//! shares of power 1 − 1/K, (K − 1)/K² and 1/K². Its row for 10 dB (0.684, 0.216 and 0.1 of the power) is
//! in the documentation of a general-purpose circuit simulator, read; the others were computed apart from
//! this program with 40 digits.

use serde_json::Value;
use tests::pad::{document, number};

/// Attenuation in dB, then for 8 Ω: series Ω, shunt Ω, and the shares of load, series and shunt.
const L_PAD: [[f64; 6]; 20] = [
    [1.0, 0.86999, 65.56385, 0.794328, 0.108749, 0.096923],
    [2.0, 1.64537, 30.89693, 0.630957, 0.205672, 0.163371],
    [3.0, 2.33643, 19.39217, 0.501187, 0.292054, 0.206759],
    [4.0, 2.95234, 13.67771, 0.398107, 0.369043, 0.232850],
    [5.0, 3.50127, 10.27908, 0.316228, 0.437659, 0.246114],
    [6.0, 3.99050, 8.03808, 0.251189, 0.498813, 0.249999],
    [7.0, 4.42653, 6.45827, 0.199526, 0.553316, 0.247157],
    [8.0, 4.81514, 5.29140, 0.158489, 0.601893, 0.239618],
    [9.0, 5.16149, 4.39951, 0.125893, 0.645187, 0.228921],
    [10.0, 5.47018, 3.69980, 0.100000, 0.683772, 0.216228],
    [11.0, 5.74529, 3.13955, 0.079433, 0.718162, 0.202405],
    [12.0, 5.99049, 2.68360, 0.063096, 0.748811, 0.188093],
    [13.0, 6.20902, 2.30758, 0.050119, 0.776128, 0.173753],
    [14.0, 6.40379, 1.99408, 0.039811, 0.800474, 0.159716],
    [15.0, 6.57738, 1.73032, 0.031623, 0.822172, 0.146205],
    [16.0, 6.73209, 1.50671, 0.025119, 0.841511, 0.133370],
    [17.0, 6.86997, 1.31591, 0.019953, 0.858746, 0.121301],
    [18.0, 6.99286, 1.15219, 0.015849, 0.874107, 0.110044],
    [19.0, 7.10239, 1.01106, 0.012589, 0.887798, 0.099613],
    [20.0, 7.20000, 0.88889, 0.010000, 0.900000, 0.090000],
];

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

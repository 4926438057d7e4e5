//! Pads that were advised or offered wrongly once.

use netlist::project::{CatalogueItem, SeriesRange, Stock, StockKind};
use solver::pad::{PadLoad, PadSource, PadTarget, Resistors, sized};
use solver::synthesis::PadKind;
use tests::pad::{DemoFiles, document, finding};

/// The resistor across a winding and its tap are found together, so that the advice is a pad that has the level.
#[test]
fn the_attenuation_that_is_advised_for_an_autoformer_leads_there() {
    let files = DemoFiles::new();
    let name = files.changed(
        "network.toml",
        &[
            (
                r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }"#,
                "",
            ),
            (
                r#"R3 = { resistor = "6.2 ohm", between = ["m4", "gnd"] }"#,
                "",
            ),
            (
                r#"MID = { driver = "mid", between = ["m4", "gnd"] }"#,
                r#"MID = { driver = "mid", between = ["m3", "gnd"] }"#,
            ),
        ],
    );
    let asked = |attenuation: &str| {
        let kind = ["--kind", "autoformer", "--attenuation", attenuation];
        document(&[&[&*name, "--driver", "high"], &kind[..]].concat())
    };
    let first = asked("9 dB");
    let message = finding(&first, "attenuation-too-large", "caution");
    let (_, value) = message.split_once("by about ").expect("a value");
    let advised = value.split(" dB").next().unwrap();
    let followed = asked(&format!("{advised} dB"));
    let findings = followed["findings"].as_array().unwrap();
    for code in ["attenuation-too-large", "attenuation-too-small"] {
        assert!(findings.iter().all(|found| found["code"] != code));
    }
}

/// Where only joined resistors come near, a pad takes no more of a line than there is either.
#[test]
fn a_pad_of_joined_resistors_is_in_the_drawer() {
    let one = |ohm: f64| CatalogueItem {
        count: Some(1),
        ..CatalogueItem::of(StockKind::Resistor, ohm, None)
    };
    let resistors = Resistors::new(&Stock {
        catalogue: vec![one(33.0), one(47.0), one(68.0)],
        resistors: Some(SeriesRange {
            together: 2,
            ..StockKind::Resistor.default_range()
        }),
        ..Stock::default()
    });
    let load = PadLoad::resistor(8.0);
    let feed = PadSource::amplifier(&load, &0.0.into());
    let target = PadTarget {
        kind: PadKind::LPad,
        attenuation_db: 9.0,
        kept_ohm: vec![8.0; load.grid.len()],
        least_ohm: 0.0,
        taps: Vec::new(),
    };
    let found = sized(&load, &feed, &target, &resistors, 12.0, 5);
    assert!(!found.is_empty());
    for pad in &found {
        let parts = [pad.series.as_ref(), pad.shunt.as_ref()];
        assert!(resistors.enough(parts), "{parts:?}");
    }
}

//! Pads that were advised or offered wrongly once.

use netlist::project::{CatalogueItem, SeriesRange, Stock, StockKind};
use solver::pad::{Counted, PadLoad, PadSite, PadSource, PadTarget, Resistors};
use solver::synthesis::PadKind;
use tests::command::handover;
use tests::pad::{DemoFiles, document, finding, number, running_text};

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
        counted: Counted::Attenuation,
        kept_ohm: vec![8.0; load.grid.len()],
        least_ohm: 0.0,
        taps: Vec::new(),
    };
    let site = PadSite {
        load: &load,
        feed: &feed,
        resistors: &resistors,
    };
    let found = site.sized(&target, 5);
    assert!(!found.is_empty());
    for pad in &found {
        let parts = [pad.series.as_ref(), pad.shunt.as_ref()];
        assert!(resistors.enough(parts), "{parts:?}");
    }
}

const STOCK: &str = "resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }";

/// A line more in the drawer takes nothing from a pad: one strong resistor beside ten weaker ones of its value.
#[test]
fn more_in_the_drawer_makes_no_pad_worse() {
    let files = DemoFiles::new();
    let line =
        |ohm: &str, more: &str| format!("{{ kind = \"resistor\", value = \"{ohm} ohm\", {more} }}");
    let best = |lines: &[String]| {
        let drawer = format!("catalogue = [{}]", lines.join(", "));
        let name = files.changed("network.toml", &[(STOCK, &drawer)]);
        let found = document(&[&name, "--driver", "mid", "--attenuation", "9.5 dB"]);
        (
            ["/series_ohm", "/shunt_ohm"].map(|of| number(&found, of)),
            number(&found, "/stock/0/cost_db"),
        )
    };
    let strong = line("8.2", "count = 1, rating = \"20 W\"");
    let others = [
        line("8.2", "count = 10, rating = \"10 W\""),
        line("1", "count = 10"),
        line("3.3", "count = 10"),
        line("4.7", "count = 10"),
    ];
    let (without, cost_db) = best(&others);
    let with = [&[strong], &others[..]].concat();
    let (found, with_db) = best(&with);
    assert_eq!(without.map(f64::to_bits), [8.2; 2].map(f64::to_bits));
    assert_eq!(found.map(f64::to_bits), without.map(f64::to_bits));
    assert!(with_db <= cost_db + 1e-9, "{with_db} {cost_db}");
}

/// Screen and page have one reason for a step that no tap makes.
#[test]
fn a_step_that_no_tap_makes_is_so_on_screen_and_page() {
    let files = DemoFiles::new();
    let name = files.changed(
        "network.toml",
        &[
            (
                r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }"#,
                r#"T1 = { autoformer = "40 mH", dcr = "0.5 ohm", between = ["m3", "gnd"], taps = { m4 = 0.3, m6 = 0.4 } }"#,
            ),
            (
                r#"R3 = { resistor = "6.2 ohm", between = ["m4", "gnd"] }"#,
                "",
            ),
        ],
    );
    let reason = "no tap at hand comes within half a decibel";
    assert!(running_text(&[&name, "--driver", "mid"]).contains(reason));
    let page = files.name("page.html");
    let written = handover(&["report", &name, "-o", &page]);
    assert!(written.status < 2, "{}", written.err);
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains(reason));
}

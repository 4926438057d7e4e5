//! Steps by ear and the nearest of the stock, against the whole network solved by nodes and against all pairs
//! that the stock makes.

use netlist::network::Joined;
use netlist::project::{SeriesRange, Stock, StockKind};
use netlist::series::Series;
use serde_json::Value;
use solver::nodal::Drive as Amplifier;
use solver::pad::{
    Counted, PadLoad, PadSite, PadSource, PadTarget, Resistors, Study, find_pad, steps,
};
use solver::spectrum::Spectrum;
use solver::synthesis::{Pad, PadKind};
use tests::pad::{DemoFiles, document, finding, screen, solved};

/// Pads a step is counted from: one that keeps the filter's load, and three that do not.
const DESIGNS: [Pad; 4] = [
    Pad::LPad {
        series_ohm: 9.1,
        shunt_ohm: 6.2,
    },
    Pad::LPad {
        series_ohm: 33.0,
        shunt_ohm: 2.2,
    },
    Pad::Series { series_ohm: 15.0 },
    Pad::ShuntSeries {
        shunt_ohm: 6.2,
        series_ohm: 4.7,
    },
];

/// The mean level at the driver over its band, with each step in the network and that solved anew.
#[test]
fn a_step_is_that_step_at_the_driver() {
    let loaded = DemoFiles::new().load("network.toml");
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let load = PadLoad::driver(project, "mid", None)
        .unwrap()
        .beside(built, &place, &|_| None);
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let amplifier = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 1.8.into(),
    };
    let others: Vec<PadLoad> = ["low", "mid", "high"]
        .map(|name| PadLoad::driver(project, name, None).unwrap())
        .into();
    let loads: Vec<&Spectrum> = others.iter().map(|load| &load.z_ohm).collect();
    let mean_db = |pad: Pad| {
        let network = place.with_pad(built, Some(pad));
        let (plan, solution) = solved(&network, &load.grid, &loads, &amplifier);
        let (output, _) = plan.driver_outputs().nth(1).unwrap();
        let levels = load
            .band()
            .map(|i| 20.0 * solution.output_at(output, i).norm().log10());
        levels.sum::<f64>() / load.band().len() as f64
    };
    let resistors = Resistors::new(&Stock::default());
    for pad in DESIGNS {
        let design = Study::new(pad, &load, &feed);
        let target = |least_ohm: f64| PadTarget {
            kind: pad.kind(),
            attenuation_db: 0.0,
            counted: Counted::Attenuation,
            kept_ohm: vec![8.0; load.grid.len()],
            least_ohm,
            taps: Vec::new(),
        };
        let site = PadSite {
            load: &load,
            feed: &feed,
            resistors: &resistors,
        };
        let of = |target: &PadTarget| steps(&design, site, target, 3);
        let found = of(&target(0.0));
        let design_db = mean_db(pad);
        for step in &found {
            let Some(candidate) = &step.candidate else {
                assert!(step.design || step.change_db.is_none());
                continue;
            };
            let change_db = mean_db(candidate.study.pad) - design_db;
            assert!((change_db - step.change_db.unwrap()).abs() < 1e-7);
            assert!(
                (change_db - step.level_db).abs() < 0.25,
                "{pad:?} {change_db}"
            );
            assert!(step.met());
        }
        // E24 makes all softer ones.
        assert!(
            found[..3].iter().all(|step| step.candidate.is_some()),
            "{pad:?}"
        );
        // A limit that the design itself does not keep draws no step away from it.
        for (one, other) in found.iter().zip(of(&target(100.0))) {
            let pad = |candidate: &Option<solver::pad::Candidate>| {
                candidate.as_ref().map(|candidate| candidate.study.pad)
            };
            assert_eq!(pad(&one.candidate), pad(&other.candidate));
        }
    }
}

/// Where the stock comes nowhere near, the first pad is the nearest of all that it makes.
#[test]
fn outside_the_tolerance_the_nearest_comes_first() {
    let load = PadLoad::resistor(8.0);
    let feed = PadSource::amplifier(&load, &0.0.into());
    for (series, from_si, together, db) in [
        (Series::E24, 50.0, 1, 10.0),
        (Series::E24, 0.47, 1, 0.1),
        (Series::E6, 33.0, 2, 6.0),
    ] {
        let range = SeriesRange {
            series,
            from_si,
            to_si: 100.0,
            together,
            ..StockKind::Resistor.default_range()
        };
        let resistors = Resistors::new(&Stock {
            resistors: Some(range),
            ..Stock::default()
        });
        let target = PadTarget {
            kind: PadKind::LPad,
            attenuation_db: db,
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
        let off = |pad: Pad| (Study::new(pad, &load, &feed).mean_db - db).abs();
        let singles: Vec<f64> = resistors.singles().map(|single| single.value_si).collect();
        let mut all = singles.clone();
        if together > 1 {
            for how in [Joined::Series, Joined::Parallel] {
                all.extend(singles.iter().flat_map(|a| {
                    singles.iter().map(move |b| match how {
                        Joined::Series => a + b,
                        Joined::Parallel => a * b / (a + b),
                    })
                }));
            }
        }
        let nearest = (all.iter())
            .flat_map(|series| all.iter().map(move |shunt| (*series, *shunt)))
            .map(|(series_ohm, shunt_ohm)| {
                off(Pad::LPad {
                    series_ohm,
                    shunt_ohm,
                })
            })
            .fold(f64::INFINITY, f64::min);
        assert!(nearest > 0.25, "{nearest} shows nothing");
        let offs: Vec<f64> = found.iter().map(|found| off(found.study.pad)).collect();
        assert!((offs[0] - nearest).abs() < 1e-5, "{offs:?}, not {nearest}");
        assert!(offs.is_sorted_by(|a, b| *a <= b + 1e-5), "{offs:?}");
    }
}

#[test]
fn every_step_says_what_it_is() {
    let document = document(&["--load", "8 ohm", "--attenuation", "2 dB"]);
    let steps = document["steps"].as_array().unwrap();
    let mean_db = |step: &Value| step["attenuation"]["mean_db"].as_f64();
    let design_db = mean_db(&steps[3]).unwrap();
    for step in steps {
        for field in [
            "kind",
            "series_ohm",
            "shunt_ohm",
            "ratio",
            "change_db",
            "met",
        ] {
            assert!(step.get(field).is_some(), "{field} is not in {step}");
        }
        // On a plain load nothing but the attenuation counts.
        let change_db = mean_db(step).map(|mean_db| design_db - mean_db);
        match (change_db, step["change_db"].as_f64()) {
            (Some(wanted), Some(found)) => assert!((wanted - found).abs() < 1e-9),
            (wanted, found) => assert_eq!(wanted, found),
        }
    }
    assert!(
        steps[6]["series_ohm"].is_null(),
        "no pad makes it louder than none"
    );
}

#[test]
fn the_level_at_the_driver_is_shown() {
    let files = DemoFiles::new();
    let network = files.name("network.toml");
    let args = [network.as_str(), "--driver", "mid", "--series", "15"];
    let level_db = document(&args)["crossover"]["level_db"].as_f64().unwrap();
    let shown = screen(&args);
    let row = (shown.lines()).find(|line| line.starts_with("level at the driver"));
    let cell = format!("{level_db:+.2} dB");
    assert!(
        row.is_some_and(|row| row.contains(&cell)),
        "{cell}: {shown}"
    );
    assert!(shown.contains("as it is"));
}

/// The advice does not depend on the pad that is tried, and following it settles the matter.
#[test]
fn the_attenuation_that_is_advised_leads_there() {
    let files = DemoFiles::new();
    let network = files.name("network.toml");
    for kind in ["l-pad", "series", "shunt-series"] {
        let asked = |attenuation: &str| {
            let args = [
                network.as_str(),
                "--driver",
                "mid",
                "--kind",
                kind,
                "--attenuation",
                attenuation,
            ];
            document(&args)
        };
        let advised = [
            ("30 dB", "attenuation-too-large"),
            ("3 dB", "attenuation-too-small"),
        ]
        .map(|(attenuation, code)| {
            let document = asked(attenuation);
            let message = finding(&document, code, "caution");
            let (_, value) = message.split_once("by about ").expect("a value");
            value.split(' ').next().unwrap().parse::<f64>().unwrap()
        });
        assert!(
            (advised[0] - advised[1]).abs() < 0.15,
            "{kind}: {advised:?}"
        );
        let followed = asked(&format!("{} dB", advised[0]));
        let findings = followed["findings"].as_array().unwrap();
        for code in ["attenuation-too-large", "attenuation-too-small"] {
            assert!(
                findings.iter().all(|found| found["code"] != code),
                "{kind}: {advised:?}"
            );
        }
    }
}

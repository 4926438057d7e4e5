//! A T, drivers side by side or in series, and a pad in the return lead, each against the whole network
//! solved by nodes.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::quantity::Ohms;
use solver::nodal::{Drive as Amplifier, SourceImpedance};
use solver::pad::{
    PadLoad, PadSource, Study, driver_level_db, find_pad, return_lead_first, shared_with,
};
use solver::spectrum::Spectrum;
use solver::synthesis::Pad;
use tests::pad::{DemoFiles, document, finding, number, refused, running_text, solved};

const R2: &str = r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }"#;
const R3: &str = r#"R3 = { resistor = "6.2 ohm", between = ["m4", "gnd"] }"#;
const MID: &str = r#"MID = { driver = "mid", between = ["m4", "gnd"] }"#;
const HIGH: &str = r#"HIGH = { driver = "high", between = ["h3", "gnd"] }"#;

const AMPLIFIER: Amplifier = Amplifier {
    open_circuit_v: 1.0,
    output_impedance_ohm: SourceImpedance::Resistance(1.8),
};
const OTHER: Pad = Pad::LPad {
    series_ohm: 8.2,
    shunt_ohm: 4.7,
};

fn near(found: f64, wanted: f64, what: &str) {
    let off = (found - wanted).abs();
    assert!(
        off <= 1e-9 * (1.0 + wanted.abs()),
        "{what}: {found}, not {wanted}"
    );
}

/// Attenuation from `m3` to the driver, load at `m3`, voltage at the driver and heat in the series resistor
/// of the pad in `changed.toml`, against its own network; and the voltage with another pad.
fn holds(files: &DemoFiles, series_part: &str) -> PadLoad {
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let forward = return_lead_first(built, "mid");
    let network = forward.as_ref().map_or(built, |(network, _)| network);
    let place = find_pad(network, "mid").unwrap();
    let cold = |name: &str| PadLoad::driver(project, name, None).unwrap();
    let load = cold("mid").beside(network, &place, &|name| Some(cold(name).z_ohm));
    let feed = PadSource::network(project, network, &place, &load).unwrap();
    let loads = ["low", "mid", "high"].map(|name| cold(name).z_ohm);
    let loads: Vec<&Spectrum> = loads.iter().collect();
    let pad = place.pad.unwrap();
    let study = Study::new(pad, &load, &feed);
    let heat = Study::new(pad, &load, &feed).heat;
    let drive = driver_level_db(Some(pad), &load, &feed);

    let (plan, solution) = solved(built, &load.grid, &loads, &AMPLIFIER);
    let (output, _) = plan.driver_outputs().nth(place.driver_number).unwrap();
    let m3 = node(built, "m3");
    let PartKind::Resistor {
        resistance,
        between,
    } = built.parts()[series_part].kind
    else {
        unreachable!("a resistor");
    };
    let seen = seen_at_m3(built, &load, &loads);
    let mut series_w: f64 = 0.0;
    for i in 0..load.grid.len() {
        let [from, to] = between.map(|node| solution.node_at(node, i));
        series_w = series_w.max((from - to).norm_sqr() / resistance.0);
        if load.filter_band().contains(&i) {
            let v_d = solution.output_at(output, i).norm();
            near(drive[i], 20.0 * v_d.log10(), "driver");
            let taken_db = 20.0 * (solution.node_at(m3, i).norm() / v_d).log10();
            near(study.curves.attenuation_db[i], taken_db, "attenuation");
            near(
                (study.curves.seen_ohm.at(i) - seen.at(i)).norm(),
                0.0,
                "load",
            );
        }
    }
    near(
        heat.series.unwrap().sine_w / series_w,
        1.0,
        "heat in series",
    );
    source_holds(built, &load, &loads, &study, place.driver_number);

    let other = place.with_pad(network, Some(OTHER));
    let drive = driver_level_db(Some(OTHER), &load, &feed);
    let (plan, solution) = solved(&other, &load.grid, &loads, &AMPLIFIER);
    let (output, _) = plan.driver_outputs().nth(place.driver_number).unwrap();
    for i in load.filter_band() {
        let level_db = 20.0 * solution.output_at(output, i).norm().log10();
        near(drive[i], level_db, "driver with another pad");
    }
    load
}

fn node(network: &Network, name: &str) -> NodeId {
    let place = network.node_names().position(|of| of == name);
    NodeId(place.unwrap())
}

/// What hangs behind `m3`, alone on an ideal source: all parts of the pad's way, taken from the file.
fn seen_at_m3(built: &Network, load: &PadLoad, loads: &[&Spectrum]) -> Spectrum {
    let mut alone = Network::new();
    let m3 = node(built, "m3");
    let filter = ["L4", "C4"];
    let mut names = vec!["m3".to_owned()];
    let mut drivers: Vec<usize> = Vec::new();
    let mut parts: Vec<String> = Vec::new();
    // Three rounds reach all that the tests put behind m3.
    for _ in 0..4 {
        for (name, part) in built.parts() {
            let Some(ends) = part.kind.between() else {
                continue;
            };
            let ends = ends.map(|node| built.node_name(node).to_owned());
            let there = ends.iter().any(|end| names.contains(end));
            if there && !parts.contains(name) && !filter.contains(&name.as_str()) {
                parts.push(name.clone());
                names.extend(ends.into_iter().filter(|end| end != "gnd"));
            }
        }
    }
    let mut number = 0;
    for (name, part) in built.parts() {
        let driver = matches!(part.kind, PartKind::Driver { .. });
        if parts.contains(name) {
            let mut kind = part.kind.clone();
            match &mut kind {
                PartKind::Resistor { between, .. }
                | PartKind::Capacitor { between, .. }
                | PartKind::Driver { between, .. } => {
                    for end in between {
                        *end = match *end {
                            end if end == m3 => NodeId::IN,
                            NodeId::GND => NodeId::GND,
                            end => alone.node(built.node_name(end)),
                        };
                    }
                }
                _ => unreachable!("no such part behind m3"),
            }
            alone.insert(name.clone(), Part::new(kind));
            if driver {
                drivers.push(number);
            }
        }
        number += usize::from(driver);
    }
    let there: Vec<&Spectrum> = drivers.iter().map(|number| loads[*number]).collect();
    let ideal = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 0.0.into(),
    };
    let (_, solution) = solved(&alone, &load.grid, &there, &ideal);
    let (re, im) = solution.input_admittance();
    Spectrum::from_fn(load.grid.len(), |i| {
        num_complex::Complex64::new(re[i], im[i]).inv()
    })
}

/// What the driver sees looking back, from two loads in its place.
fn source_holds(
    built: &Network,
    load: &PadLoad,
    loads: &[&Spectrum],
    study: &Study,
    number: usize,
) {
    let [a, b] = [5.0, 50.0].map(|ohm: f64| {
        let trial = Spectrum::from_fn(load.grid.len(), |_| ohm.into());
        let mut loads = loads.to_vec();
        loads[number] = &trial;
        let (plan, solution) = solved(built, &load.grid, &loads, &AMPLIFIER);
        let (output, _) = plan.driver_outputs().nth(number).unwrap();
        solution.output(output)
    });
    for i in load.band() {
        let (va, vb) = (a.at(i), b.at(i));
        let behind = (vb - va) / (va / 5.0 - vb / 50.0);
        let off = (study.curves.source_ohm.at(i) - behind).norm();
        near(off, 0.0, "source");
    }
}

/// The rest of a T counts, in what is told and in what is sized.
#[test]
fn a_t_is_taken_whole() {
    let zobel = r#"R8 = { resistor = "7.5 ohm", between = ["m4", "z1"] }
        C8 = { capacitor = "6.8 uF", between = ["z1", "gnd"] }"#;
    // With a correction across the driver, or a second stage with a shunt of its own, it is the same.
    for more in [
        "",
        zobel,
        r#"R7 = { resistor = "15 ohm", between = ["m4", "gnd"] }"#,
    ] {
        let files = DemoFiles::new();
        let tee = format!(
            r#"R2 = {{ resistor = "4.7 ohm", between = ["m3", "t"] }}
            R3 = {{ resistor = "5.6 ohm", between = ["t", "gnd"] }}
            R6 = {{ resistor = "2.2 ohm", between = ["t", "m4"] }}
            {more}"#
        );
        let name = files.changed("network.toml", &[(R2, &tee), (R3, "")]);
        let load = holds(&files, "R2");
        assert!(load.mean_tail_db() > 0.5);
        let json = document(&[&name, "--driver", "mid"]);
        assert_eq!(json["place"]["in_file"], serde_json::json!(["R2", "R3"]));
        assert_eq!(json["place"]["tail"], true);
        assert_eq!(json["place"]["at"], "driver");
        let stays = json["place"]["stays"].as_array().unwrap();
        assert!(stays.contains(&"R6".into()), "{stays:?}");
        let screen = running_text(&[&name, "--driver", "mid"]);
        assert!(screen.contains("behind the pad, and counted in attenuation and load: "));
        assert!(!screen.contains("before the filter"), "{screen}");
        // No pad makes it less than the tail.
        refused(
            &[&name, "--driver", "mid", "--attenuation", "0.5 dB"],
            &["behind the pad R6", "already takes", "help:"],
        );
        // What is sized has the attenuation asked for with the tail in place.
        let sized = document(&[&name, "--driver", "mid", "--attenuation", "10 dB"]);
        let mean_db = number(&sized, "/attenuation/mean_db");
        assert!((mean_db - 10.0).abs() < 0.25, "{mean_db}");
        let [series, shunt] = ["/series_ohm", "/shunt_ohm"].map(|of| number(&sized, of));
        let words = [
            ("\"4.7 ohm\", between = [\"m3\"", series),
            ("\"5.6 ohm\", between = [\"t\"", shunt),
        ];
        let mut built = tee.clone();
        for (from, ohm) in words {
            let after = from.split_once(',').unwrap().1;
            built = built.replace(from, &format!("\"{ohm} ohm\",{after}"));
        }
        let name = files.changed("network.toml", &[(R2, &built), (R3, "")]);
        holds(&files, "R2");
        let there = document(&[&name, "--driver", "mid"]);
        near(number(&there, "/attenuation/mean_db"), mean_db, "as built");
    }
}

/// A shunt that a part of the filter hangs on belongs to the filter: no T.
#[test]
fn a_resistor_of_the_filter_makes_no_t() {
    let files = DemoFiles::new();
    let damped = r#"R2 = { resistor = "4.7 ohm", between = ["m3", "t"] }
        C8 = { capacitor = "6.8 uF", between = ["t", "gnd"] }
        R6 = { resistor = "2.2 ohm", between = ["t", "m4"] }"#;
    files.changed("network.toml", &[(R2, damped)]);
    let loaded = files.load("changed.toml");
    let place = find_pad(loaded.project.network.as_ref().unwrap(), "mid").unwrap();
    assert_eq!(place.parts, ["R6", "R3"]);
    assert!(!place.tail);
}

#[test]
fn a_second_driver_across_the_first_counts() {
    for second in [
        r#"HIGH = { driver = "high", between = ["m4", "gnd"] }"#,
        r#"C9 = { capacitor = "4.7 uF", between = ["m4", "x"] }
           HIGH = { driver = "high", between = ["x", "gnd"] }"#,
    ] {
        let files = DemoFiles::new();
        let end = r#"R9 = { resistor = "10 ohm", between = ["h3", "gnd"] }"#;
        let name = files.changed(
            "network.toml",
            &[(HIGH, end), (MID, &format!("{MID}\n{second}"))],
        );
        holds(&files, "R2");
        let args = [&*name, "--driver", "mid"];
        let across = &document(&args)["across"];
        assert!(across.as_array().unwrap().contains(&"HIGH".into()));
        let screen = running_text(&args);
        assert!(
            screen.contains("across the driver, and counted: "),
            "{screen}"
        );
        assert!(!screen.contains("leave them out"), "{screen}");
    }
}

#[test]
fn a_pad_across_drivers_in_series_is_refused() {
    let files = DemoFiles::new();
    let end = r#"R9 = { resistor = "10 ohm", between = ["h3", "gnd"] }"#;
    let both = r#"MID = { driver = "mid", between = ["m4", "x"] }
        HIGH = { driver = "high", between = ["x", "gnd"] }"#;
    let name = files.changed("network.toml", &[(HIGH, end), (MID, both)]);
    for (driver, other) in [("mid", "HIGH"), ("high", "MID")] {
        let words = ["in series with", other, "help:", "as one driver"];
        refused(&[&name, "--driver", driver], &words);
        refused(
            &[&name, "--driver", driver, "--attenuation", "8 dB"],
            &words,
        );
    }
    // A pad of its own from terminal to terminal is one.
    let own = r#"R6 = { resistor = "3.3 ohm", between = ["m3", "m5"] }
        R7 = { resistor = "8.2 ohm", between = ["m5", "x"] }
        MID = { driver = "mid", between = ["m5", "x"] }
        HIGH = { driver = "high", between = ["x", "gnd"] }"#;
    files.changed(
        "network.toml",
        &[(HIGH, end), (R2, ""), (R3, ""), (MID, own)],
    );
    let loaded = files.load("changed.toml");
    let network = loaded.project.network.as_ref().unwrap();
    let place = find_pad(network, "mid").unwrap();
    assert_eq!(place.parts, ["R6", "R7"]);
    assert_eq!(shared_with(network, &place), None);
    // Nor is a driver alone in series with one of another way.
    let files = DemoFiles::new();
    let loaded = files.load("network.toml");
    let network = loaded.project.network.as_ref().unwrap();
    for driver in ["low", "mid", "high"] {
        let place = find_pad(network, driver).unwrap();
        assert_eq!(shared_with(network, &place), None, "{driver}");
    }
}

#[test]
fn a_pad_in_the_return_lead_is_found() {
    // The whole L-pad, its series resistor with the driver wired round, and a second one after a pad.
    for (series, shunt, mid, series_part) in [
        (
            r#"R2 = { resistor = "9.1 ohm", between = ["r", "gnd"] }"#,
            r#"R3 = { resistor = "6.2 ohm", between = ["m3", "r"] }"#,
            r#"MID = { driver = "mid", between = ["m3", "r"] }"#,
            "R2",
        ),
        (
            r#"R2 = { resistor = "9.1 ohm", between = ["r", "gnd"] }"#,
            "",
            r#"MID = { driver = "mid", between = ["r", "m3"] }"#,
            "R2",
        ),
        (
            R2,
            R3,
            r#"MID = { driver = "mid", between = ["m4", "r"] }
            R6 = { resistor = "2.2 ohm", between = ["r", "gnd"] }"#,
            "R2",
        ),
    ] {
        let files = DemoFiles::new();
        let name = files.changed("network.toml", &[(R2, series), (R3, shunt), (MID, mid)]);
        holds(&files, series_part);
        let args = [&*name, "--driver", "mid"];
        let json = document(&args);
        let lead = json["place"]["return_lead"].as_array().unwrap();
        assert_eq!(lead.len(), 1, "{lead:?}");
        assert!(running_text(&args).contains("in the return lead, "));
        let network = files.load("changed.toml").project.network.unwrap();
        // The same circuit: exchanging the leads changes no voltage between terminals.
        let (forward, _) = return_lead_first(&network, "mid").unwrap();
        assert!(return_lead_first(&forward, "mid").is_none());
        assert_eq!(forward.parts().len(), network.parts().len());
        let ohm = |network: &Network| match network.parts()["R2"].kind {
            PartKind::Resistor { resistance, .. } => resistance,
            _ => Ohms(0.0),
        };
        assert_eq!(ohm(&network).0.to_bits(), ohm(&forward).0.to_bits());
    }
}

/// Advice on a pad in the return lead comes from the loudspeaker with that pad in its place.
#[test]
fn the_attenuation_advised_for_a_pad_in_the_return_lead_leads_there() {
    let files = DemoFiles::new();
    let name = files.changed(
        "network.toml",
        &[
            (
                R2,
                r#"R2 = { resistor = "9.1 ohm", between = ["r", "gnd"] }"#,
            ),
            (
                R3,
                r#"R3 = { resistor = "6.2 ohm", between = ["m3", "r"] }"#,
            ),
            (MID, r#"MID = { driver = "mid", between = ["m3", "r"] }"#),
        ],
    );
    for kind in ["l-pad", "series"] {
        let asked = |attenuation: &str| {
            let args = [&name, "--driver", "mid", "--kind", kind];
            document(&[&args[..], &["--attenuation", attenuation]].concat())
        };
        let message = finding(&asked("9 dB"), "attenuation-too-small", "caution").to_owned();
        let (_, value) = message.split_once("by about ").expect("a value");
        let followed = asked(&format!("{} dB", value.split(' ').next().unwrap()));
        for finding in followed["findings"].as_array().unwrap() {
            let code = finding["code"].as_str().unwrap();
            assert!(!code.starts_with("attenuation-too"), "{kind}: {finding}");
        }
    }
}

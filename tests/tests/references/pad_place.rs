//! Where a pad stands in a network, and its figures there against the network solved by nodes.

use netlist::network::NodeId;
use solver::nodal::{Drive as Amplifier, SourceImpedance};
use solver::pad::{PadInNetwork, PadLoad, PadSource, Study, driver_level_db, find_pad};
use solver::spectrum::Spectrum;
use solver::synthesis::Pad;
use tests::pad::{DemoFiles, document, number, running_text, solved};

const R2: &str = r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }"#;
const R3: &str = r#"R3 = { resistor = "6.2 ohm", between = ["m4", "gnd"] }"#;
const MID: &str = r#"MID = { driver = "mid", between = ["m4", "gnd"] }"#;
const C2: &str = r#"C2 = { capacitor = "10 uF", between = ["in", "m1"], esr = "20 mohm" }"#;
/// Without a pad: the driver on the filter.
const ON_FILTER: &str = r#"MID = { driver = "mid", between = ["m3", "gnd"] }"#;

const AMPLIFIER: Amplifier = Amplifier {
    open_circuit_v: 1.0,
    output_impedance_ohm: SourceImpedance::Resistance(1.8),
};

fn near(found: f64, wanted: f64, what: &str) {
    let off = (found - wanted).abs();
    assert!(
        off <= 1e-9 * (1.0 + wanted.abs()),
        "{what}: {found}, not {wanted}"
    );
}

fn place_of(files: &DemoFiles) -> PadInNetwork {
    let loaded = files.load("changed.toml");
    find_pad(loaded.project.network.as_ref().unwrap(), "mid").unwrap()
}

/// Attenuation, load, voltage at the driver and heat of the pad in `changed.toml`, and of other pads in its
/// place, against the whole network solved with them.
fn holds_in_the_network(files: &DemoFiles, others: &[Pad]) {
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let cold = |name: &str| PadLoad::driver(project, name, None).unwrap();
    let load = cold("mid").beside(built, &place, &|_| None);
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let [low, mid, high] = ["low", "mid", "high"].map(|name| cold(name).z_ohm);
    let loads: [&Spectrum; 3] = [&low, &mid, &high];
    for pad in others.iter().copied().chain(place.pad) {
        let network = place.with_pad(built, Some(pad));
        let there = find_pad(&network, "mid").unwrap();
        let (plan, solution) = solved(&network, &load.grid, &loads, &AMPLIFIER);
        let (output, _) = plan.driver_outputs().nth(1).unwrap();
        let study = Study::new(pad, &load, &feed);
        let drive = driver_level_db(Some(pad), &load, &feed);
        let heat = Study::new(pad, &load, &feed).heat;
        let (mut series_w, mut driver_w): (f64, f64) = (0.0, 0.0);
        for i in 0..load.grid.len() {
            let node = |node: NodeId| solution.node_at(node, i);
            let v_d = solution.output_at(output, i);
            let [top, hot] = ends(&there, &network).map(node);
            if load.filter_band().contains(&i) {
                near(drive[i], 20.0 * v_d.norm().log10(), "driver");
                let taken_db = 20.0 * (top / hot).norm().log10();
                near(study.curves.attenuation_db[i], taken_db, "attenuation");
            }
            if let Some(ohm) = pad.series_ohm() {
                series_w = series_w.max((top - hot).norm_sqr() / ohm);
            }
            driver_w = driver_w.max(v_d.norm_sqr() * mid.at(i).inv().re);
        }
        // A steady sine at its worst, from the node voltages alone.
        near(heat.driver.sine_w / driver_w, 1.0, "heat of the driver");
        if let Some(series) = heat.series {
            near(series.sine_w / series_w, 1.0, "heat in series");
        }
    }
}

/// Input and output of the pad, by the parts' nodes.
fn ends(place: &PadInNetwork, network: &netlist::network::Network) -> [NodeId; 2] {
    let terminal = |name: &String| network.parts()[name].kind.between().unwrap();
    if let Some(name) = place.winding_part() {
        let netlist::network::PartKind::Autoformer { taps, between, .. } =
            &network.parts()[name].kind
        else {
            unreachable!("a winding");
        };
        return [between[0], taps[0].node];
    }
    terminal(&place.series[0].0)
}

const OTHERS: [Pad; 3] = [
    Pad::LPad {
        series_ohm: 8.2,
        shunt_ohm: 4.7,
    },
    Pad::Series { series_ohm: 15.0 },
    Pad::Autoformer {
        ratio: 0.4,
        shunt_ohm: Some(18.0),
    },
];

#[test]
fn a_correction_across_the_driver_does_not_hide_the_pad() {
    // A Zobel with its resistor at the driver, and a trap in that order.
    for more in [
        r#"R8 = { resistor = "7.5 ohm", between = ["m4", "z1"] }
           C8 = { capacitor = "6.8 uF", between = ["z1", "gnd"] }"#,
        r#"R8 = { resistor = "7.5 ohm", between = ["m4", "z1"] }
           L8 = { inductor = "3.3 mH", between = ["z1", "z2"], dcr = "0.8 ohm" }
           C8 = { capacitor = "47 uF", between = ["z2", "gnd"] }"#,
    ] {
        let files = DemoFiles::new();
        files.changed("network.toml", &[(MID, &format!("{more}\n{MID}"))]);
        let place = place_of(&files);
        assert_eq!(place.parts, ["R2", "R3"], "{more}");
        assert_eq!(place.across[0], "R8");
        assert!(place.beside.is_empty() && place.stays.is_empty());
        holds_in_the_network(&files, &OTHERS);
    }
}

#[test]
fn several_resistors_that_act_as_one_are_one() {
    let files = DemoFiles::new();
    let series = r#"R2 = { resistor = "4.7 ohm", between = ["m3", "x"] }
        R21 = { resistor = "4.4 ohm", between = ["m4", "x"] }"#;
    let shunt = r#"R3 = { resistor = "10 ohm", between = ["m4", "gnd"] }
        R31 = { resistor = "22 ohm", between = ["gnd", "m4"] }
        R32 = { resistor = "47 ohm", between = ["m4", "y"] }
        R33 = { resistor = "100 ohm", between = ["y", "gnd"] }"#;
    files.changed("network.toml", &[(R2, series), (R3, shunt)]);
    let place = place_of(&files);
    assert_eq!(place.parts, ["R2", "R21", "R3", "R31", "R32", "R33"]);
    let Some(Pad::LPad {
        series_ohm,
        shunt_ohm,
    }) = place.pad
    else {
        panic!("{:?}", place.pad);
    };
    near(series_ohm, 9.1, "series");
    near(1.0 / shunt_ohm, 0.1 + 1.0 / 22.0 + 1.0 / 147.0, "shunt");
    // Each has its share of the heat.
    let of = |name: &str| {
        let mut shares = place.series.iter().chain(&place.shunt);
        shares.find(|(of, _)| of == name).unwrap().1
    };
    near(of("R2"), 4.7 / 9.1, "R2");
    near(of("R31"), shunt_ohm / 22.0, "R31");
    near(of("R32"), shunt_ohm / 147.0 * 47.0 / 147.0, "R32");
    holds_in_the_network(&files, &OTHERS);
}

/// The pad in front of the first capacitor: its load is the filter with the driver.
#[test]
fn a_pad_before_the_filter_stands_there() {
    let files = DemoFiles::new();
    let zobel = r#"R8 = { resistor = "7.5 ohm", between = ["m3", "z1"] }
        C8 = { capacitor = "6.8 uF", between = ["z1", "gnd"] }"#;
    let first = r#"R2 = { resistor = "5.6 ohm", between = ["in", "m0"] }
        R3 = { resistor = "3.9 ohm", between = ["m0", "gnd"] }
        C2 = { capacitor = "10 uF", between = ["m0", "m1"], esr = "20 mohm" }"#;
    let name = files.changed(
        "network.toml",
        &[(R2, zobel), (R3, ""), (MID, ON_FILTER), (C2, first)],
    );
    let place = place_of(&files);
    assert_eq!(place.parts, ["R2", "R3"]);
    assert!(place.ahead_of_filter() && place.at_amplifier());
    assert_eq!(place.stays, ["R8"]);
    holds_in_the_network(&files, &OTHERS);
    let document = document(&[&name, "--driver", "mid"]);
    assert_eq!(document["place"]["at"], "amplifier");
    assert_eq!(document["place"]["added"], false);
    assert!(running_text(&[&name, "--driver", "mid"]).contains("before the filter"));
    // What the driver sees looking back: the filter driven from the pad, by a current pushed into it.
    let seen = number(&document, "/source/least_ohm");
    assert!(seen > 0.5, "{seen}");
    // In the middle of the ladder too.
    let files = DemoFiles::new();
    let middle = r#"R2 = { resistor = "5.6 ohm", between = ["m1", "m0"] }
        R3 = { resistor = "9.1 ohm", between = ["m0", "gnd"] }
        C3 = { capacitor = "27 uF", between = ["m0", "m2"], esr = "20 mohm" }"#;
    let c3 = r#"C3 = { capacitor = "27 uF", between = ["m1", "m2"], esr = "20 mohm" }"#;
    files.changed(
        "network.toml",
        &[(R2, ""), (R3, ""), (MID, ON_FILTER), (c3, middle)],
    );
    let place = place_of(&files);
    assert!(place.ahead_of_filter() && !place.at_amplifier());
    holds_in_the_network(&files, &OTHERS);
}

/// The source impedance that the driver sees: behind a filter that follows the pad, and with a correction
/// across it.
#[test]
fn what_the_driver_sees_is_what_two_loads_say() {
    let first = r#"R2 = { resistor = "5.6 ohm", between = ["in", "m0"] }
        R3 = { resistor = "3.9 ohm", between = ["m0", "gnd"] }
        C2 = { capacitor = "10 uF", between = ["m0", "m1"], esr = "20 mohm" }"#;
    let zobel = r#"R8 = { resistor = "7.5 ohm", between = ["m4", "z1"] }
        C8 = { capacitor = "6.8 uF", between = ["z1", "gnd"] }
        MID = { driver = "mid", between = ["m4", "gnd"] }"#;
    for words in [
        &[(R2, ""), (R3, ""), (MID, ON_FILTER), (C2, first)][..],
        &[(MID, zobel)],
    ] {
        let files = DemoFiles::new();
        files.changed("network.toml", words);
        source_holds(&files);
    }
}

fn source_holds(files: &DemoFiles) {
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let cold = |name: &str| PadLoad::driver(project, name, None).unwrap();
    let load = cold("mid").beside(built, &place, &|_| None);
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let study = Study::new(place.pad.unwrap(), &load, &feed);
    let [low, high] = ["low", "high"].map(|name| cold(name).z_ohm);
    let volts = |ohm: f64| {
        let trial = Spectrum::from_fn(load.grid.len(), |_| ohm.into());
        let (plan, solution) = solved(built, &load.grid, &[&low, &trial, &high], &AMPLIFIER);
        let (output, _) = plan.driver_outputs().nth(1).unwrap();
        solution.output(output)
    };
    let (a, b) = (volts(5.0), volts(50.0));
    for i in load.band() {
        let (va, vb) = (a.at(i), b.at(i));
        let behind = (vb - va) / (va / 5.0 - vb / 50.0);
        near(
            (study.curves.source_ohm.at(i) - behind).norm(),
            0.0,
            "source",
        );
    }
}

/// A design's own autoformer is not ideal: inductance, resistance, coupling and loose taps count.
#[test]
fn the_winding_of_a_design_counts() {
    for (taps, hot) in [
        ("{ m4 = 0.3 }", 0.3),
        ("{ t1 = 0.7, m4 = 0.3, t2 = 0.2 }", 0.3),
    ] {
        let winding = format!(
            r#"T1 = {{ autoformer = "12 mH", between = ["m3", "gnd"], taps = {taps}, coupling = 0.99, dcr = "0.7 ohm" }}"#
        );
        let files = DemoFiles::new();
        let shunt = r#"R3 = { resistor = "16 ohm", between = ["m3", "gnd"] }"#;
        let name = files.changed("network.toml", &[(R2, &winding), (R3, shunt)]);
        let place = place_of(&files);
        assert_eq!(place.parts, ["T1", "R3"]);
        holds_in_the_network(
            &files,
            &[
                Pad::Autoformer {
                    ratio: hot,
                    shunt_ohm: None,
                },
                Pad::Autoformer {
                    ratio: 0.5,
                    shunt_ohm: Some(11.0),
                },
            ],
        );
        // The rows that are shown are these, not the ideal tap's.
        let document = document(&[&name, "--driver", "mid"]);
        let ideal_db = -20.0 * 0.3f64.log10();
        let mean_db = number(&document, "/attenuation/mean_db");
        assert!((mean_db - ideal_db).abs() > 0.02, "{mean_db} {ideal_db}");
        let spread =
            number(&document, "/attenuation/most_db") - number(&document, "/attenuation/least_db");
        assert!(spread > 0.01, "{spread}");
    }
}

#[test]
fn what_cannot_be_taken_for_the_pad_is_named() {
    // Two resistors in the ladder, either of which could be meant.
    let files = DemoFiles::new();
    let first = r#"R2 = { resistor = "2.2 ohm", between = ["in", "m0"] }
        C2 = { capacitor = "10 uF", between = ["m0", "m1"], esr = "20 mohm" }"#;
    let second = r#"R3 = { resistor = "3.3 ohm", between = ["m1", "m5"] }
        C3 = { capacitor = "27 uF", between = ["m5", "m2"], esr = "20 mohm" }"#;
    let c3 = r#"C3 = { capacitor = "27 uF", between = ["m1", "m2"], esr = "20 mohm" }"#;
    let name = files.changed(
        "network.toml",
        &[
            (R2, ""),
            (R3, ""),
            (MID, ON_FILTER),
            (C2, first),
            (c3, second),
        ],
    );
    let place = place_of(&files);
    assert_eq!(place.pad, None);
    assert_eq!(place.stays, ["R2", "R3"]);
    let args = [&*name, "--driver", "mid"];
    let screen = running_text(&args);
    assert!(screen.contains("no pad stands by itself"), "{screen}");
    let mut sized = args.to_vec();
    sized.extend(["--attenuation", "8 dB"]);
    let document = document(&sized);
    assert_eq!(document["place"]["added"], true);
    assert_eq!(document["place"]["stays"], serde_json::json!(["R2", "R3"]));
    let screen = running_text(&sized);
    assert!(
        screen.contains("R2, R3 stay") && screen.contains("right before the driver"),
        "{screen}"
    );
}

/// A trap's resistor, round which the coil leads the current, is no pad.
#[test]
fn a_trap_or_a_shelf_is_no_pad() {
    let files = DemoFiles::new();
    let trap = r#"R2 = { resistor = "9.1 ohm", between = ["m3", "m4"] }
        L8 = { inductor = "0.33 mH", between = ["m3", "m4"], dcr = "0.2 ohm" }
        C8 = { capacitor = "10 uF", between = ["m3", "m4"] }"#;
    files.changed("network.toml", &[(R2, trap), (R3, "")]);
    let place = place_of(&files);
    assert_eq!(place.pad, None);
    assert_eq!(place.stays, ["R2"]);
    // In the driver's return lead a resistor is named too.
    let files = DemoFiles::new();
    let lead = r#"MID = { driver = "mid", between = ["m3", "m4"] }"#;
    files.changed("network.toml", &[(R2, ""), (MID, lead)]);
    let place = place_of(&files);
    assert_eq!(place.pad, None);
    assert_eq!(place.stays, ["R3"]);
    // A pad that stays beside a resistor of the filter is replaced, and the other one named.
    let files = DemoFiles::new();
    let damped = format!("{R2}\nR9 = {{ resistor = \"47 ohm\", between = [\"m2\", \"gnd\"] }}");
    files.changed("network.toml", &[(R2, &damped)]);
    let place = place_of(&files);
    assert_eq!(place.parts, ["R2", "R3"]);
    assert_eq!(place.stays, ["R9"]);
}

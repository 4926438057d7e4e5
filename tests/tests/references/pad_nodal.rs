//! Pads on a real load: closed forms against the nodal solution and against a dense one that shares no
//! code with it.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::project::Loaded;
use netlist::quantity::Ohms;
use num_complex::Complex64;
use solver::nodal::Drive as Amplifier;
use solver::pad::{PadLoad, PadSource, Study, driver_level_db, find_pad};
use solver::spectrum::Spectrum;
use solver::synthesis::Pad;
use tests::dense_oracle;
use tests::pad::{DemoFiles, solved};
use tests::textbook_pad::TextbookPad;

const PADS: [Pad; 3] = [
    Pad::LPad {
        series_ohm: 9.1,
        shunt_ohm: 6.2,
    },
    Pad::Series { series_ohm: 15.0 },
    Pad::ShuntSeries {
        shunt_ohm: 12.0,
        series_ohm: 18.0,
    },
];

fn mid() -> (Loaded, PadLoad) {
    let loaded = DemoFiles::new().load("network.toml");
    let load = PadLoad::driver(&loaded.project, "mid", None).unwrap();
    (loaded, load)
}

/// `in` – pad – driver, the pad made of plain resistors.
fn network(pad: Pad) -> Network {
    let mut network = Network::new();
    let node = network.node("d");
    let mut resistor = |name: &str, ohm: Option<f64>, between: [NodeId; 2]| {
        if let Some(ohm) = ohm {
            let resistance = Ohms(ohm);
            let kind = PartKind::Resistor {
                resistance,
                between,
            };
            network.insert(name, Part::new(kind));
        }
    };
    let shunt_at = match pad {
        Pad::ShuntSeries { .. } => NodeId::IN,
        _ => node,
    };
    resistor("Rs", pad.series_ohm(), [NodeId::IN, node]);
    resistor("Rp", pad.shunt_ohm(), [shunt_at, NodeId::GND]);
    let kind = PartKind::Driver {
        driver: "mid".to_owned(),
        between: [node, NodeId::GND],
        inverted: false,
    };
    network.insert("MID", Part::new(kind));
    network
}

fn close(found: Complex64, wanted: Complex64) -> bool {
    (found - wanted).norm() <= 1e-9 * wanted.norm()
}

#[test]
fn a_pad_on_a_measured_driver_is_what_the_nodal_solution_says() {
    let (_, load) = mid();
    let amplifier = Amplifier {
        open_circuit_v: 2.83,
        output_impedance_ohm: 1.8.into(),
    };
    let feed = PadSource::amplifier(&load, &1.8.into());
    for pad in PADS {
        let network = network(pad);
        let (plan, solution) = solved(&network, &load.grid, &[&load.z_ohm], &amplifier);
        let (output, _) = plan.driver_outputs().next().unwrap();
        let study = Study::new(pad, &load, &feed);
        for i in 0..load.grid.len() {
            let z = load.z_ohm.at(i);
            let seen = study.curves.seen_ohm.at(i);
            assert!(
                close(solution.input_impedance_at(i).unwrap(), seen),
                "{pad:?}"
            );
            let transfer = solution.output_at(output, i) / solution.node_at(NodeId::IN, i);
            assert!(
                close(transfer, pad.on(z, Complex64::ZERO).transfer),
                "{pad:?}"
            );
            let db = -20.0 * transfer.norm().log10();
            assert!((db - study.curves.attenuation_db[i]).abs() < 1e-9);
            // Each resistor's heat from the node voltages alone.
            if i % 40 == 0 {
                let dense = dense_oracle::solve(&network, &[z], load.grid.omega()[i], 2.83, 1.8);
                let [v_in, v_d] = [1, 2].map(|node: usize| dense.voltage[node]);
                let power = pad.power(z, v_in.norm());
                let series_w = (v_in - v_d).norm_sqr() / pad.series_ohm().unwrap();
                assert!((power.series_w / series_w - 1.0).abs() < 1e-9);
                if let Some(shunt_ohm) = pad.shunt_ohm() {
                    let across = if matches!(pad, Pad::ShuntSeries { .. }) {
                        v_in
                    } else {
                        v_d
                    };
                    let shunt_w = across.norm_sqr() / shunt_ohm;
                    assert!((power.shunt_w / shunt_w - 1.0).abs() < 1e-9);
                }
                let driver_w = v_d.norm_sqr() * z.inv().re;
                assert!((power.driver_w / driver_w - 1.0).abs() < 1e-9);
            }
        }
    }
}

/// Any pad in the demo's three-way network: one Thévenin source serves them all, and the network with the
/// pad exchanged, solved anew, agrees.
#[test]
fn an_exchanged_pad_is_what_the_whole_network_solved_anew_says() {
    let (loaded, load) = mid();
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let amplifier = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 1.8.into(),
    };
    let others: Vec<PadLoad> = ["low", "mid", "high"]
        .map(|name| PadLoad::driver(project, name, None).unwrap())
        .into();
    let loads: Vec<&Spectrum> = others.iter().map(|load| &load.z_ohm).collect();
    for pad in PADS.map(Some).into_iter().chain([None]) {
        let network = place.with_pad(built, pad);
        let (plan, solution) = solved(&network, &load.grid, &loads, &amplifier);
        assert_eq!(plan.drivers(), ["low", "mid", "high"]);
        let (output, _) = plan.driver_outputs().nth(1).unwrap();
        let drive = driver_level_db(pad, &load, &feed);
        for i in 0..load.grid.len() {
            let db = 20.0 * solution.output_at(output, i).norm().log10();
            let off = (db - drive[i]).abs();
            // Far below its band the driver gets a millionth of the voltage.
            assert!(off < 1e-7, "{pad:?} at {} Hz: {off:e}", load.grid.f_hz()[i]);
            if load.filter_band().contains(&i) {
                assert!(off < 1e-9, "{pad:?} at {} Hz: {off:e}", load.grid.f_hz()[i]);
            }
        }
    }
}

/// A capacitor across the series resistor and an impedance correction across the driver belong to the pad:
/// its figures hold them, and the network solved as it is agrees.
#[test]
fn what_bridges_the_pad_and_what_is_across_the_driver_count() {
    let files = DemoFiles::new();
    let more = r#"
        C7 = { capacitor = "2.2 uF", between = ["m3", "m4"], esr = "20 mohm" }
        C8 = { capacitor = "6.8 uF", between = ["m4", "z1"], esr = "20 mohm" }
        R8 = { resistor = "7.5 ohm", between = ["z1", "gnd"] }
        MID ="#;
    files.changed("network.toml", &[("MID =", more)]);
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    assert_eq!(place.bridge, ["C7"]);
    assert_eq!(place.across, ["C8", "R8"]);
    assert!(place.beside.is_empty() && place.pad == Some(PADS[0]));
    let load = PadLoad::driver(project, "mid", None)
        .unwrap()
        .beside(built, &place, &|_| None);
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let others: Vec<PadLoad> = ["low", "high"]
        .map(|name| PadLoad::driver(project, name, None).unwrap())
        .into();
    let loads = [&others[0].z_ohm, &load.z_ohm, &others[1].z_ohm];
    let amplifier = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 1.8.into(),
    };
    for pad in PADS {
        let network = place.with_pad(built, Some(pad));
        let (plan, solution) = solved(&network, &load.grid, &loads, &amplifier);
        let (output, _) = plan.driver_outputs().nth(1).unwrap();
        let top = network.find_node("m3").unwrap();
        let drive = driver_level_db(Some(pad), &load, &feed);
        let study = Study::new(pad, &load, &feed);
        for i in load.filter_band() {
            let (v_in, v_d) = (solution.node_at(top, i), solution.output_at(output, i));
            let db = 20.0 * v_d.norm().log10();
            assert!((db - drive[i]).abs() < 1e-9, "{pad:?}");
            let taken = 20.0 * (v_in / v_d).norm().log10();
            assert!((taken - study.curves.attenuation_db[i]).abs() < 1e-9);
            let on = load.on(pad, i, Complex64::ZERO);
            let [heat_w, _] = pad.resistors_w(on.transfer, v_in.norm());
            let series_w = (v_in - v_d).norm_sqr() / pad.series_ohm().unwrap();
            assert!((heat_w / series_w - 1.0).abs() < 1e-9);
        }
    }
}

/// Cable and leads: taken into the feed and the load they are what they are as resistors in the network.
#[test]
fn wire_is_in_the_feed_and_in_the_load() {
    let files = DemoFiles::new();
    let wire = r#"
        [wiring]
        cable = { length = "6 m", gauge = "0.75 mm2" }
        internal = { mid = { length = "2 m", gauge = "0.5 mm2" }, low = { length = "1 m", gauge = "1.5 mm2" } }
        [parts]"#;
    files.changed("network.toml", &[("[parts]", wire)]);
    let loaded = files.load("changed.toml");
    let project = &loaded.project;
    let load = PadLoad::driver(project, "mid", None).unwrap();
    assert!(load.lead_ohm > 0.1, "{}", load.lead_ohm);
    let built = project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let feed = PadSource::network(project, built, &place, &load).unwrap();
    let pad = PADS[0];
    let network = solver::wiring::wired(&place.with_pad(built, Some(pad)), &project.wiring);
    let (_, cold) = mid();
    let others: Vec<PadLoad> = ["low", "high"]
        .map(|name| {
            PadLoad::driver(&DemoFiles::new().load("network.toml").project, name, None).unwrap()
        })
        .into();
    let loads = [&others[0].z_ohm, &cold.z_ohm, &others[1].z_ohm];
    let amplifier = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 1.8.into(),
    };
    let (plan, solution) = solved(&network, &load.grid, &loads, &amplifier);
    let (output, _) = plan.driver_outputs().nth(1).unwrap();
    let drive = driver_level_db(Some(pad), &load, &feed);
    for i in load.filter_band() {
        // Behind the lead.
        let share = cold.z_ohm.at(i) / load.z_ohm.at(i);
        let db = 20.0 * solution.output_at(output, i).norm().log10();
        let wanted = drive[i] + 20.0 * share.norm().log10();
        assert!((db - wanted).abs() < 1e-9, "{db} {wanted}");
    }
}

/// What a driver sees: a current pushed into its terminals, with the amplifier's voltage at 0.
#[test]
fn the_source_that_the_driver_sees_is_what_a_pushed_current_meets() {
    let (_, load) = mid();
    let feed = PadSource::amplifier(&load, &1.8.into());
    for pad in PADS {
        let study = Study::new(pad, &load, &feed);
        let parallel = |a: f64, b: f64| a * b / (a + b);
        let wanted = match pad {
            Pad::LPad {
                series_ohm,
                shunt_ohm,
            } => parallel(series_ohm + 1.8, shunt_ohm),
            Pad::Series { series_ohm } => series_ohm + 1.8,
            Pad::ShuntSeries {
                shunt_ohm,
                series_ohm,
            } => series_ohm + parallel(shunt_ohm, 1.8),
            Pad::Autoformer { .. } => unreachable!("none is tried"),
        };
        assert!((study.source.most - wanted).abs() < 1e-9);
        assert!((study.source.least - wanted).abs() < 1e-9);
    }
}

/// A winding of much inductance and hardly any loss is the ideal tap of the closed form.
#[test]
fn an_autoformer_is_nearly_ideal_in_the_network() {
    let (loaded, load) = mid();
    let built = loaded.project.network.as_ref().unwrap();
    let place = find_pad(built, "mid").unwrap();
    let feed = PadSource::network(&loaded.project, built, &place, &load).unwrap();
    let pad = Pad::Autoformer {
        ratio: 0.28,
        shunt_ohm: Some(15.0),
    };
    let network = place.with_pad(built, Some(pad));
    let others: Vec<PadLoad> = ["low", "mid", "high"]
        .map(|name| PadLoad::driver(&loaded.project, name, None).unwrap())
        .into();
    let loads: Vec<&Spectrum> = others.iter().map(|load| &load.z_ohm).collect();
    let amplifier = Amplifier {
        open_circuit_v: 1.0,
        output_impedance_ohm: 1.8.into(),
    };
    let (plan, solution) = solved(&network, &load.grid, &loads, &amplifier);
    let (output, _) = plan.driver_outputs().nth(1).unwrap();
    let drive = driver_level_db(Some(pad), &load, &feed);
    for i in load.band() {
        let db = 20.0 * solution.output_at(output, i).norm().log10();
        let off = (db - drive[i]).abs();
        assert!(off < 0.3, "{} Hz: {off}", load.grid.f_hz()[i]);
    }
}

//! An amplifier's output impedance over frequency against the same amplifier drawn as parts of the network.

use std::fmt::Write as _;

use netlist::project::{OutputImpedance, Project};
use num_complex::Complex64;
use solver::amplifier::{nominal_output_ohm, source_impedance};
use solver::grid::Grid;
use solver::judge::stress;
use solver::loudspeaker::Loudspeaker;
use solver::search::{Job, audio_loads, judge as reached};
use tests::project::project_from;

/// Relative agreement of two solutions.
const AGREEMENT: f64 = 1e-9;
/// Resistance, leakage and magnetising inductance of the invented output transformer.
const R_OHM: f64 = 1.8;
const LEAKAGE_H: f64 = 0.25e-3;
const MAGNETISING_H: f64 = 12e-3;

const DRIVERS: &str = r#"
[drivers.low]
modelled = { re = "6.3 ohm", fs = "33 Hz", qms = 5.5, qes = 0.29, vas = "235 L", sd = "855 cm2", l1 = "0.7 mH", box = { volume = "130 L", tuning = "37.5 Hz" } }

[drivers.high]
modelled = { re = "6 ohm", level = "96 dB", horn = { cutoff = "400 Hz" }, resonances = [{ r = "12 ohm", f = "620 Hz", q = 2.2 }], l1 = "0.1 mH" }

[[crossovers]]
between = ["low", "high"]
frequency = "1.2 kHz"
alignment = "LR4"
"#;

/// A two-way with its network between `node` and `gnd`.
fn parts(node: &str) -> String {
    format!(
        r#"[parts]
L1 = {{ inductor = "1.2 mH", between = ["{node}", "a"], dcr = "0.3 ohm" }}
C1 = {{ capacitor = "18 uF", between = ["a", "gnd"], esr = "20 mohm" }}
LOW = {{ driver = "low", between = ["a", "gnd"] }}
C2 = {{ capacitor = "12 uF", between = ["{node}", "b"] }}
L2 = {{ inductor = "1 mH", between = ["b", "gnd"], dcr = "0.4 ohm" }}
R1 = {{ resistor = "6.8 ohm", between = ["b", "c"] }}
HIGH = {{ driver = "high", between = ["c", "gnd"], inverted = true }}
"#
    )
}

fn as_transformer() -> Project {
    let amplifier = "[amplifier]\noutput_impedance = { r = \"1.8 ohm\", l = \"0.25 mH\", parallel = \"12 mH\" }\nrated_power = \"20 W\"\nrated_load = \"8 ohm\"\n";
    project_from(&format!("{amplifier}{DRIVERS}{}", parts("in")), &[])
}

/// The same impedance measured at these frequencies.
fn as_table(grid: &Grid) -> Project {
    let mut rows = String::from("* invented output impedance\n");
    for f_hz in grid.f_hz() {
        let z = impedance(*f_hz);
        let _ = writeln!(rows, "{f_hz:?} {:?} {:?}", z.norm(), z.arg().to_degrees());
    }
    let amplifier = "[amplifier]\noutput_impedance = { impedance = \"amp.txt\" }\nrated_power = \"20 W\"\nrated_load = \"8 ohm\"\n";
    let text = format!("{amplifier}{DRIVERS}{}", parts("in"));
    project_from(&text, &[("amp.txt", &rows)])
}

fn as_parts() -> Project {
    let drawn = "RA = { resistor = \"1.8 ohm\", between = [\"in\", \"x\"] }\n\
                 MA = { inductor = \"12 mH\", between = [\"in\", \"x\"] }\n\
                 LA = { inductor = \"0.25 mH\", between = [\"x\", \"y\"] }\n";
    project_from(&format!("{DRIVERS}{}{drawn}", parts("y")), &[])
}

fn impedance(f_hz: f64) -> Complex64 {
    let omega = std::f64::consts::TAU * f_hz;
    let across = Complex64::new(0.0, omega * MAGNETISING_H);
    R_OHM * across / (R_OHM + across) + Complex64::new(0.0, omega * LEAKAGE_H)
}

#[test]
fn the_transformer_is_the_parts_that_it_is_drawn_as() {
    let grid = Grid::log_spaced(20.0, 20_000.0, 301).unwrap();
    let curves = |project: &Project| {
        let system = Loudspeaker::new(project, grid.clone()).unwrap().unwrap();
        system.curves().unwrap()
    };
    let drawn = curves(&as_parts());
    for (kind, project) in [("r, l", as_transformer()), ("table", as_table(&grid))] {
        let found = curves(&project);
        for i in 0..grid.len() {
            let off = (found.system.at(i) - drawn.system.at(i)).norm();
            let scale = drawn.system.at(i).norm();
            assert!(off <= AGREEMENT * scale, "{kind} {i}: {off:e} of {scale:e}");
            for ((name, way), (_, drawn)) in found.ways.iter().zip(&drawn.ways) {
                let off = (way.at(i) - drawn.at(i)).norm();
                assert!(off <= AGREEMENT * drawn.at(i).norm(), "{kind} {name} {i}");
            }
            // What is drawn in front is load to the amplifier of the drawing, and no load to this one.
            let load = found.load[i].unwrap() + impedance(grid.f_hz()[i]);
            let off = (load - drawn.load[i].unwrap()).norm();
            assert!(off <= AGREEMENT * load.norm(), "{kind} load {i}");
        }
    }
}

/// The goal's figures, which the search works with, and the heat of the parts: both by code of their own.
#[test]
fn figures_and_heat_are_those_of_the_drawn_amplifier() {
    let (stated, drawn) = (as_transformer(), as_parts());
    let [ours, theirs] = [&stated, &drawn].map(|project| {
        let job = Job::new(project).unwrap();
        let targets = job.targets(&[project.crossovers[0].alignment.unwrap()]);
        let network = project.network.as_ref().unwrap();
        reached(&job, network, &targets, &audio_loads(project))
            .unwrap()
            .0
    });
    let close = |a: f64, b: f64| (a - b).abs() <= AGREEMENT * b.abs().max(1.0);
    assert!(close(ours.rms_db, theirs.rms_db) && close(ours.level_db, theirs.level_db));
    let [ours, theirs] = [&stated, &drawn].map(|project| stress(project).unwrap().unwrap());
    // At its rated power the amplifier has more behind its impedance than the drawing, which has none.
    let nominal = nominal_output_ohm(&stated.amplifier);
    let gain = ours.loudness.open_circuit_v(nominal)
        / ours.loudness.open_circuit_v(Complex64::ZERO)
        * (ours.loudness.power_w / theirs.loudness.power_w).sqrt();
    for part in &ours.parts {
        let same = theirs.parts.iter().find(|other| other.part == part.part);
        let theirs_w = gain * gain * same.unwrap().noise.power_w;
        let off = (part.noise.power_w - theirs_w).abs();
        // Each chooses frequencies of its own where something is largest.
        assert!(off <= 1e-3 * theirs_w + 1e-12, "{}: {off:e}", part.part);
    }
}

#[test]
fn one_number_stands_for_it_at_1_khz() {
    let amplifier = as_transformer().amplifier;
    let expected = impedance(1e3);
    assert!((nominal_output_ohm(&amplifier) - expected).norm() < 1e-12);
    // Without anything that changes with frequency it is a resistance, and one it stays.
    let text = format!(
        "[amplifier]\noutput_impedance = {{ r = \"2 ohm\" }}\n{DRIVERS}{}",
        parts("in")
    );
    let plain = project_from(&text, &[]).amplifier;
    assert!(
        matches!(plain.output_impedance, OutputImpedance::Resistance(r) if (r.0 - 2.0).abs() < 1e-15)
    );
    let grid = Grid::log_spaced(20.0, 20_000.0, 9).unwrap();
    assert!((source_impedance(&plain, &grid).at(8) - 2.0).norm() < 1e-15);
}

//! Faults against networks built by hand, and on random networks.

use std::ops::ControlFlow;

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::project::{Aim, Judged, Stock};
use netlist::quantity::{Farads, Henries, Hertz, Ohms};
use num_complex::Complex64;
use proptest::prelude::*;
use solver::grid::Grid;
use solver::judge::faults::{Fault, FaultKind, Faults, Hazard, fault_findings, faults};
use solver::judge::{JudgedLoudspeaker, Severity};
use solver::load::{Conditions, REFERENCE_V};
use solver::loudspeaker::{Loudspeaker, LoudspeakerDriver};
use solver::nodal::{Drive, Plan, Values};
use solver::programme::Loudness;
use solver::spectrum::Spectrum;
use tests::dense_oracle;
use tests::project::project_from;
use tests::random_network::{Recipe, random_network};

fn all_faults(speaker: &JudgedLoudspeaker) -> Faults {
    faults(speaker, &mut |_, _| ControlFlow::Continue(())).unwrap()
}

fn grid() -> Grid {
    Grid::log_spaced(20.0, 20e3, 400).unwrap()
}

fn speaker(network: Network, loads: Vec<Spectrum>, grid: Grid) -> JudgedLoudspeaker {
    let names: Vec<String> = network.driver_names().map(String::from).collect();
    let half = Spectrum::from_fn(grid.len(), |_| Complex64::new(0.5, 0.0));
    let drivers = (names.into_iter().zip(loads))
        .map(|(name, z_ohm)| LoudspeakerDriver {
            name,
            pressure_pa_per_v: half.clone(),
            sound_pa_per_v: half.clone(),
            re_ohm: z_ohm.at(0).re,
            z_ohm,
            notes: Vec::new(),
            rated_w: Some(50.0),
            resonance_hz: Some(500.0),
            delicate: true,
        })
        .collect();
    JudgedLoudspeaker {
        loudspeaker: Loudspeaker {
            plan: Plan::compile(&network).unwrap(),
            values: Values::of(&network),
            network,
            grid,
            drivers,
            conditions: Conditions::default(),
            drive: Drive {
                open_circuit_v: REFERENCE_V,
                output_impedance_ohm: 0.0.into(),
            },
            nominal_output_ohm: Complex64::ZERO,
            // 20 V.
            loudness: Loudness {
                power_w: 50.0,
                load_ohm: 8.0,
                stated: true,
            },
        },
        least_load_ohm: Some(6.4),
        aim: Aim::default(),
        window: None,
        stock: Stock::default(),
    }
}

struct Build(Network);

impl Build {
    fn new() -> Self {
        Self(Network::new())
    }

    fn add(
        mut self,
        name: &str,
        kind: impl FnOnce([NodeId; 2]) -> PartKind,
        ends: [&str; 2],
    ) -> Self {
        let between = ends.map(|end| self.0.node(end));
        self.0.insert(name, Part::new(kind(between)));
        self
    }

    fn l(self, name: &str, inductance: f64, dcr: f64, ends: [&str; 2]) -> Self {
        let kind = |between| PartKind::Inductor {
            inductance: Henries(inductance),
            dcr: Ohms(dcr),
            between,
        };
        self.add(name, kind, ends)
    }

    fn c(self, name: &str, capacitance: f64, esr: f64, ends: [&str; 2]) -> Self {
        let kind = |between| PartKind::Capacitor {
            capacitance: Farads(capacitance),
            esr: Ohms(esr),
            between,
        };
        self.add(name, kind, ends)
    }

    fn r(self, name: &str, resistance: f64, ends: [&str; 2]) -> Self {
        let kind = |between| PartKind::Resistor {
            resistance: Ohms(resistance),
            between,
        };
        self.add(name, kind, ends)
    }

    fn driver(self, name: &str, driver: &str, ends: [&str; 2]) -> Self {
        let kind = |between| PartKind::Driver {
            driver: driver.to_owned(),
            between,
            inverted: false,
        };
        self.add(name, kind, ends)
    }
}

fn eight_ohm(grid: &Grid) -> Spectrum {
    Spectrum::from_fn(grid.len(), |i| {
        Complex64::new(8.0, 0.05e-3 * grid.omega()[i])
    })
}

fn find<'a>(found: &'a Faults, part: &str, kind: FaultKind) -> &'a Fault {
    (found.faults.iter())
        .find(|fault| fault.part == part && fault.kind == kind)
        .unwrap_or_else(|| panic!("no {kind:?} of {part}"))
}

fn judged(network: Network, drivers: usize) -> Faults {
    let grid = grid();
    let loads = vec![eight_ohm(&grid); drivers];
    all_faults(&speaker(network, loads, grid))
}

fn least_ohm(network: Network, drivers: usize) -> f64 {
    judged(network, drivers).least_load.unwrap().magnitude_ohm
}

/// Series resonance at 1/(2π√LC), where only the losses are left.
#[test]
fn a_low_pass_without_its_driver_is_a_series_resonance() {
    let (l, c, dcr, esr) = (2.7e-3, 47e-6, 0.5, 0.1);
    let network = Build::new()
        .l("L1", l, dcr, ["in", "a"])
        .c("C1", c, esr, ["a", "gnd"])
        .driver("LOW", "low", ["a", "gnd"]);
    let found = judged(network.0, 1);
    let fault = find(&found, "LOW", FaultKind::DriverDisconnected);
    let resonance = fault.resonance.as_ref().unwrap();
    let f0_hz = 1.0 / (std::f64::consts::TAU * f64::sqrt(l * c));
    assert!(
        (resonance.frequency_hz / f0_hz - 1.0).abs() < 1e-4,
        "{resonance:?}"
    );
    assert!(
        (resonance.load_ohm - (dcr + esr)).abs() < 1e-6,
        "{resonance:?}"
    );
    assert_eq!(resonance.parts, Some(["L1".to_owned(), "C1".to_owned()]));
    let least = fault.least_load.unwrap();
    assert!((least.magnitude_ohm - (dcr + esr)).abs() < 1e-6);
    assert_eq!(fault.severity, Severity::Danger);
    assert!(fault.drivers[0].silent);
    // Connected, it is no resonance across the amplifier.
    assert!(found.least_load.unwrap().magnitude_ohm > 2.0);
    let findings = fault_findings(&found);
    let told = findings
        .iter()
        .find(|f| f.code.text() == "fault-unloaded-filter")
        .unwrap();
    assert!(
        told.message.starts_with(
            "with LOW disconnected the load falls to 0.6 Ω at 447 Hz (resonance of L1 and C1)"
        ),
        "{told:?}"
    );
}

#[test]
fn bass_reaches_a_delicate_driver_through_a_shorted_capacitor() {
    let network = Build::new()
        .c("C1", 4.7e-6, 0.0, ["in", "a"])
        .l("L1", 0.4e-3, 0.2, ["a", "gnd"])
        .r("R1", 5.0, ["a", "b"])
        .driver("HIGH", "high", ["b", "gnd"]);
    let found = judged(network.0, 1);
    let shorted = find(&found, "C1", FaultKind::PartShorted);
    assert!((shorted.least_load.unwrap().magnitude_ohm - 0.2).abs() < 0.01);
    let opened = find(&found, "L1", FaultKind::PartOpen);
    assert!(
        opened
            .hazards
            .iter()
            .any(|h| matches!(h, Hazard::BassInDriver { times, .. } if *times > 2.0)),
        "{opened:?}"
    );
    // More level alone is no bass.
    let louder = find(&found, "R1", FaultKind::PartShorted);
    assert!(
        !louder
            .hazards
            .iter()
            .any(|h| matches!(h, Hazard::BassInDriver { .. })),
        "{louder:?}"
    );
    let silent = find(&found, "C1", FaultKind::PartOpen);
    assert!(silent.least_load.is_none() && silent.drivers[0].silent);
}

/// Opened and shorted parts against networks written without them.
#[test]
fn faults_are_the_networks_that_one_would_draw() {
    let whole = || {
        Build::new()
            .l("L1", 1.5e-3, 0.4, ["in", "a"])
            .c("C1", 33e-6, 0.05, ["a", "b"])
            .r("R1", 2.0, ["b", "gnd"])
            .driver("LOW", "low", ["a", "gnd"])
            .c("C2", 10e-6, 0.02, ["in", "h"])
            .r("R2", 6.0, ["h", "gnd"])
            .driver("HIGH", "high", ["h", "gnd"])
    };
    let found = judged(whole().0, 2);
    let at = |part, kind| find(&found, part, kind).least_load.unwrap().magnitude_ohm;
    let same = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    let high = |build: Build| {
        (build
            .c("C2", 10e-6, 0.02, ["in", "h"])
            .r("R2", 6.0, ["h", "gnd"]))
        .driver("HIGH", "high", ["h", "gnd"])
        .0
    };
    let low = || Build::new().l("L1", 1.5e-3, 0.4, ["in", "a"]);
    let without_r1 = high(low().driver("LOW", "low", ["a", "gnd"]));
    same(at("R1", FaultKind::PartOpen), least_ohm(without_r1, 2));
    let shorted_r1 = high(low().c("C1", 33e-6, 0.05, ["a", "gnd"]).driver(
        "LOW",
        "low",
        ["a", "gnd"],
    ));
    same(at("R1", FaultKind::PartShorted), least_ohm(shorted_r1, 2));
    let shorted_low = high(low().r("tiny", 1e-12, ["a", "gnd"]));
    assert!((at("LOW", FaultKind::DriverShorted) - least_ohm(shorted_low, 1)).abs() < 1e-9);
    let dead = Build::new()
        .r("R1", 5.0, ["in", "gnd"])
        .driver("LOW", "low", ["in", "gnd"]);
    let found = judged(dead.0, 1);
    let dead = find(&found, "R1", FaultKind::PartShorted);
    assert_eq!(dead.hazards, [Hazard::DeadShort]);
}

/// Sections of an autoformer, against a solution by currents in which the fault is a resistance that is
/// almost none, or almost no end of one.
#[test]
fn sections_of_an_autoformer_open_and_short() {
    let build = |extra: bool, bridge: Option<f64>| {
        let mut build = Build::new().c("C1", 20e-6, 0.05, ["in", "top"]);
        let tap = build.0.node("tap");
        let bottom = if extra { "low end" } else { "gnd" };
        let kind = |between| PartKind::Autoformer {
            inductance: Henries(20e-3),
            dcr: Ohms(0.5),
            coupling: 0.995,
            between,
            taps: vec![Tap {
                node: tap,
                ratio: 0.4,
            }],
        };
        build = build.add("T1", kind, ["top", bottom]);
        build = build.driver("MID", "mid", ["tap", "gnd"]);
        match bridge {
            Some(ohm) if extra => build.r("R9", ohm, ["low end", "gnd"]).0,
            Some(ohm) => build.r("R9", ohm, ["top", "tap"]).0,
            None => build.0,
        }
    };
    let grid = grid();
    let found = judged(build(false, None), 1);
    let section = |kind, upper: &str| {
        (found.faults.iter())
            .find(|f| f.kind == kind && f.section.as_ref().is_some_and(|s| s[0] == upper))
            .unwrap()
    };
    let loads = eight_ohm(&grid);
    let oracle = |network: &Network| {
        (0..grid.len())
            .map(|i| {
                let solved =
                    dense_oracle::solve(network, &[loads.at(i)], grid.omega()[i], 1.0, 0.0);
                solved.source_current.inv().norm()
            })
            .fold(f64::INFINITY, f64::min)
    };
    let shorted = section(FaultKind::SectionShorted, "top")
        .least_load
        .unwrap();
    let expected = oracle(&build(false, Some(1e-9)));
    // Between the frequencies of the grid the least may be a little less.
    assert!(
        (shorted.magnitude_ohm / expected - 1.0).abs() < 1e-3,
        "{shorted:?} {expected}"
    );
    let open = section(FaultKind::SectionOpen, "tap").least_load.unwrap();
    let expected = oracle(&build(true, Some(1e12)));
    assert!(
        (open.magnitude_ohm / expected - 1.0).abs() < 1e-3,
        "{open:?} {expected}"
    );
}

/// Two points 25 cm above each other with 8 ohm each: without one of them the axis is 6.02 dB down. Over the listening
/// window, whose two rays 10 degrees up and down have less of both, 10·lg(4·(7 + 2·cos²(π·d·sin 10°/λ))/9): least where
/// that is half a wave, 4.93 dB.
#[test]
fn a_fault_is_heard_where_the_sum_is_judged() {
    let text = "[drivers.low]\nmeasured = { impedance = \"z\", response = \"p\" }\nposition = { up = \"-0.125 m\" }\n\
        [drivers.high]\nmeasured = { impedance = \"z\", response = \"p\" }\nposition = { up = \"0.125 m\" }\n\
        [[crossovers]]\nbetween = [\"low\", \"high\"]\nfrequency = \"1 kHz\"\nalignment = \"LR2\"\n";
    let rows = |value: &str| -> String {
        let f_hz = [10.0, 50.0, 100.0, 300.0, 1e3, 3e3, 1e4, 2e4, 3e4];
        f_hz.iter().map(|f| format!("{f} {value}\n")).collect()
    };
    let mut project = project_from(text, &[("z", &rows("8 0")), ("p", &rows("90 0"))]);
    (project.aim.from, project.aim.to) = (Hertz(3800.0), Hertz(4100.0));
    let network = Build::new()
        .driver("LOW", "low", ["in", "gnd"])
        .driver("HIGH", "high", ["in", "gnd"])
        .0;
    for (judged, expected_db) in [(Judged::Axis, 6.0206), (Judged::Window, 4.929)] {
        project.aim.judged = judged;
        let speaker = JudgedLoudspeaker::new(&project, network.clone(), grid()).unwrap();
        let found = all_faults(&speaker);
        let sum = find(&found, "HIGH", FaultKind::DriverDisconnected).sum;
        assert!(
            (sum.fall_db - expected_db).abs() < 0.02,
            "{judged:?}: {sum:?}"
        );
        assert!(sum.rise_db < 1e-9, "{sum:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_network_breaks_them(
        seed in any::<u64>(), nodes in 1usize..=12, lossless in any::<bool>(), windings in any::<bool>(),
    ) {
        let grid = Grid::log_spaced(20.0, 20e3, 60).unwrap();
        let recipe = Recipe { nodes, lossless, windings };
        let random = random_network(seed, recipe, &grid);
        let speaker = speaker(random.network, random.loads, grid);
        let found = all_faults(&speaker);
        prop_assert!(found.faults.len() >= 2);
        for pair in found.faults.windows(2) {
            prop_assert!(pair[0].severity >= pair[1].severity);
        }
        for fault in &found.faults {
            if let Some(least) = fault.least_load {
                prop_assert!(least.magnitude_ohm.is_finite() && least.magnitude_ohm >= 0.0);
            }
            for driver in &fault.drivers {
                let numbers = [driver.power_w, driver.voltage_v, driver.sine_power_w];
                prop_assert!(numbers.iter().all(|n| n.is_some_and(|n| n.is_finite() && n >= 0.0)), "{driver:?}");
                let changes = [driver.power_change_db, driver.travel_change_db];
                prop_assert!(changes.iter().flatten().all(|db| db.is_finite()), "{driver:?}");
            }
            prop_assert!(fault.sum.rise_db.is_finite() && fault.sum.fall_db.is_finite());
        }
        for finding in fault_findings(&found) {
            prop_assert!(!finding.message.contains("NaN") && !finding.message.contains("inf"), "{finding:?}");
        }
    }
}

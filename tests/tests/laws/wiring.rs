//! Wire: two ways of working it out agree, and thicker wire costs less.

use std::ops::ControlFlow;

use netlist::project::{Project, load};
use solver::goal::figures;
use solver::grid::Grid;
use solver::judge::check::{Check, assess, check};
use solver::judge::tolerance::ToleranceOptions;
use solver::load::Conditions;
use solver::loudspeaker::{Circumstances, Loudspeaker};
use tests::command::handover;

/// The demo's finished network, with wire.
fn demo(wiring: &str) -> Project {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().to_str().unwrap();
    assert_eq!(handover(&["demo", at]).status, 0);
    let file = folder.path().join("network.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let (head, parts) = text.split_once("[parts]").unwrap();
    std::fs::write(&file, format!("{head}{wiring}\n[parts]{parts}")).unwrap();
    load(&file).unwrap().project
}

fn checked(project: &Project) -> Check {
    let few = ToleranceOptions {
        builds: 10,
        ..ToleranceOptions::default()
    };
    let found = check(project, &few, &mut |_| ControlFlow::Continue(()));
    found.unwrap().expect("a network")
}

const WIRE: &str = r#"[wiring]
cable = { length = "12 m", gauge = "0.75 mm2" }
internal = { low = { length = "2 m", gauge = "0.5 mm2" }, high = { length = "1 m", gauge = "0.5 mm2" } }
"#;

/// The figures take leads into the drivers and the cable into the amplifier; the curves have every wire
/// as a resistor of the network.
#[test]
fn wire_in_the_loads_is_wire_in_the_network() {
    let project = demo(WIRE);
    let network = project.network.clone().unwrap();
    let done = assess(&project, &network).unwrap();
    let system = Loudspeaker::new(&project, done.job.grid.clone())
        .unwrap()
        .unwrap();
    let curves = system.curves().unwrap();
    let ways: Vec<_> = curves.ways.into_iter().map(|(_, sound)| sound).collect();
    let targets = done.job.targets(&done.alignments);
    let by_network = figures(done.job.grid.f_hz(), &ways, &targets, None);
    let by_loads = &done.figures;
    assert!((by_network.level_db - by_loads.level_db).abs() < 1e-9);
    assert!((by_network.rms_db - by_loads.rms_db).abs() < 1e-9);
    for (a, b) in by_network.match_db.iter().zip(&by_loads.match_db) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
    // At the very frequency of the least load, which lies between those of the grid.
    let there = Grid::new(vec![done.load.at_hz]).unwrap();
    let system = Loudspeaker::new(&project, there).unwrap().unwrap();
    let load = system.curves().unwrap().load;
    let least = load
        .iter()
        .map(|z| z.unwrap().norm())
        .fold(f64::INFINITY, f64::min);
    assert!(
        (least - done.load.least_ohm).abs() < 1e-4,
        "{least} {:?}",
        done.load
    );
}

#[test]
fn no_wire_and_wire_without_resistance_are_the_same() {
    let grid = Grid::log_spaced(20.0, 20_000.0, 40).unwrap();
    let without = Circumstances {
        without_wiring: true,
        ..Circumstances::default()
    };
    let bare = Loudspeaker::new(&demo(""), grid.clone()).unwrap().unwrap();
    let wired = Loudspeaker::new(&demo(WIRE), grid).unwrap().unwrap();
    let wired = wired.changed(&demo(WIRE), &without).unwrap().unwrap();
    let (bare, wired) = (bare.curves().unwrap(), wired.curves().unwrap());
    assert_eq!(bare.system, wired.system);
    assert_eq!(bare.load, wired.load);
}

#[test]
fn hot_voice_coils_change_the_drivers_of_a_loudspeaker() {
    let grid = Grid::log_spaced(20.0, 20_000.0, 40).unwrap();
    let hot = Circumstances {
        conditions: Conditions {
            coil_rise_k: 100.0,
            ..Conditions::default()
        },
        ..Circumstances::default()
    };
    let project = demo("");
    let cold = Loudspeaker::new(&project, grid.clone()).unwrap().unwrap();
    let changed = cold.changed(&project, &hot).unwrap().unwrap();
    let anew = Loudspeaker::of(&project, cold.network.clone(), grid, &hot).unwrap();
    for (changed, anew) in changed.drivers.iter().zip(anew.drivers.iter()) {
        assert_eq!(changed.z_ohm, anew.z_ohm, "{}", anew.name);
    }
    // Copper, 100 K warmer, has about 1.39 times its resistance.
    for (hot, cold) in changed.drivers.iter().zip(cold.drivers.iter()) {
        let ratio = hot.re_ohm / cold.re_ohm;
        assert!((ratio - 1.39).abs() < 0.01, "{}: {ratio}", hot.name);
    }
}

#[test]
fn thicker_wire_costs_less_and_no_wire_costs_nothing() {
    let cost = |gauge: &str| {
        let wiring = format!("[wiring]\ncable = {{ length = \"10 m\", gauge = \"{gauge}\" }}\n");
        let found = checked(&demo(&wiring));
        -found.wire.unwrap().changes.system.mean_db
    };
    let (thin, thick) = (cost("0.75 mm2"), cost("4 mm2"));
    assert!(thin > thick && thick > 0.0, "{thin} {thick}");
    assert!(checked(&demo("")).wire.is_none());
    // Wire is no part that breaks or varies.
    let found = checked(&demo(WIRE));
    assert!(
        found
            .faults
            .faults
            .iter()
            .all(|fault| !fault.part.contains("cable"))
    );
    let varying = &found.tolerance.unwrap().contributors;
    assert!(
        varying.iter().all(|one| !one.name.contains("lead to")),
        "{varying:?}"
    );
}

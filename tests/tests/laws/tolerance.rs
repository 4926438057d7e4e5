//! Builds with values drawn at random: the same on any number of threads, and in agreement with the
//! first-order variance where tolerances are small.

use std::ops::ControlFlow;
use std::path::Path;

use netlist::project::{Judged, Plane, Project};
use netlist::quantity::{Decibels, Fraction};
use solver::judge::JudgedLoudspeaker;
use solver::judge::check::assess;
use solver::judge::tolerance::{
    Amount, Distribution, Tolerance, ToleranceError, ToleranceOptions, tolerance,
};
use solver::sound::{Coherence, Ear, pivot};
use tests::flat::flat_project;

fn demo() -> Project {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/network.toml");
    match netlist::project::load(&file) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}"),
    }
}

fn speaker(tolerance: Option<f64>) -> JudgedLoudspeaker {
    of(&demo(), tolerance)
}

fn of(project: &Project, tolerance: Option<f64>) -> JudgedLoudspeaker {
    let mut network = project.network.clone().unwrap();
    for part in network.parts_mut().values_mut() {
        part.tolerance = tolerance.map(Fraction);
    }
    let grid = JudgedLoudspeaker::aim_grid(&project.aim).unwrap();
    JudgedLoudspeaker::new(project, network, grid).unwrap()
}

fn options(builds: usize) -> ToleranceOptions {
    ToleranceOptions {
        builds,
        ..ToleranceOptions::default()
    }
}

fn made(speaker: &JudgedLoudspeaker, options: &ToleranceOptions) -> Tolerance {
    tolerance(speaker, options, &mut |_, _| ControlFlow::Continue(())).unwrap()
}

#[test]
fn the_same_bits_on_one_and_two_threads() {
    let speaker = speaker(None);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let found = pool.unwrap().install(|| made(&speaker, &options(700)));
        // Numbers are written in full, so that equal text is equal bits.
        serde_json::to_string(&found).unwrap()
    };
    let one = on(1);
    assert_eq!(one, on(2));
    let other = ToleranceOptions {
        seed: 2,
        ..options(700)
    };
    assert_ne!(one, serde_json::to_string(&made(&speaker, &other)).unwrap());
}

/// On the axis, and where the listening window is judged.
#[test]
fn small_tolerances_agree_with_the_first_order() {
    let mut project = demo();
    for (judged, distribution) in [
        (Judged::Axis, Distribution::Uniform),
        (Judged::Axis, Distribution::Normal),
        (Judged::Window, Distribution::Normal),
    ] {
        project.aim.judged = judged;
        let speaker = of(&project, Some(0.004));
        assert_eq!(speaker.window.is_some(), judged == Judged::Window);
        let found = made(
            &speaker,
            &ToleranceOptions {
                driver_level_db: 0.03,
                distribution,
                ..options(4000)
            },
        );
        // A standard deviation from 4000 builds is itself uncertain by 1.1 % (one sigma).
        for ((mc, first), f_hz) in (found.deviation_db.iter())
            .zip(&found.first_order_db)
            .zip(&found.frequency_hz)
        {
            assert!(
                (mc / first - 1.0).abs() < 0.05,
                "{distribution:?} at {f_hz}: {mc} against {first}"
            );
        }
        let whole: f64 = found.contributors.iter().map(|c| c.share).sum();
        assert!((whole - 1.0).abs() < 0.03, "{whole}");
        for contributor in &found.contributors {
            let off = contributor.share - contributor.first_order;
            assert!(off.abs() < 0.03, "{contributor:?}");
        }
    }
}

/// Where the aim names a level nothing is taken out of a build: one driver that is louder or softer by up
/// to 1 dB moves what only it plays by that much, and the first-order estimate says so too.
#[test]
fn an_aim_of_a_level_keeps_the_level_of_each_build() {
    let mut free = speaker(Some(0.0));
    let mut fixed = speaker(Some(0.0));
    free.aim.level = None;
    fixed.aim.level = Some(Decibels(95.7));
    let [free, fixed] = [&free, &fixed].map(|speaker| made(speaker, &options(2000)));
    assert!(free.own_level && !fixed.own_level);
    // What all frequencies have in common is small in the one and not in the other.
    let common = |found: &Tolerance| {
        let spread: Vec<f64> = (found.high_db.iter().zip(&found.low_db))
            .map(|(h, l)| h - l)
            .collect();
        spread.iter().copied().fold(f64::INFINITY, f64::min)
    };
    assert!(
        common(&fixed) > common(&free),
        "{} {}",
        common(&fixed),
        common(&free)
    );
    for (i, f_hz) in fixed.frequency_hz.iter().enumerate() {
        let (builds, first) = (fixed.deviation_db[i], fixed.first_order_db[i]);
        assert!(
            (builds - first).abs() < 0.05 * first,
            "{f_hz}: {builds} {first}"
        );
    }
    // At 100 Hz the woofer plays alone, and 95 of 100 levels within 1 dB are within 0.95 dB.
    let at = fixed.frequency_hz.partition_point(|f| *f < 100.0);
    assert!(
        (fixed.high_db[at] - 0.95).abs() < 0.03,
        "{}",
        fixed.high_db[at]
    );
    assert!(fixed.all.within_db > 0.9);
}

#[test]
fn without_tolerance_every_build_is_the_design() {
    let found = made(
        &speaker(Some(0.0)),
        &ToleranceOptions {
            driver_level_db: 0.0,
            ..options(50)
        },
    );
    assert!(found.all.within_db < 1e-12, "{:?}", found.all);
    assert!(found.tighter.is_none());
    assert!((found.load.high_ohm - found.load.lowest_ohm).abs() < 1e-12);
    assert!(found.contributors.iter().all(|c| c.share.abs() < 1e-12));
    assert!((found.all.shares[0].of_design - 1.0).abs() < 1e-12);
}

/// What has no tolerance is as far from the aim as the design, and no nearer.
#[test]
fn builds_are_held_against_the_aim_and_not_against_the_design() {
    let mut speaker = speaker(Some(0.0));
    let exact = ToleranceOptions {
        driver_level_db: 0.0,
        ..options(20)
    };
    let project = demo();
    let found = assess(&project, project.network.as_ref().unwrap()).unwrap();
    let off_db = found.figures.max_db;
    assert!(off_db > 0.5, "something to see: {off_db}");
    let all = made(&speaker, &exact).all;
    assert!(
        (all.within_of_aim_db - off_db).abs() < 0.01,
        "{all:?} {off_db}"
    );
    // And 3 dB more where the aim names a level that is 3 dB away from its own.
    speaker.aim.level = Some(Decibels(found.figures.level_db + 3.0));
    let all = made(&speaker, &exact).all;
    assert!(all.within_of_aim_db > 3.0, "{all:?}");
    assert!(all.within_db < 1e-12, "{all:?}");
    let [within, beyond] = [0, 2].map(|i: usize| all.shares[i]);
    assert!(
        (within.of_design - 1.0).abs() < 1e-12 && beyond.of_aim.abs() < 1e-12,
        "{all:?}"
    );
}

/// A coil before a resistor: V = R/(R + r + jωL), so that a relative change δ of L, which takes the resistance
/// of its wire along as L^0.6, moves the level by −8.686·(0.6·r·(R + r) + (ωL)²)/|Z|² dB for each neper: both
/// pull the same way, and neither may be taken for the other's opposite.
#[test]
fn the_wire_of_a_coil_adds_to_what_its_inductance_does() {
    let text = r#"
[aim]
from = "100 Hz"
to = "4 kHz"
level = "90 dB"
[parts]
L1 = { inductor = "1 mH", between = ["in", "l"], dcr = "4 ohm", tolerance = "1 %" }
LOW = { driver = "low", between = ["l", "gnd"] }
"#;
    let project = flat_project(text);
    let network = project.network.clone().unwrap();
    let grid = JudgedLoudspeaker::aim_grid(&project.aim).unwrap();
    let speaker = JudgedLoudspeaker::new(&project, network, grid).unwrap();
    let exact = ToleranceOptions {
        driver_level_db: 0.0,
        ..options(4000)
    };
    let found = made(&speaker, &exact);
    // Spread evenly over ± 1 % the standard deviation is 1/√3 %.
    let sigma = 0.01 / 3f64.sqrt();
    for (i, &f_hz) in found.frequency_hz.iter().enumerate() {
        let reactance = std::f64::consts::TAU * f_hz * 1e-3;
        let moved = 0.6 * 4.0 * (8.0 + 4.0) + reactance.powi(2);
        let slope = 20.0 / 10f64.ln() * moved / (12f64.powi(2) + reactance.powi(2));
        let expected = sigma * slope;
        let first = found.first_order_db[i];
        assert!(
            (first / expected - 1.0).abs() < 1e-3,
            "{f_hz}: {first} {expected}"
        );
        let builds = found.deviation_db[i];
        assert!(
            (builds / expected - 1.0).abs() < 0.04,
            "{f_hz}: {builds} {expected}"
        );
    }
}

#[test]
fn a_closer_part_narrows_what_parts_make() {
    let found = made(&speaker(None), &options(2000));
    let tighter = found.tighter.unwrap();
    let alone = found.parts_alone.unwrap();
    assert!((tighter.to / tighter.from - 0.5).abs() < 1e-12);
    assert!(tighter.parts_alone.within_db < alone.within_db);
    // The part named is the one that contributes most of all parts.
    let part = (found.contributors.iter()).find(|c| matches!(c.amount, Amount::Share(_)));
    assert_eq!(part.unwrap().name, tighter.part);
    assert!(alone.within_db < found.all.within_db);
    for i in 0..found.frequency_hz.len() {
        assert!(found.low_db[i] <= 0.0 && found.high_db[i] >= 0.0);
    }
}

#[test]
fn an_interrupted_run_is_the_beginning_of_a_longer_one() {
    let speaker = speaker(None);
    let broken = tolerance(&speaker, &options(5000), &mut |done, _| {
        if done > 0 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })
    .unwrap();
    assert!(broken.builds > 0 && broken.builds < 5000);
    assert!(broken.parts_alone.is_none() && broken.tighter.is_none());
    let short = made(&speaker, &options(broken.builds));
    assert_eq!(broken.low_db, short.low_db);
    assert_eq!(broken.all, short.all);
    let never = tolerance(&speaker, &options(10), &mut |_, _| ControlFlow::Break(()));
    assert_eq!(never, Err(ToleranceError::Interrupted));
}

/// A window that is nothing but the axis gives the builds of the axis; the listening window gives others, held against
/// its own sum.
#[test]
fn builds_are_held_against_the_sum_where_it_is_judged() {
    let mut project = demo();
    let on_axis = of(&project, None);
    let names: Vec<_> = on_axis
        .loudspeaker
        .drivers
        .iter()
        .map(|one| &project.drivers[one.name.as_str()])
        .collect();
    let ear = Ear::of(project.listener.as_ref());
    let axis = [((Plane::Vertical, 0), 1.0)];
    let only_axis = Coherence::over(
        &axis,
        &names,
        &ear,
        pivot(&project),
        &on_axis.loudspeaker.grid,
    );
    let through = JudgedLoudspeaker {
        window: Some(only_axis),
        ..on_axis.clone()
    };
    let (plain, through) = (made(&on_axis, &options(300)), made(&through, &options(300)));
    let close = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9);
    assert!(close(&plain.low_db, &through.low_db) && close(&plain.high_db, &through.high_db));
    assert!(close(&plain.first_order_db, &through.first_order_db));
    assert!((plain.all.within_of_aim_db - through.all.within_of_aim_db).abs() < 1e-9);

    project.aim.judged = Judged::Window;
    let window = made(&of(&project, None), &options(300));
    assert!(!close(&plain.low_db, &window.low_db));
    assert!((plain.all.within_of_aim_db - window.all.within_of_aim_db).abs() > 1e-3);
}

//! `built`: curves of hypotheses against the dense solution, and planted mistakes found.

use netlist::network::PartKind;
use netlist::project::{Project, Source};
use num_complex::Complex64;
use solver::built::{
    BuiltChange, BuiltOptions, MistakeKind, Response, Sweep, built, expect, heard, hypothesis_curve,
};
use solver::grid::Grid;
use solver::load::{Conditions, driver_load};
use solver::loudspeaker::Loudspeaker;
use tests::by_hand::by_hand;
use tests::dense_oracle;
use tests::planted::{Dice, Planted, mistakes, set_value, sweep, wrong_boxes};
use tests::random_loudspeaker::{random_loudspeaker, wound_loudspeaker};
use tests::verdict::{Verdict, is_it};

/// The demo's network with its tables.
fn demo() -> Project {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo");
    netlist::project::load(&folder.join("network.toml"))
        .unwrap()
        .project
}

fn agrees(project: &Project, changes: &[BuiltChange], allowed: f64) {
    let grid = Grid::log_spaced(20.0, 20e3, 40).unwrap();
    let found = hypothesis_curve(project, changes, &grid).unwrap().unwrap();
    let mut network = project.network.clone().unwrap();
    let mut loads: Vec<Vec<Complex64>> = (network.driver_names())
        .map(|name| {
            let load = driver_load(&project.drivers[name], &grid, &Conditions::default());
            load.z_ohm.iter().collect()
        })
        .collect();
    by_hand(&mut network, &mut loads, changes);
    for (i, found) in found.iter().enumerate() {
        let here: Vec<Complex64> = loads.iter().map(|load| load[i]).collect();
        let right = dense_oracle::solve(&network, &here, grid.omega()[i], 1.0, 0.0);
        let right = right.source_current.inv();
        // The drivers are interpolated between 192 points an octave, which shows on the sharp peaks of a
        // table; and open is 1e8 ohm.
        let off = (found - right).norm() / right.norm();
        assert!(
            off < allowed,
            "{changes:?} at {} Hz: {found} {right}",
            grid.f_hz()[i]
        );
    }
}

#[test]
fn every_change_of_every_part_is_that_of_the_dense_solution() {
    let projects = [
        (demo(), 6e-3),
        (random_loudspeaker(3), 5e-4),
        (wound_loudspeaker(), 5e-4),
    ];
    for (project, allowed) in projects {
        let network = project.network.as_ref().unwrap();
        agrees(&project, &[], allowed);
        let nodes = network.node_count();
        let count = network.parts().len();
        for (part, found) in network.parts().values().enumerate() {
            if found.kind.between().is_none() {
                continue;
            }
            agrees(&project, &[BuiltChange::Open(part)], allowed);
            agrees(&project, &[BuiltChange::Short(part)], allowed);
            if !matches!(found.kind, PartKind::Autoformer { .. }) {
                let to = [part % nodes, (part + 1) % nodes];
                agrees(&project, &[BuiltChange::Move(part, to)], allowed);
            }
            if let Some(value) = found.value_si() {
                agrees(&project, &[BuiltChange::Value(part, 7.3 * value)], allowed);
                agrees(&project, &[BuiltChange::Value(part, 1e-3 * value)], allowed);
            } else {
                agrees(&project, &[BuiltChange::Impedance(part, 2.0)], allowed);
            }
            if matches!(found.kind, PartKind::Inductor { .. }) {
                agrees(&project, &[BuiltChange::Loss(part, 3.0)], allowed);
            }
            let other = (part + 1..count).find(|&other| {
                let other = &network.parts()[other];
                other.kind.word() == found.kind.word()
            });
            if let Some(other) = other {
                agrees(&project, &[BuiltChange::Exchange(part, other)], allowed);
                // Two mistakes.
                agrees(
                    &project,
                    &[BuiltChange::Open(part), BuiltChange::Short(other)],
                    allowed,
                );
            }
        }
    }
}

fn look(project: &Project, sweeps: &[Sweep]) -> solver::built::Built {
    built(project, sweeps, &BuiltOptions::default())
        .unwrap()
        .unwrap()
}

/// A small share of what the study in `benches` does at length.
#[test]
fn planted_mistakes_are_found_and_sound_builds_are_called_sound() {
    let (mut cases, mut first, mut in_three, mut surely_wrong) = (0, 0, 0, 0);
    let (mut sound, mut called_sound) = (0, 0);
    let speakers = [
        demo(),
        random_loudspeaker(1),
        random_loudspeaker(5),
        wound_loudspeaker(),
    ];
    for (number, project) in speakers.iter().enumerate() {
        let network = project.network.as_ref().unwrap();
        let mut dice = Dice::new(77 + number as u64);
        let mut all = mistakes(network, &mut dice, 1);
        all.extend(wrong_boxes(project, &mut dice));
        for planted in all.iter().skip(number).step_by(17) {
            let found = look(project, &[sweep(project, Some(planted), 160, &mut dice)]);
            let verdict = Verdict::new(&found, Some(planted));
            cases += 1;
            first += usize::from(verdict.place == Some(0));
            in_three += usize::from(verdict.place.is_some_and(|place| place < 3));
            surely_wrong += usize::from(verdict.sure && verdict.place != Some(0));
        }
        for _ in 0..2 {
            let found = look(project, &[sweep(project, None, 160, &mut dice)]);
            sound += 1;
            called_sound += usize::from(Verdict::new(&found, None).sound);
        }
    }
    assert!(cases > 20);
    assert!(10 * first >= 9 * cases, "{first} of {cases}");
    assert!(100 * in_three >= 97 * cases - 100, "{in_three} of {cases}");
    assert!(surely_wrong <= 1, "{surely_wrong} of {cases}");
    assert_eq!(called_sound, sound);
}

/// Tables without a phase, which is worked out then: what is off by that is no mistake of the builder's, and mistakes are
/// found all the same.
#[test]
fn a_phase_that_is_not_known_accuses_nobody() {
    let (mut project, mut without_phase) = (demo(), demo());
    for name in ["low", "mid", "high"] {
        let impedance = |project: &mut Project, change: &dyn Fn(&mut Vec<f64>, &[f64])| {
            let driver = project.drivers.get_mut(name).unwrap();
            let Source::Measured(measured) = &mut driver.source else {
                panic!("a measured driver");
            };
            let table = &mut measured.impedance;
            if let Some(phase_deg) = &mut table.phase_deg {
                change(phase_deg, &table.f_hz);
            }
            table.phase_deg.take_if(|phase_deg| phase_deg.is_empty());
        };
        // The phase is 10 degrees off the minimum phase, here one way, an octave and a half on the other.
        impedance(&mut project, &|phase_deg, f_hz| {
            for (deg, f) in phase_deg.iter_mut().zip(f_hz) {
                *deg = (*deg + 10.0 * (2.0 * (f / 100.0).ln()).sin()).clamp(-85.0, 85.0);
            }
        });
        impedance(&mut without_phase, &|phase_deg, _| phase_deg.clear());
    }
    let mut dice = Dice::new(21);
    let sound = look(&without_phase, &[sweep(&project, None, 160, &mut dice)]);
    assert!(Verdict::new(&sound, None).sound, "{:?}", sound.hypotheses);
    let fewer = |name: &str, factor: f64| {
        let value = project.network.as_ref().unwrap().parts()[name]
            .value_si()
            .unwrap();
        Planted {
            value_si: Some(factor * value),
            ..one(MistakeKind::Value, name)
        }
    };
    for planted in [
        fewer("C2", 0.68),
        fewer("L1", 1.5),
        one(MistakeKind::Open, "C3"),
    ] {
        let measured = sweep(&project, Some(&planted), 160, &mut dice);
        let found = look(&without_phase, &[measured]);
        let verdict = Verdict::new(&found, Some(&planted));
        assert_eq!(
            verdict.place,
            Some(0),
            "{planted:?}: {:?}",
            found.hypotheses
        );
    }
}

/// Capacitors for which no resistance is stated, as in most drawings, can be left out like any other part.
#[test]
fn a_capacitor_without_loss_can_be_open() {
    let mut project = demo();
    let network = project.network.as_mut().unwrap();
    for part in network.parts_mut().values_mut() {
        if let PartKind::Capacitor { esr, .. } = &mut part.kind {
            esr.0 = 0.0;
        }
    }
    let planted = one(MistakeKind::Open, "C3");
    let measured = sweep(&project, Some(&planted), 160, &mut Dice::new(5));
    let found = look(&project, &[measured]);
    // The coil in series with it looks the same.
    let verdict = Verdict::new(&found, Some(&planted));
    assert_eq!(verdict.place, Some(0), "{:?}", found.hypotheses);
}

/// The same bits on any number of threads.
#[test]
fn the_order_of_threads_changes_nothing() {
    let project = demo();
    let planted = one(MistakeKind::Open, "C3");
    let measured = sweep(&project, Some(&planted), 120, &mut Dice::new(5));
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| look(&project, std::slice::from_ref(&measured)))
    };
    let (alone, many) = (on(1), on(4));
    assert_eq!(format!("{alone:?}"), format!("{many:?}"));
    let verdict = Verdict::new(&alone, Some(&planted));
    assert_eq!(verdict.place, Some(0), "{:?}", alone.hypotheses[0]);
}

fn one(kind: MistakeKind, part: &str) -> Planted {
    Planted {
        kind,
        parts: vec![part.to_owned()],
        value_si: None,
        between: None,
    }
}

/// Noise and leads come out as they were planted; noise follows when it is doubled by thinning nothing.
#[test]
fn the_measurement_is_known_for_what_it_is() {
    let project = demo();
    let found = look(&project, &[sweep(&project, None, 500, &mut Dice::new(9))]);
    let share = found.measurement.noise_share;
    assert!((share / tests::planted::NOISE - 1.0).abs() < 0.2, "{share}");
    assert!((found.measurement.leads_ohm - tests::planted::LEADS_OHM).abs() < 0.25);
    assert!((found.measurement.scale - 1.0).abs() < 0.05);
    assert!(found.something_else < 0.01);
}

#[test]
fn another_loudspeaker_is_told_as_another() {
    let (project, other) = (demo(), random_loudspeaker(4));
    let found = look(&project, &[sweep(&other, None, 300, &mut Dice::new(2))]);
    assert!(found.something_else > 0.9, "{:?}", found.something_else);
    assert!(
        found
            .findings
            .iter()
            .any(|finding| finding.code.text() == "another-loudspeaker")
    );
}

/// Two open parts in different ways: no single mistake makes that curve.
#[test]
fn two_mistakes_are_found_where_one_explains_nothing() {
    let mut project = demo();
    let drawn = project.clone();
    let network = project.network.as_mut().unwrap();
    set_value(&mut network.parts_mut()["L2"], 0.22e-3);
    let planted = one(MistakeKind::Open, "C5");
    let measured = sweep(&project, Some(&planted), 300, &mut Dice::new(3));
    let found = look(&drawn, &[measured]);
    let first = &found.hypotheses[0].mistake;
    assert_eq!(first.kind, MistakeKind::Two, "{first:?}");
    let mut parts = first.parts.clone();
    parts.sort();
    assert_eq!(parts, ["C5", "L2"], "{first:?}");
}

/// A capacitor of ten times the value makes a sharp dip; one mistake explains it, whatever the noise.
#[test]
fn a_sharp_resonance_needs_no_second_mistake() {
    let project = demo();
    let mut built = project.clone();
    let network = built.network.as_mut().unwrap();
    set_value(&mut network.parts_mut()["C4"], 18e-6);
    set_value(&mut network.parts_mut()["C3"], 28e-6);
    let grid = Grid::log_spaced(20.0, 20e3, 400).unwrap();
    let curve = hypothesis_curve(&built, &[], &grid).unwrap().unwrap();
    for seed in 0..3 {
        let mut dice = Dice::new(seed);
        let noisy = |z: &Complex64| (z + 0.25).norm() * 1.004 * (1.0 + 0.01 * dice.normal());
        let measured = Sweep {
            file: "sweep".to_owned(),
            f_hz: grid.f_hz().to_vec(),
            ohm: curve.iter().map(noisy).collect(),
            phase_deg: None,
            off: Vec::new(),
        };
        let found = look(&project, &[measured]);
        let first = &found.hypotheses[0];
        assert_eq!(first.mistake.kind, MistakeKind::Value, "{first:?}");
        assert_eq!(first.mistake.parts, ["C4"]);
        assert!((found.measurement.leads_ohm - 0.25).abs() < 0.15);
    }
}

/// A vent that is too short is told as such, with the frequency that it makes.
#[test]
fn a_box_that_is_tuned_wrong_is_named() {
    let project = random_loudspeaker(2);
    let low = &project.drivers["low"];
    let netlist::project::Source::Cone(cone) = &low.source else {
        panic!("a cone")
    };
    let drawn_hz = cone.enclosure.unwrap().tuning.unwrap().0;
    for times in [0.7, 1.35] {
        let planted = Planted {
            value_si: Some(drawn_hz * times),
            ..one(MistakeKind::Tuning, "LOW")
        };
        let measured = sweep(&project, Some(&planted), 300, &mut Dice::new(31));
        let found = look(&project, &[measured]);
        let first = &found.hypotheses[0];
        assert!(is_it(&planted, &first.mistake), "{first:?}");
        let off = first.mistake.found_si.unwrap() / (drawn_hz * times);
        // A sample's own spread of 5 % is in it.
        assert!((off - 1.0).abs() < 0.08, "{off}");
    }
}

/// What a further sweep tells is less than what is not known, and the sweep tells it.
#[test]
fn a_second_sweep_adds_to_the_first() {
    let project = demo();
    let planted = one(MistakeKind::Open, "C4");
    let whole = sweep(&project, Some(&planted), 200, &mut Dice::new(21));
    let found = look(&project, std::slice::from_ref(&whole));
    for next in &found.next {
        assert!(next.gain > 0.0 && next.gain < 4.0, "{next:?}");
    }
    assert!(
        found
            .next
            .windows(2)
            .all(|pair| pair[0].gain >= pair[1].gain)
    );
    // The same loudspeaker, its drivers and parts drawn from the same numbers, one driver off.
    let both = look(&project, &[whole.clone(), whole]);
    assert!(is_it(&planted, &both.hypotheses[0].mistake) || !both.hypotheses[0].same.is_empty());
}

/// A reading of a build within tolerance is inside its band; that of an open woofer is not.
#[test]
fn expected_readings_hold_sound_builds() {
    let project = demo();
    let found = expect(&project, &BuiltOptions::default()).unwrap().unwrap();
    assert_eq!(found.readings.len(), 6);
    assert!(
        found.seen * 10 > found.mistakes * 9,
        "{} of {}",
        found.seen,
        found.mistakes
    );
    let ohm_at = |measured: &Sweep, f_hz: f64| {
        let near = |i: &usize| (measured.f_hz[*i] / f_hz).ln().abs();
        let i = (0..measured.f_hz.len())
            .min_by(|a, b| near(a).total_cmp(&near(b)))
            .unwrap();
        measured.ohm[i] - tests::planted::LEADS_OHM
    };
    let inside = |measured: &Sweep| {
        found.readings[1..]
            .iter()
            .filter(|reading| {
                let ohm = ohm_at(measured, reading.frequency_hz);
                ohm > reading.least_ohm.unwrap() && ohm < reading.most_ohm.unwrap()
            })
            .count()
    };
    let builds = 20;
    let mut held = 0;
    for seed in 0..builds {
        held += inside(&sweep(&project, None, 2000, &mut Dice::new(seed)));
    }
    assert!(held as f64 > 0.9 * 5.0 * builds as f64, "{held}");
    let open = sweep(
        &project,
        Some(&one(MistakeKind::Open, "LOW")),
        2000,
        &mut Dice::new(1),
    );
    assert!(inside(&open) < 5);
}

/// The drawn sum with one way the other way round, or louder.
#[test]
fn polarity_and_level_come_from_a_response() {
    let project = demo();
    let grid = Grid::log_spaced(40.0, 19e3, 300).unwrap();
    let curves = Loudspeaker::new(&project, grid.clone())
        .unwrap()
        .unwrap()
        .curves()
        .unwrap();
    let measured = |signs: [f64; 3]| {
        let mut dice = Dice::new(8);
        let level_db = (0..grid.len())
            .map(|i| {
                let ways = curves.ways.iter().zip(signs);
                let sum: Complex64 = ways.map(|((_, sound), sign)| sound.at(i) * sign).sum();
                20.0 * (sum.norm() / 20e-6).log10() - 7.0 + 0.3 * dice.normal()
            })
            .collect();
        Response {
            file: "sum".to_owned(),
            f_hz: grid.f_hz().to_vec(),
            level_db,
            way: None,
        }
    };
    let reversed = |signs: [f64; 3]| -> Vec<bool> {
        let found = heard(&project, &[measured(signs)]).unwrap().unwrap();
        found.ways.iter().map(|way| way.reversed.unwrap()).collect()
    };
    assert_eq!(reversed([1.0, 1.0, 1.0]), [false, false, false]);
    assert_eq!(reversed([1.0, -1.0, 1.0]), [false, true, false]);
    // Seen against the lowest way.
    assert_eq!(reversed([-1.0, 1.0, 1.0]), [false, true, true]);
    // Twice the pressure of the mid is 6 dB; the steps go down towards the aim.
    let found = heard(&project, &[measured([1.0, 1.8, 1.0])])
        .unwrap()
        .unwrap();
    let level = |way: usize| found.ways[way].level_db.unwrap();
    assert!(
        (level(1) - 0.5 * (level(0) + level(2)) - 5.1).abs() < 1.0,
        "{:?}",
        found.ways
    );
    let sum = found.sum.unwrap();
    assert!(sum.after_rms_db < sum.rms_db);
    let mid = sum.steps.iter().find(|step| step.driver == "mid").unwrap();
    assert!(mid.step_db < -1.5, "{:?}", sum.steps);
}

//! What a cabinet makes of a modelled driver: rigid sphere, boundary elements, limits, planes, resonances of a cone.

use std::f64::consts::TAU;

use netlist::project::{Opening, Project};
use netlist::quantity::Metres;
use num_complex::Complex64;
use serde_json::Value;
use solver::air::{Air, SPEED_OF_SOUND_M_PER_S};
use solver::grid::Grid;
use solver::load::{Conditions, driver_load};
use solver::radiation::{Direction, Pattern};
use tests::project::project_from;

const CONE: &str = "re = \"6 ohm\", fs = \"40 Hz\", qms = 5, qes = 0.5, vas = \"60 L\"";

/// A small cone, with more fields of its own and of the project.
fn project(sd: &str, more: &str, of_driver: &str, cabinet: &str) -> Project {
    let text = format!(
        "{cabinet}\n[drivers.low]\nmodelled = {{ {CONE}, sd = \"{sd}\"{more} }}\n{of_driver}\n"
    );
    project_from(&text, &[])
}

/// Sound with the second project's driver over that with the first's.
fn ratio(before: &Project, after: &Project, f_hz: &[f64]) -> Vec<Complex64> {
    let grid = Grid::new(f_hz.to_vec()).unwrap();
    let sound = |project: &Project| {
        let load = driver_load(&project.drivers["low"], &grid, &Conditions::default());
        load.pressure_pa_per_v
    };
    let (before, after) = (sound(before), sound(after));
    (0..f_hz.len())
        .map(|i| after.at(i) / before.at(i))
        .collect()
}

fn db(ratio: Complex64) -> f64 {
    20.0 * ratio.norm().log10()
}

fn cabinet(width: f64, height: f64, depth: f64, more: &str) -> String {
    format!(
        "[cabinet]\nwidth = \"{width} m\"\nheight = \"{height} m\"\ndepth = \"{depth} m\"\n{more}\n"
    )
}

/// Level of a cabinet's driver against a wall without end, dB.
fn level(cabinet: &str, [right, up]: [f64; 2], f_hz: &[f64]) -> Vec<f64> {
    let place = format!("on_baffle = {{ right = \"{right} m\", up = \"{up} m\" }}");
    let bare = project("1 cm2", "", "", "");
    let built = project("1 cm2", "", &place, cabinet);
    ratio(&bare, &built, f_hz).into_iter().map(db).collect()
}

/// What moves on a rigid sphere, far away in the direction θ from its middle: the classical series (Morse, Vibration and
/// Sound; Morse and Ingard, Theoretical Acoustics), `Σ wₙ jⁿ Pₙ(cos θ) / h'ₙ(ka)` with wₙ = 2n+1 for a point, and
/// Pₙ₋₁(cos α) − Pₙ₊₁(cos α) for a cap of half angle α that moves as one.
fn sphere(ka: f64, cos: f64, cap_rad: Option<f64>) -> Complex64 {
    let terms = (ka + 20.0 + 4.0 * ka.cbrt()) as usize;
    let j = Complex64::i();
    let wave = (-j * ka).exp();
    // Spherical Hankel functions of the second kind, upward, where the recurrence is stable.
    let mut h = vec![j * wave / ka, -wave * (ka - j) / (ka * ka)];
    for n in 1..=terms {
        let next = h[n] * ((2 * n + 1) as f64 / ka) - h[n - 1];
        h.push(next);
    }
    let legendre = |x: f64| {
        let mut p = vec![1.0, x];
        for n in 1..=terms {
            p.push(((2 * n + 1) as f64 * x * p[n] - n as f64 * p[n - 1]) / (n + 1) as f64);
        }
        p
    };
    let towards = legendre(cos);
    let rim = cap_rad.map(|cap| legendre(cap.cos()));
    (0..=terms)
        .map(|n| {
            let slope = h[n] * (n as f64 / ka) - h[n + 1];
            let weight = match &rim {
                None => (2 * n + 1) as f64,
                Some(p) if n == 0 => 1.0 - p[1],
                Some(p) => p[n - 1] - p[n + 1],
            };
            j.powu(n as u32) * weight * towards[n] / slope
        })
        .sum()
}

/// A point source on a rigid sphere, far away on the axis, against one on a wall without end, dB: by reciprocity the
/// pressure at the pole for a plane wave from there, the series over (ka)², over 2.
fn sphere_db(ka: f64) -> f64 {
    20.0 * (sphere(ka, 1.0, None).norm() / (2.0 * ka * ka)).log10()
}

/// A cube whose edges are rounded until nothing is flat is a sphere to the solution.
#[test]
fn a_cabinet_that_is_all_bend_is_the_rigid_sphere() {
    let f_hz: Vec<f64> = (0..80)
        .map(|i| 50.0 * 100f64.powf(f64::from(i) / 79.0))
        .collect();
    for radius in [0.1, 0.15, 0.2] {
        let side = 2.0 * radius;
        let ball = cabinet(side, side, side, &format!("edge = {radius}"));
        let found = level(&ball, [0.0, radius], &f_hz);
        for (f, found) in f_hz.iter().zip(found) {
            let off = found - sphere_db(TAU * f * radius / SPEED_OF_SOUND_M_PER_S);
            assert!(off.abs() < 0.3, "{radius} m, {f:.0} Hz: {off:.2} dB");
        }
    }
    // From all directions to half of them.
    assert!((sphere_db(0.01) + 6.02).abs() < 0.01 && sphere_db(25.0).abs() < 0.1);
}

/// Boundary elements, which numpy has solved (`tests/fixtures/numpy_baffle.py`): sharp edges, and edges of the front rounded
/// to 6 and 10 cm.
#[test]
fn a_box_is_within_a_decibel_of_boundary_elements() {
    let cases: Vec<Value> =
        serde_json::from_str(include_str!("../../fixtures/baffle.json")).unwrap();
    let mut worst: f64 = 0.0;
    let mut worst_round: f64 = 0.0;
    let mut turned: f64 = 0.0;
    for case in &cases {
        let edge_m = case["edge_m"].as_f64().unwrap_or(0.0);
        let number = |name: &str| case[name].as_f64().unwrap();
        let list = |name: &str| -> Vec<f64> {
            let values = case[name].as_array().unwrap().iter();
            values.map(|value| value.as_f64().unwrap()).collect()
        };
        let built = cabinet(
            number("width_m"),
            number("height_m"),
            number("depth_m"),
            &format!("edge = {edge_m}"),
        );
        let (f_hz, known) = (list("frequency_hz"), list("level_db"));
        let found = level(&built, [number("right_m"), number("up_m")], &f_hz);
        for (found, known) in found.iter().zip(&known) {
            let most = if edge_m > 0.0 {
                &mut worst_round
            } else {
                &mut worst
            };
            *most = most.max((found - known).abs());
            turned = turned.max(*known);
        }
    }
    assert!(worst < 1.0, "{worst:.2} dB");
    assert!(worst_round < 1.1, "rounded: {worst_round:.2} dB");
    assert!(turned > 1.0 && cases.len() == 7, "the cases have a hump");
}

#[test]
fn a_large_front_is_a_wall_and_a_small_one_is_nothing() {
    let wall = level(&cabinet(20.0, 20.0, 1.0, ""), [0.3, 9.0], &[300.0, 1e3]);
    assert!(wall.iter().all(|db| db.abs() < 0.2), "{wall:?}");
    let small = level(&cabinet(0.02, 0.02, 0.02, ""), [0.0, 0.01], &[20.0, 100.0]);
    assert!(small.iter().all(|db| (db + 6.02).abs() < 0.1), "{small:?}");
    // Half-way where the note on a missing cabinet says so.
    let half_hz = solver::load::step_hz(0.4);
    let half = level(&cabinet(0.4, 0.4, 0.4, ""), [0.0, 0.2], &[half_hz]);
    assert!((half[0] + 3.01).abs() < 0.2, "{half:?}");
}

/// A large diaphragm hears the edge from many distances, so that ripple is less.
#[test]
fn a_large_diaphragm_and_a_round_edge_have_less_ripple() {
    let f_hz: Vec<f64> = (0..200).map(|i| 800.0 + 20.0 * f64::from(i)).collect();
    let ripple = |sd: &str, edge: &str| {
        let built = project(
            sd,
            "",
            "on_baffle = { up = 0.2 }",
            &cabinet(0.4, 0.4, 0.3, edge),
        );
        let levels: Vec<f64> = ratio(&project(sd, "", "", ""), &built, &f_hz)
            .into_iter()
            .map(db)
            .collect();
        let most = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - levels.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let (point, disc) = (ripple("1 cm2", ""), ripple("530 cm2", ""));
    assert!(disc < 0.7 * point, "{disc:.2} of {point:.2} dB");
    let round = ripple("1 cm2", "edge = \"60 mm\"");
    assert!(round < 0.8 * point, "{round:.2} of {point:.2} dB");
}

/// Waterhouse's power near one, two and three planes: 3.01 dB each where the wave is long, nothing where it is short.
#[test]
fn planes_give_back_bass() {
    for (room, planes) in [
        ("free", 0.0),
        ("floor", 1.0),
        ("wall", 2.0),
        ("corner", 3.0),
    ] {
        let at = |room: &str, f_hz: &[f64]| {
            level(
                &cabinet(0.4, 0.9, 0.4, &format!("room = \"{room}\"")),
                [0.0, 0.5],
                f_hz,
            )
        };
        let f_hz = [2.0, 8e3];
        let (here, free) = (at(room, &f_hz), at("free", &f_hz));
        let gain = here[0] - free[0];
        assert!((gain - 3.01 * planes).abs() < 0.05, "{room}: {gain:.2} dB");
        assert!(
            (here[1] - free[1]).abs() < 0.3,
            "{room}: {:.2}",
            here[1] - free[1]
        );
    }
}

#[test]
fn a_cone_s_resonance_has_its_height_and_width() {
    let peak = project(
        "200 cm2",
        ", break_up = [{ frequency = \"3 kHz\", q = 5, level = \"6 dB\" }]",
        "",
        "",
    );
    let found = ratio(
        &project("200 cm2", "", "", ""),
        &peak,
        &[300.0, 3e3, 3e3 * 1.1, 20e3],
    );
    assert!((db(found[1]) - 6.0).abs() < 1e-9, "{}", db(found[1]));
    assert!(db(found[0]).abs() < 0.1 && db(found[3]).abs() < 0.1);
    // (1 + j A x/Q ...) in closed form at one and a tenth times the frequency.
    let s = Complex64::new(0.0, 1.1);
    let level = 10f64.powf(0.3);
    let expected = (s * s + s * level / 5.0 + 1.0) / (s * s + s / 5.0 + 1.0);
    assert!((found[2] - expected).norm() < 1e-12);
}

/// A measured table holds its cabinet; a horn has its own front.
#[test]
fn only_cones_that_are_modelled_have_the_cabinet() {
    let built = cabinet(0.4, 0.9, 0.4, "");
    let rows: String = (0..40)
        .map(|i| 20.0 * 1000f64.powf(f64::from(i) / 39.0))
        .map(|f| format!("{f} 90 0\n"))
        .collect();
    let drivers = "[drivers.low]\nmeasured = { impedance = \"t\", response = \"t\" }\n[drivers.horn]\nmodelled = { re = 6, level = \"100 dB\", horn = { cutoff = 300 } }\n[[crossovers]]\nbetween = [\"low\", \"horn\"]\nfrequency = 800\nalignment = \"LR4\"\n";
    let project = project_from(&format!("{built}{drivers}"), &[("t", &rows)]);
    assert!(
        project
            .drivers
            .values()
            .all(|driver| driver.baffle.is_none())
    );
    assert!((project.cabinet.unwrap().height.0 - 0.9).abs() < 1e-12);
}

fn towards(deg: f64) -> Direction {
    let (sin, cos) = deg.to_radians().sin_cos();
    [sin, 0.0, cos]
}

/// A point in fronts of three sizes against the point on the sphere of the same shadow, against the axis: within 2 dB up to
/// 120 degrees and 4 dB straight behind from 50 Hz to 2 kHz, and the power of all directions within 0.8 dB.
#[test]
fn the_shade_of_a_cabinet_is_that_of_a_sphere() {
    let (mut beside, mut behind, mut of_power): (f64, f64, f64) = (0.0, 0.0, 0.0);
    for radius in [0.12, 0.25, 0.4] {
        let side = Metres(radius * std::f64::consts::PI.sqrt());
        let pattern = Pattern {
            cabinet: Some(Opening::Rectangle {
                width: side,
                height: side,
            }),
            ..Pattern::default()
        };
        for f in (0..60).map(|i| 50.0 * 40f64.powf(f64::from(i) / 59.0)) {
            let ka = TAU * f * radius / SPEED_OF_SOUND_M_PER_S;
            let axis = sphere(ka, 1.0, None);
            let (mut power, mut right) = (0.0, 0.0);
            for deg in 0..=36 {
                let deg = 5.0 * f64::from(deg);
                let found = pattern.at(towards(deg), TAU * f, Air::default());
                let known = sphere(ka, deg.to_radians().cos(), None) / axis;
                let off = 20.0 * found.log10() - db(known);
                if deg <= 120.0 {
                    beside = beside.max(off.abs());
                } else if deg > 179.0 {
                    behind = behind.max(off.abs());
                }
                power += deg.to_radians().sin() * found * found;
                right += deg.to_radians().sin() * known.norm_sqr();
            }
            of_power = of_power.max(10.0 * (power / right).log10().abs());
        }
    }
    assert!(beside < 2.0, "{beside:.2} dB");
    assert!(behind < 4.0, "{behind:.2} dB");
    assert!(of_power < 0.8, "{of_power:.2} dB");
}

//! Near-field tables: their level at a distance, their vent, and how they meet the far field.

use std::f64::consts::{PI, TAU};
use std::fmt::Write;

use netlist::project::{Driver, Project};
use num_complex::Complex64;
use solver::air::{Air, REFERENCE_PRESSURE_PA, SPEED_OF_SOUND_M_PER_S};
use solver::grid::Grid;
use solver::load::{Conditions, DriverLoad, Join, Note, driver_load};
use tests::project::project_from;

const Z: &str = "10 8 0\n20 8 0\n50 8 0\n100 8 0\n200 8 0\n500 8 0\n1000 8 0\n20000 8 0\n";
const AREA_M2: f64 = 0.022;

fn spaced(from_hz: f64, to_hz: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| from_hz * (to_hz / from_hz).powf(i as f64 / (count - 1) as f64))
        .collect()
}

fn db(p: Complex64) -> f64 {
    20.0 * p.norm().log10()
}

/// A table of pressures in pascal.
fn written(f_hz: &[f64], pascal: impl Fn(f64) -> Complex64, phase: bool) -> String {
    let mut text = String::new();
    for &f in f_hz {
        let p = pascal(f) / REFERENCE_PRESSURE_PA;
        write!(text, "{f:.9} {:.9}", db(p)).unwrap();
        if phase {
            write!(text, " {:.9}", p.arg().to_degrees()).unwrap();
        }
        text.push('\n');
    }
    text
}

fn load(driver: &Driver, f_hz: &[f64]) -> DriverLoad {
    driver_load(
        driver,
        &Grid::new(f_hz.to_vec()).unwrap(),
        &Conditions::default(),
    )
}

fn near_only(table: &str, more: &str, cabinet: &str) -> Project {
    let text = format!(
        "{cabinet}\n[drivers.low]\nmeasured = {{ impedance = \"z\", response = \"n\", space = \"near field\", \
         sd = \"220 cm2\", drive = \"1 V\"{more} }}\non_baffle_here = 1\n"
    );
    let place = match cabinet.is_empty() {
        true => "",
        false => "on_baffle = { up = \"0.6 m\" }",
    };
    project_from(
        &text.replace("on_baffle_here = 1", place),
        &[("z", Z), ("n", table), ("p", table)],
    )
}

/// Pressure of a flat piston in a wall without end, a metre per second, on its axis: the Rayleigh integral, ring by ring.
fn rayleigh(f_hz: f64, radius_m: f64, distance_m: f64) -> Complex64 {
    let k = TAU * f_hz / SPEED_OF_SOUND_M_PER_S;
    let rings = 4000;
    let step = radius_m / f64::from(rings);
    let sum: Complex64 = (0..rings)
        .map(|i| (f64::from(i) + 0.5) * step)
        .map(|r| {
            let way = r.hypot(distance_m);
            Complex64::from_polar(TAU * r * step / way, -k * way)
        })
        .sum();
    Complex64::new(0.0, TAU * f_hz * Air::default().rho_kg_per_m3 / TAU) * sum
}

/// What is measured in the middle of a piston gives the level that the integral has at 1 m: to 0.05 dB where ka is
/// small, and 0.4 dB less at ka = 1 (sin(ka/2)/(ka/2); Keele 1974, from memory, gives the ratio 2r/a).
#[test]
fn a_near_field_is_the_piston_at_a_distance() {
    let radius_m = (AREA_M2 / PI).sqrt();
    let at_ka_1 = SPEED_OF_SOUND_M_PER_S / (TAU * radius_m);
    let f_hz = spaced(20.0, 1.5 * at_ka_1, 60);
    let table = written(&f_hz, |f| rayleigh(f, radius_m, 0.0), true);
    let project = near_only(&table, "", "");
    let asked = [20.0, 100.0, at_ka_1];
    let found = load(&project.drivers["low"], &asked).pressure_pa_per_v;
    for (i, allowed) in [(0, 0.05), (1, 0.05)] {
        // The sagitta of the piston at 1 m is 0.2 % of the way.
        let off = db(found.at(i)) - db(rayleigh(asked[i], radius_m, 1.0));
        assert!(off.abs() < allowed, "{} Hz: {off:.3} dB", asked[i]);
    }
    let off = db(found.at(2)) - db(rayleigh(asked[2], radius_m, 1.0));
    let closed = 20.0 * (0.5f64.sin() / 0.5).log10();
    assert!((off - closed).abs() < 0.05, "{off:.3} {closed:.3}");
}

const CABINET: &str = "[cabinet]\nwidth = \"30 cm\"\nheight = \"100 cm\"\ndepth = \"30 cm\"\n";

/// The front is put around a near field as it is around the same driver modelled, planes near by too.
#[test]
fn a_near_field_has_the_cabinet_of_a_model() {
    let f_hz = spaced(20.0, 3000.0, 150);
    let table = written(&f_hz, |_| Complex64::ONE, true);
    let cone = "re = 6, fs = 40, qms = 5, qes = 0.5, vas = \"60 L\", sd = \"220 cm2\"";
    let model = |cabinet: &str, place: &str| {
        project_from(
            &format!("{cabinet}[drivers.low]\nmodelled = {{ {cone} }}\n{place}\n"),
            &[],
        )
    };
    for room in ["free", "floor"] {
        let cabinet = format!("{CABINET}room = \"{room}\"\n");
        let [bare, built] = [
            model("", ""),
            model(&cabinet, "on_baffle = { up = \"0.6 m\" }"),
        ];
        let [near, around] = ["", &cabinet].map(|cabinet| near_only(&table, "", cabinet));
        let pressure = |project: &Project| load(&project.drivers["low"], &f_hz).pressure_pa_per_v;
        let [bare, built, near, around] = [&bare, &built, &near, &around].map(pressure);
        for i in 0..f_hz.len() {
            let (model, table) = (built.at(i) / bare.at(i), around.at(i) / near.at(i));
            assert!((model - table).norm() < 1e-6, "{room} {}", f_hz[i]);
        }
    }
}

/// Cone and vent of a box after Small (1973), with its leak: the one has s²(s² + ωb s/Q + ωb²) above the fourth-order
/// denominator, the other −s²(ωb s/Q + ωb²), and both s⁴. Near fields go by volume velocity over radius.
#[test]
fn a_vent_adds_to_the_cone() {
    let f_hz = spaced(8.0, 800.0, 300);
    let (radius_m, port_m): (f64, f64) = ((AREA_M2 / PI).sqrt(), 0.025);
    let b = 40.0;
    let parts = |f: f64| {
        let s = Complex64::new(0.0, f / b);
        let box_of = s * s + s / 7.0 + 1.0;
        let denominator = (s * s + s / 0.4 * 0.9 + 0.81) * box_of + s * s * 1.5;
        (
            s * s * box_of / denominator,
            -s * s * (s / 7.0 + 1.0) / denominator,
        )
    };
    let near = written(&f_hz, |f| parts(f).0 / radius_m, true);
    // Two mouths share the sound of the vent.
    let port = written(&f_hz, |f| parts(f).1 / (2.0 * port_m), true);
    let text = format!(
        "[drivers.low]\nmeasured = {{ impedance = \"z\", response = \"n\", space = \"near field\", sd = {AREA_M2}, \
         drive = \"1 V\", near_port = {{ response = \"p\", size = \"50 mm\", count = 2 }} }}\n"
    );
    let project = project_from(&text, &[("z", Z), ("n", &near), ("p", &port)]);
    let found = load(&project.drivers["low"], &f_hz).pressure_pa_per_v;
    for (i, &f) in f_hz.iter().enumerate() {
        let (cone, vent) = parts(f);
        let expected = 0.5 * (cone + vent);
        // Deep below the tuning both nearly cancel.
        assert!((found.at(i) / expected - 1.0).norm() < 1e-4, "{f} Hz");
    }
    // Without its vent it falls too slowly: 12 dB an octave where the box has 24.
    let alone = near_only(&near, "", "");
    let alone = load(&alone.drivers["low"], &[10.0, 20.0]).pressure_pa_per_v;
    assert!(db(alone.at(0)) > db(found.at(0)) + 6.0);
}

/// Parameters of a driver whose tables are made.
struct Made {
    /// Near field less than it should be, dB.
    off_db: f64,
    /// What the far field is late by, s.
    late_s: f64,
    turned: bool,
    near_phase: bool,
    far_phase: bool,
}

const HONEST: Made = Made {
    off_db: 0.0,
    late_s: 0.5e-3,
    turned: false,
    near_phase: true,
    far_phase: true,
};

const CONE: &str = "re = 6, fs = 45, qms = 4, qes = 0.45, vas = \"40 L\", sd = \"220 cm2\", l1 = \"0.4 mH\", \
    box = { volume = \"30 L\" }";
const PLACE: &str = "on_baffle = { up = \"0.6 m\", right = \"2 cm\" }";

/// Near and far tables of a modelled driver, the near one at 0.5 V and the far one at 2 m and 2 V; and what the program
/// makes of them beside the model itself.
fn made(made: &Made) -> (Project, Project) {
    let model = |cabinet: &str, place: &str| {
        project_from(
            &format!("{cabinet}[drivers.low]\nmodelled = {{ {CONE} }}\n{place}\n"),
            &[],
        )
    };
    let (wall, built) = (model("", ""), model(CABINET, PLACE));
    let radius_m = (AREA_M2 / PI).sqrt();
    let at =
        |project: &Project, f: f64| load(&project.drivers["low"], &[f]).pressure_pa_per_v.at(0);
    let gain = 0.5 * 2.0 / radius_m * 10f64.powf(-made.off_db / 20.0);
    let near = written(
        &spaced(15.0, 900.0, 200),
        |f| gain * at(&wall, f),
        made.near_phase,
    );
    let sign = if made.turned { -1.0 } else { 1.0 };
    let far = written(
        &spaced(150.0, 20e3, 1000),
        |f| Complex64::from_polar(sign * 2.0 / 2.0, -TAU * f * made.late_s) * at(&built, f),
        made.far_phase,
    );
    let text = format!(
        "{CABINET}[drivers.low]\nmeasured = {{ impedance = \"z\", near = \"n\", far = \"f\", join = \"300 Hz\", \
         near_drive = \"0.5 V\", sd = {AREA_M2}, drive = \"2 V\", distance = \"2 m\" }}\n{PLACE}\n"
    );
    let joined = project_from(&text, &[("z", Z), ("n", &near), ("f", &far)]);
    (built, joined)
}

fn join_of(load: &DriverLoad) -> Join {
    let join = load.notes.iter().find_map(|note| match note {
        Note::NearFieldJoined(join) => Some(*join),
        _ => None,
    });
    join.expect("a join")
}

#[test]
fn both_tables_of_one_model_give_it_back() {
    let f_hz = spaced(16.0, 19e3, 400);
    for case in [
        HONEST,
        Made {
            late_s: 0.0,
            ..HONEST
        },
        Made {
            late_s: -0.4e-3,
            turned: true,
            ..HONEST
        },
    ] {
        let (model, joined) = made(&case);
        let (model, joined) = (
            load(&model.drivers["low"], &f_hz),
            load(&joined.drivers["low"], &f_hz),
        );
        let join = join_of(&joined);
        assert!(join.misfit_db.abs() < 0.02, "{join:?}");
        assert!(join.misfit_deg.unwrap() < 0.5, "{join:?}");
        assert!((join.delay_s - case.late_s).abs() < 5e-6, "{join:?}");
        assert_eq!(join.inverted, case.turned);
        let sign = if case.turned { -1.0 } else { 1.0 };
        let mut worst: (f64, f64) = (0.0, 0.0);
        for (i, &f) in f_hz.iter().enumerate() {
            let late = Complex64::from_polar(sign, -TAU * f * case.late_s);
            let ratio = joined.pressure_pa_per_v.at(i) / (model.pressure_pa_per_v.at(i) * late);
            worst.0 = worst.0.max(db(ratio).abs());
            worst.1 = worst.1.max(ratio.arg().to_degrees().abs());
        }
        assert!(worst.0 < 0.05 && worst.1 < 1.0, "{worst:?}");
    }
}

/// A near field without phase has that of its level; where the far field has none both have.
#[test]
fn phases_that_were_not_measured() {
    let f_hz = spaced(30.0, 10e3, 200);
    for (near_phase, far_phase, allowed_deg) in [(false, true, 8.0), (true, false, 8.0)] {
        let case = Made {
            near_phase,
            far_phase,
            ..HONEST
        };
        let (model, joined) = made(&case);
        let (model, joined) = (
            load(&model.drivers["low"], &f_hz),
            load(&joined.drivers["low"], &f_hz),
        );
        let join = join_of(&joined);
        assert_eq!(join.misfit_deg.is_some(), far_phase);
        let told = |note: &Note| matches!(note, Note::PhaseReconstructed { curve } if *curve == solver::load::Curve::Response);
        assert_eq!(joined.notes.iter().any(told), !far_phase);
        for (i, &f) in f_hz.iter().enumerate() {
            let late_s = if far_phase { case.late_s } else { 0.0 };
            let late = Complex64::from_polar(1.0, -TAU * f * late_s);
            let ratio = joined.pressure_pa_per_v.at(i) / (model.pressure_pa_per_v.at(i) * late);
            let (off_db, off_deg) = (db(ratio), ratio.arg().to_degrees());
            assert!(
                off_db.abs() < 0.05 && off_deg.abs() < allowed_deg,
                "{near_phase} {f:.0} Hz: {off_db:.2} dB {off_deg:.1} deg"
            );
        }
    }
}

/// A near field that is 3 dB too low is said to be so, and keeps its level: the far field is left as it is.
#[test]
fn a_misfit_is_told_and_nothing_is_moved() {
    let (model, joined) = made(&Made {
        off_db: 3.0,
        ..HONEST
    });
    let f_hz = [50.0, 100.0, 600.0, 5e3];
    let (model, joined) = (
        load(&model.drivers["low"], &f_hz),
        load(&joined.drivers["low"], &f_hz),
    );
    assert!((join_of(&joined).misfit_db + 3.0).abs() < 0.05);
    for (i, expected) in [-3.0, -3.0, 0.0, 0.0].into_iter().enumerate() {
        let found = db(joined.pressure_pa_per_v.at(i) / model.pressure_pa_per_v.at(i));
        assert!((found - expected).abs() < 0.05, "{} Hz: {found}", f_hz[i]);
    }
}

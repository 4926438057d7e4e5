//! Loudspeakers whose directions are known in closed form.

use std::io;
use std::path::Path;

use netlist::project::{Project, load_from};

use super::*;
use crate::air::SPEED_OF_SOUND_M_PER_S;

/// Two drivers with level response and no size, measured on one time reference.
fn project(upper: &str, lower: &str, more: &str) -> Project {
    let text = format!(
        "aim = {{ from = \"200 Hz\", to = \"8 kHz\" }}\n{more}\n\
         [drivers.low]\nmeasured = {{ impedance = \"z\", response = \"flat\" }}\n{lower}\n\
         [drivers.high]\nmeasured = {{ impedance = \"z\", response = \"flat\" }}\n{upper}\n\
         [[crossovers]]\nbetween = [\"low\", \"high\"]\nfrequency = \"1 kHz\"\nalignment = \"LR2\"\n\
         [parts]\nLOW = {{ driver = \"low\", between = [\"in\", \"gnd\"] }}\n\
         HIGH = {{ driver = \"high\", between = [\"in\", \"gnd\"] }}\n"
    );
    let rows = |value: &str| -> String {
        let f_hz = [10.0, 50.0, 100.0, 300.0, 1e3, 3e3, 1e4, 2e4, 3e4];
        f_hz.iter().map(|f| format!("{f} {value}\n")).collect()
    };
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        let table = match path.to_str() {
            Some("z") => rows("8 0"),
            Some("flat") => rows("90 0"),
            Some("less6") => rows("84 0"),
            Some("less12") => rows("78 0"),
            _ => text.clone(),
        };
        Ok(table.into_bytes())
    };
    load_from(&files, Path::new("p.toml"))
        .unwrap_or_else(|problems| panic!("{problems}"))
        .project
}

fn directions(project: &Project) -> Directions {
    Directions::of(project).unwrap().unwrap()
}

const BELOW: &str = "position = { up = \"-0.125 m\" }";
const ABOVE: &str = "position = { up = \"0.125 m\" }";

/// Points alike in all directions, in one place: every window is the axis, and the directivity index 0.
#[test]
fn points_in_one_place() {
    let found = directions(&project("", "", ""));
    for i in 0..found.frequency_hz.len() {
        // Two sources of 90 dB in phase: 96.02.
        assert!((found.on_axis_db[i] - 96.0206).abs() < 1e-3);
        for curve in [
            &found.listening_window_db,
            &found.early_reflections_db,
            &found.sound_power_db,
            &found.in_room_db,
        ] {
            assert!((curve[i] - found.on_axis_db[i]).abs() < 1e-9);
        }
        assert!(found.directivity_index_db[i].abs() < 1e-9);
    }
    assert!(
        found
            .sources
            .iter()
            .all(|s| s.known_from == KnownFrom::Nothing)
    );
    assert!(found.listening_window.max_db < 1e-9);
    assert_eq!(
        (found.lobes[0].tilt_deg, found.lobes[0].from_deg),
        (0.0, -60.0)
    );
}

/// Two points 25 cm above each other: |2·cos(π·d·sin θ/λ)| at angle θ, and the listening window the mean of that
/// over its nine directions; the horizontal ones see none of it.
#[test]
fn two_points_above_each_other() {
    let found = directions(&project(ABOVE, BELOW, ""));
    for (i, f_hz) in found.frequency_hz.iter().enumerate() {
        let at = |deg: f64| {
            let turn = std::f64::consts::PI * 0.25 * deg.to_radians().sin() * f_hz
                / SPEED_OF_SOUND_M_PER_S;
            turn.cos().powi(2)
        };
        let mean = (7.0 + 2.0 * at(10.0)) / 9.0;
        let window = 10.0 * mean.log10();
        assert!((found.listening_window_db[i] - found.on_axis_db[i] - window).abs() < 1e-6);
        let row = (found.vertical_map.angle_deg.iter())
            .position(|deg| (*deg - 30.0).abs() < 1e-9)
            .unwrap();
        let map_db = 10.0 * at(30.0).max(1e-30).log10();
        assert!((found.vertical_map.level_db[row][i] - map_db).abs() < 1e-4);
    }
    let lobe = &found.lobes[0];
    assert_eq!((lobe.plane, lobe.tilt_deg), ("vertical", 0.0));
    assert!((lobe.apart_m - 0.25).abs() < 1e-12);
    // Half pressure where π·d·sin θ/λ = 60°: sin θ = λ/(3·d) = 0.4576, 27.2°.
    assert_eq!((lobe.from_deg, lobe.to_deg), (-27.0, 27.0));
}

/// Depth tilts the lobe: the lower driver 5 cm back is in step with the upper one where 25 cm·sin θ = −5 cm, at −11.5°.
#[test]
fn depth_tilts_the_lobe() {
    let lower = "position = { up = \"-0.125 m\", back = \"50 mm\" }";
    let found = directions(&project(ABOVE, lower, ""));
    let tilt = found.lobes[0].tilt_deg;
    assert!((tilt + 11.5).abs() <= 1.0, "{tilt}");
    // Beside each other it is the horizontal plane that matters.
    let [left, right] = [
        "right = \"-0.125 m\", back = \"50 mm\"",
        "right = \"0.125 m\"",
    ];
    let found = directions(&project(
        &format!("position = {{ {right} }}"),
        &format!("position = {{ {left} }}"),
        "",
    ));
    assert_eq!(found.lobes[0].plane, "horizontal");
    assert!((found.lobes[0].tilt_deg + 11.5).abs() <= 1.0);
}

/// A small source in a large front is alike all around at low frequencies and one-sided at high ones; the directivity
/// index of a piston in a baffle is (ka)²/(1 − J₁(2ka)/ka) above ka = 1: what is behind adds nothing there.
#[test]
fn directivity_index_of_a_piston() {
    let size = "size = \"200 mm\"";
    let found = directions(&project(size, size, ""));
    let at = |f_hz: f64| {
        let i = (found.frequency_hz.iter())
            .position(|f| *f >= f_hz)
            .unwrap();
        (
            found.frequency_hz[i],
            found.sound_power_db[i] - found.on_axis_db[i],
        )
    };
    assert!(at(25.0).1.abs() < 0.05);
    for f_hz in [2500.0, 4000.0] {
        let (f_hz, power_db) = at(f_hz);
        let ka = std::f64::consts::TAU * f_hz * 0.1 / SPEED_OF_SOUND_M_PER_S;
        let index_db =
            10.0 * (ka * ka / (1.0 - crate::radiation::bessel_j1(2.0 * ka) / ka)).log10();
        // Two orbits with 10 degrees between directions: within 0.7 dB.
        assert!(
            (power_db + index_db).abs() < 0.7,
            "{f_hz}: {power_db} {index_db}"
        );
    }
    assert!(
        found
            .sources
            .iter()
            .all(|s| s.known_from == KnownFrom::Size)
    );
}

/// Tables off the axis: 6 dB less at 20 degrees and 12 dB at 40 on the right, which stands for the left too; half way
/// between the angles half way between the levels; upwards nothing is measured, so that one plane stands for both.
#[test]
fn tables_off_the_axis() {
    let off = "measured = { impedance = \"z\", response = \"flat\", off_axis = [\
        { angle = \"20 deg\", plane = \"horizontal\", response = \"less6\" }, \
        { angle = \"40 deg\", plane = \"horizontal\", response = \"less12\" }] }";
    let mut project = project("", "", "");
    let text = format!("[drivers.d]\n{off}\n");
    let rows = |db: f64| -> String {
        [10.0, 50.0, 100.0, 300.0, 1e3, 3e3, 1e4, 3e4]
            .map(|f: f64| format!("{f} {db} 0\n"))
            .concat()
    };
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        Ok(match path.to_str() {
            Some("z") => rows(8.0),
            Some("flat") => rows(90.0),
            Some("less6") => rows(84.0),
            Some("less12") => rows(78.0),
            _ => text.clone(),
        }
        .into_bytes())
    };
    let measured = load_from(&files, Path::new("d.toml")).unwrap().project;
    for driver in project.drivers.values_mut() {
        driver.source = measured.drivers["d"].source.clone();
    }
    let grid = Grid::new(vec![100.0, 1000.0]).unwrap();
    let sources = Sources::new(&project, grid).unwrap().unwrap();
    let level =
        |plane, angle| 10.0 * (sources.power((plane, angle))[1] / sources.power(AXIS)[1]).log10();
    for (plane, angle, db) in [
        (Plane::Horizontal, 10, -3.0),
        (Plane::Horizontal, 20, -6.0),
        (Plane::Horizontal, 30, -9.0),
        (Plane::Horizontal, -40, -12.0),
        (Plane::Horizontal, 90, -12.0),
        (Plane::Vertical, 10, -3.0),
        (Plane::Vertical, -30, -9.0),
    ] {
        assert!(
            (level(plane, angle) - db).abs() < 1e-9,
            "{plane:?} {angle}: {}",
            level(plane, angle)
        );
    }
    assert!(
        sources
            .known()
            .iter()
            .all(|s| s.known_from == KnownFrom::Tables)
    );
    // With a size known, beyond the last table it falls on as the piston does.
    for driver in project.drivers.values_mut() {
        driver.size = Some(netlist::project::Opening::Round {
            diameter: netlist::quantity::Metres(0.1),
        });
    }
    let grid = Grid::new(vec![100.0, 3000.0]).unwrap();
    let sources = Sources::new(&project, grid).unwrap().unwrap();
    let level = |angle| {
        let power = sources.power((Plane::Horizontal, angle))[1];
        10.0 * (power / sources.power(AXIS)[1]).log10()
    };
    assert!(
        (level(40) + 12.0).abs() < 1e-9 && level(70) < -13.0,
        "{}",
        level(70)
    );
}

/// Tables of the far field that begin at 200 Hz, whose ends fall by 12 dB per octave on the axis and by 24 off it, as a gate
/// leaves them: within the tables they hold, and two octaves below and more a woofer of 30 cm sends as much aside as its
/// model has it, in phase.
#[test]
fn below_its_first_row_a_table_gives_way_to_the_model() {
    let mut project = project("", "", "");
    let off = "measured = { impedance = \"z\", response = \"on\", off_axis = [\
        { angle = \"60 deg\", plane = \"horizontal\", response = \"off\" }] }";
    let text = format!("[drivers.d]\n{off}\nsize = \"300 mm\"\n");
    let rows = |level: &dyn Fn(f64) -> f64, delay_s: f64| -> String {
        let f_hz = (0..60).map(|i| 200.0 * 1.08f64.powi(i));
        let phase = |f: f64| -360.0 * f * delay_s;
        f_hz.map(|f| format!("{f:.3} {:.4} {:.4}\n", level(f), phase(f)))
            .collect()
    };
    let fall = |f: f64, db: f64| db * (f / 400.0).min(1.0).log2();
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        Ok(match path.to_str() {
            Some("z") => rows(&|_| 8.0, 0.0),
            Some("on") => rows(&|f| 90.0 + fall(f, 12.0), 1e-3),
            Some("off") => rows(&|f| 87.0 + fall(f, 24.0), 1.2e-3),
            _ => text.clone(),
        }
        .into_bytes())
    };
    let measured = load_from(&files, Path::new("d.toml")).unwrap().project;
    for driver in project.drivers.values_mut() {
        *driver = measured.drivers["d"].clone();
    }
    let f_hz = vec![25.0, 50.0, 199.9, 200.1, 400.0, 1000.0];
    let driver = &project.drivers["low"];
    let found = crate::sound::Directivity::of(driver, &Grid::new(f_hz.clone()).unwrap());
    let (sin, cos) = 60f64.to_radians().sin_cos();
    let sent = found.towards([sin, 0.0, cos]);
    let db = |i: usize| 20.0 * sent.at(i).norm().log10();
    // The table: 3 dB less above 400 Hz, and 12 dB per octave more below.
    for (i, expected) in [(5, -3.0), (4, -3.0), (3, -15.0)] {
        assert!((db(i) - expected).abs() < 0.1, "{}: {}", f_hz[i], db(i));
    }
    assert!((db(2) - db(3)).abs() < 0.1, "{} {}", db(2), db(3));
    // 15 dB over 8² are 0.23 dB, over 4² 0.94 dB.
    assert!(
        db(0).abs() < 0.3 && db(1).abs() < 1.1,
        "{} {}",
        db(0),
        db(1)
    );
    for (i, f) in f_hz.iter().enumerate() {
        let expected = -std::f64::consts::TAU * f * 0.2e-3;
        assert!(
            (sent.at(i).arg() - expected).abs() < 0.01,
            "{f}: {}",
            sent.at(i).arg()
        );
    }
}

/// Index of sound power against the axis of a cap that moves on the rigid sphere, half angle 25.85 degrees, radius 378 mm, at Hz:
/// dB, by its series (Morse and Ingard, Theoretical Acoustics; worked out apart).
const CAP_INDEX_DB: [(f64, f64); 7] = [
    (20.0, 0.04),
    (40.0, 0.18),
    (80.0, 0.98),
    (160.0, 2.73),
    (320.0, 3.80),
    (640.0, 6.16),
    (1280.0, 11.74),
];

/// A woofer of 15 inches in a cabinet: alike all around at low frequencies, 3 dB where the front has its shade and the
/// diaphragm is small, and rising with that, as a cap does on the sphere whose shadow is as large as the front.
#[test]
fn directivity_index_of_a_woofer_in_a_cabinet() {
    let low = "size = \"330 mm\"\nposition = { up = \"0.45 m\" }";
    let cabinet = "cabinet = { width = \"0.5 m\", height = \"0.9 m\", depth = \"0.4 m\" }";
    let found = directions(&project(low, low, cabinet));
    for (f_hz, known_db) in CAP_INDEX_DB {
        let i = (found.frequency_hz.iter())
            .position(|f| *f >= 0.999 * f_hz)
            .unwrap();
        let index_db = found.on_axis_db[i] - found.sound_power_db[i];
        assert!(
            (index_db - known_db).abs() < 1.0,
            "{f_hz}: {index_db} {known_db}"
        );
    }
}

/// With a listener the windows are about the line to him: seen from 20 degrees above, the lobe of two drivers that
/// are in step there is straight on.
#[test]
fn angles_count_from_the_listener() {
    let far = "listener = { distance = \"93.969 m\", up = \"34.202 m\" }";
    let back = "position = { up = \"0.125 m\", back = \"90.99 mm\" }";
    let found = directions(&project(back, BELOW, far));
    assert!(found.lobes[0].tilt_deg.abs() < 1e-9);
    let straight = directions(&project(back, BELOW, ""));
    assert!((straight.lobes[0].tilt_deg - 20.0).abs() <= 1.0);
}

//! Measured drivers: what the tables say, between and beyond their rows, and the demo's tables.
//!
//! Where the figures are from: the relation of phase to magnitude is that of H. W. Bode, *Network
//! Analysis and Feedback Amplifier Design* (1945), read in a public text; the check pair is a Butterworth
//! high pass of second order, whose phase has a closed form; the phases of held ends were computed from
//! that relation apart from this program. Copper gains 0.393 % per kelvin (IEC 60028).

use std::path::Path;

use approx::assert_abs_diff_eq;
use netlist::project::{Driver, MeasuredDriver, Source, load};
use netlist::quantity::{Metres, Volts};
use netlist::table::Table;
use num_complex::Complex64;
use solver::air::REFERENCE_PRESSURE_PA;
use solver::grid::Grid;
use solver::load::{Conditions, Curve, DriverLoad, Note, main_resonance};
use tests::driver::driver_of;

const RESPONSE_PHASE: Note = Note::PhaseReconstructed {
    curve: Curve::Response,
};

pub(crate) fn driver_load(driver: &Driver, grid: &Grid, coil_rise_k: f64) -> DriverLoad {
    let conditions = Conditions {
        coil_rise_k,
        ..Conditions::default()
    };
    solver::load::driver_load(driver, grid, &conditions)
}

fn table(f_hz: &[f64], magnitude: Vec<f64>, phase_deg: Option<Vec<f64>>) -> Table {
    Table {
        file: "table.txt".to_owned(),
        f_hz: f_hz.to_vec(),
        magnitude,
        phase_deg,
        zero_hz_left_out: false,
    }
}

fn driver(impedance: Table, response: Table, drive_v: f64, distance_m: f64) -> Driver {
    driver_of(Source::Measured(Box::new(MeasuredDriver {
        impedance,
        response,
        drive: Volts(drive_v),
        distance: Metres(distance_m),
        near: None,
        sd: None,
        reliable_from: None,
        trust: false,
        off_axis: Vec::new(),
    })))
}

pub(crate) fn spaced(from: f64, to: f64, points: usize) -> Vec<f64> {
    Grid::log_spaced(from, to, points).unwrap().f_hz().to_vec()
}

/// Eight ohm at all frequencies.
fn eight_ohm(f_hz: &[f64]) -> Table {
    table(f_hz, vec![8.0; f_hz.len()], Some(vec![0.0; f_hz.len()]))
}

/// Phases in degrees that are reconstructed for a response of the given levels.
pub(crate) fn reconstructed_deg(f_hz: &[f64], level_db: Vec<f64>, at_hz: &[f64]) -> Vec<f64> {
    let driver = driver(eight_ohm(f_hz), table(f_hz, level_db, None), 1.0, 1.0);
    let load = driver_load(&driver, &Grid::new(at_hz.to_vec()).unwrap(), 0.0);
    assert!(load.notes.contains(&RESPONSE_PHASE));
    let phases = load.pressure_pa_per_v.iter();
    phases.map(|p| p.arg().to_degrees()).collect()
}

fn high_pass(f_hz: f64, fc: f64) -> Complex64 {
    let x = Complex64::new(0.0, f_hz / fc);
    x * x / (x * x + x * 2f64.sqrt() + 1.0)
}

pub(crate) fn level_db(value: Complex64) -> f64 {
    20.0 * value.norm().log10()
}

#[test]
fn a_table_of_the_audio_band_is_continued_by_its_slopes() {
    // The same with fc = 100 Hz, known from 20 Hz to 20 kHz: f, exact phase, and the phase with ends
    // held flat, which misses by tens of degrees.
    let rows = [
        [30.0, 155.0039, 103.4806],
        [50.0, 136.6861, 106.9640],
        [100.0, 90.0000, 75.3487],
        [200.0, 43.3139, 36.0129],
        [1000.0, 8.1297, 6.6711],
        [5000.0, 1.6208, 1.3291],
    ];
    let f_hz = spaced(20.0, 20_000.0, 481);
    let levels: Vec<f64> = f_hz
        .iter()
        .map(|f| level_db(high_pass(*f, 100.0)))
        .collect();
    let at = rows.map(|[f, ..]| f);
    for (found, [f, exact, flat]) in reconstructed_deg(&f_hz, levels, &at).iter().zip(rows) {
        assert!((found - exact).abs() < 0.5, "{f}: {found} for {exact}");
        assert!(
            (found - exact).abs() < 0.1 * (flat - exact).abs() + 0.02,
            "{f}"
        );
    }
}

#[test]
fn drive_and_distance_are_taken_out_and_the_rows_come_back_exactly() {
    let f_hz = spaced(20.0, 20_000.0, 97);
    let wave = |i: usize, scale: f64| scale * (0.37 * i as f64).sin();
    let count = f_hz.len();
    let z: Vec<f64> = (0..count).map(|i| 9.0 + wave(i, 3.0)).collect();
    let z_deg: Vec<f64> = (0..count).map(|i| wave(i + 2, 50.0)).collect();
    let p: Vec<f64> = (0..count).map(|i| 95.0 + wave(i + 1, 6.0)).collect();
    // Some whole turns, as written by programs that wrap and by those that do not.
    let p_deg: Vec<f64> = (0..count).map(|i| 170.0 - 23.0 * i as f64).collect();
    let driver = driver(
        table(&f_hz, z.clone(), Some(z_deg.clone())),
        table(&f_hz, p.clone(), Some(p_deg.clone())),
        4.0,
        0.5,
    );
    let load = driver_load(&driver, &Grid::new(f_hz.clone()).unwrap(), 0.0);
    assert_eq!(load.notes, []);
    for i in 0..count {
        let expected = Complex64::from_polar(z[i], z_deg[i].to_radians());
        assert!((load.z_ohm.at(i) - expected).norm() < 1e-12 * z[i]);
        // At 1 m half the pressure of 0.5 m, from a quarter of the voltage.
        let pascal = 20e-6 * 10f64.powf(p[i] / 20.0) * 0.5 / 4.0;
        let expected = Complex64::from_polar(pascal, p_deg[i].to_radians());
        assert!((load.pressure_pa_per_v.at(i) - expected).norm() < 1e-12 * pascal);
    }
}

#[test]
fn between_the_rows_magnitude_and_phase_are_straight_over_log_frequency() {
    let f_hz = spaced(100.0, 12_800.0, 8);
    let z = vec![4.0, 16.0, 4.0, 8.0, 8.0, 6.0, 7.0, 8.0];
    let z_deg = vec![0.0, 40.0, -40.0, 0.0, 10.0, 0.0, 0.0, 0.0];
    // Written across the turn: from 170° on to 190°, which is -170°.
    let p_deg = vec![150.0, 170.0, -170.0, -150.0, -130.0, -110.0, -90.0, -70.0];
    let response = table(&f_hz, vec![90.0; 8], Some(p_deg));
    let driver = driver(table(&f_hz, z, Some(z_deg)), response, 1.0, 1.0);
    let middle = |i: usize| (f_hz[i] * f_hz[i + 1]).sqrt();
    let grid = Grid::new(vec![middle(0), middle(1)]).unwrap();
    let load = driver_load(&driver, &grid, 0.0);
    let expected = Complex64::from_polar(8.0, 20f64.to_radians());
    assert!((load.z_ohm.at(0) - expected).norm() < 1e-12);
    // Half way from 170° to −170° lies 180°, not 0°.
    assert!(load.pressure_pa_per_v.at(1).re < 0.0);
    assert!(load.pressure_pa_per_v.at(1).im.abs() < 1e-12);
}

#[test]
fn what_lies_outside_the_table_is_noted_with_its_ends() {
    let f_hz = spaced(50.0, 5000.0, 50);
    let response = table(&f_hz, vec![90.0; 50], None);
    let driver = driver(eight_ohm(&spaced(30.0, 9000.0, 40)), response, 1.0, 1.0);
    let load = driver_load(&driver, &Grid::log_spaced(20.0, 20_000.0, 30).unwrap(), 0.0);
    let near = |value: f64, expected: f64| (value - expected).abs() < 1e-9 * expected;
    assert!(load.notes.contains(&RESPONSE_PHASE));
    for (which, from, to) in [
        (Curve::Impedance, 30.0, 9000.0),
        (Curve::Response, 50.0, 5000.0),
    ] {
        let told = |note: &Note| match note {
            Note::OutsideTable {
                curve,
                table_from_hz,
                table_to_hz,
                asked_from_hz,
                asked_to_hz,
                slope_below_db_per_octave,
                slope_above_db_per_octave,
            } if *curve == which => {
                near(*table_from_hz, from)
                    && near(*table_to_hz, to)
                    && near(*asked_from_hz, 20.0)
                    && near(*asked_to_hz, 20_000.0)
                    && slope_below_db_per_octave.abs() < 1e-9
                    && slope_above_db_per_octave.abs() < 1e-9
            }
            _ => false,
        };
        assert_eq!(load.notes.iter().filter(|note| told(note)).count(), 1);
    }
    assert_eq!(load.notes.len(), 3);
    // Inside both tables nothing but the missing phase is told.
    let load = driver_load(&driver, &Grid::log_spaced(60.0, 4000.0, 30).unwrap(), 0.0);
    assert_eq!(load.notes, [RESPONSE_PHASE]);
}

#[test]
fn an_active_impedance_is_limited_and_told() {
    let f_hz = spaced(50.0, 5000.0, 21);
    let mut phase = vec![390.0; 21];
    // A turn more is the same impedance.
    phase[8] = 470.0;
    let impedance = table(&f_hz, vec![8.0; 21], Some(phase));
    let response = table(&f_hz, vec![90.0; 21], Some(vec![0.0; 21]));
    let driver = driver(impedance, response, 1.0, 1.0);
    let load = driver_load(&driver, &Grid::new(f_hz.clone()).unwrap(), 0.0);
    assert!(load.z_ohm.re.iter().all(|re| *re > 0.0));
    // The real part is kept at 1 % of the magnitude or more.
    assert_abs_diff_eq!(load.z_ohm.at(8).norm(), 8.0, epsilon = 1e-12);
    assert_abs_diff_eq!(load.z_ohm.re[8], 0.08, epsilon = 1e-12);
    let [
        Note::PhaseLimited {
            from_hz,
            to_hz,
            worst_deg,
        },
    ] = load.notes[..]
    else {
        panic!("{:?}", load.notes);
    };
    assert_abs_diff_eq!(from_hz, f_hz[8], epsilon = 1e-9);
    assert_abs_diff_eq!(to_hz, f_hz[8], epsilon = 1e-9);
    assert_abs_diff_eq!(worst_deg, 110.0, epsilon = 1e-9);
}

#[test]
fn a_warm_measured_coil_gains_resistance_from_its_least_real_part() {
    let f_hz = spaced(50.0, 5000.0, 21);
    let mut z = vec![8.0; 21];
    z[5] = 5.0;
    let response = table(&f_hz, vec![90.0; 21], Some(vec![0.0; 21]));
    let driver = driver(table(&f_hz, z, Some(vec![0.0; 21])), response, 1.0, 1.0);
    let grid = Grid::new(f_hz).unwrap();
    let (cold, hot) = (
        driver_load(&driver, &grid, 0.0),
        driver_load(&driver, &grid, 100.0),
    );
    for i in 0..grid.len() {
        assert_abs_diff_eq!(
            hot.z_ohm.re[i],
            cold.z_ohm.re[i] + 5.0 * 0.393,
            epsilon = 1e-12
        );
        let lost = cold.z_ohm.re[i] / hot.z_ohm.re[i];
        let expected = cold.pressure_pa_per_v.re[i] * lost;
        assert_abs_diff_eq!(hot.pressure_pa_per_v.re[i], expected, epsilon = 1e-14);
    }
}

pub(crate) fn demo(file: &str) -> netlist::project::Project {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo");
    match load(&folder.join(file)) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}"),
    }
}

#[test]
fn the_demo_tables_give_passive_drivers_with_their_resonances() {
    let project = demo("brief.toml");
    let grid = Grid::log_spaced(10.0, 40_000.0, 1000).unwrap();
    assert_eq!(project.drivers.len(), 3);
    for (name, driver) in &project.drivers {
        let load = driver_load(driver, &grid, 0.0);
        assert!(load.z_ohm.re.iter().all(|re| *re > 1.0), "{name}");
        let limited = |note: &Note| matches!(note, Note::PhaseLimited { .. });
        assert!(!load.notes.iter().any(limited), "{name}: {:?}", load.notes);
        let levels: Vec<f64> = load.pressure_pa_per_v.iter().map(|p| p.norm()).collect();
        assert!(levels.iter().all(|p| p.is_finite() && *p > 0.0), "{name}");
        let main = main_resonance(&grid, &load).unwrap().0;
        // Horns: the diaphragm's own peak. Woofer: the higher of the two peaks about the tuning, 37.5 Hz.
        let (from, to) = match name.as_str() {
            "low" => (15.0, 90.0),
            "mid" => (360.0, 410.0),
            _ => (1800.0, 2100.0),
        };
        assert!(from < main && main < to, "{name}: {main} Hz");
    }
}

/// A driver's curves as tables at the given frequencies, at 2.83 V and 1 m.
pub(crate) fn exported(source: &Driver, f_hz: &[f64], with_phase: bool) -> Driver {
    let load = driver_load(source, &Grid::new(f_hz.to_vec()).unwrap(), 0.0);
    let phase = |spectrum: &solver::spectrum::Spectrum| {
        with_phase.then(|| spectrum.iter().map(|v| v.arg().to_degrees()).collect())
    };
    let z = load.z_ohm.iter().map(|z| z.norm()).collect();
    let levels = load.pressure_pa_per_v.iter();
    let levels = levels
        .map(|p| level_db(p * 2.83 / REFERENCE_PRESSURE_PA))
        .collect();
    driver(
        table(f_hz, z, phase(&load.z_ohm)),
        table(f_hz, levels, phase(&load.pressure_pa_per_v)),
        2.83,
        1.0,
    )
}

/// Largest distance of two loads, impedance then pressure, each as a share of the first's magnitude.
fn distance(a: &DriverLoad, b: &DriverLoad) -> [f64; 2] {
    let share = |a: &solver::spectrum::Spectrum, b: &solver::spectrum::Spectrum| {
        a.iter()
            .zip(b.iter())
            .map(|(a, b)| (a - b).norm() / a.norm())
            .fold(0.0, f64::max)
    };
    [
        share(&a.z_ohm, &b.z_ohm),
        share(&a.pressure_pa_per_v, &b.pressure_pa_per_v),
    ]
}

#[test]
fn a_model_written_as_a_table_and_read_back_is_the_model() {
    let project = demo("data-sheet.toml");
    // From 5 Hz to 80 kHz, 48 rows an octave.
    let f_hz = spaced(5.0, 80_000.0, 671);
    // Between rows a straight line errs by step²/8 times the curvature, about (2Q)² at the sharpest peak:
    // the woofer's, whose Q = 5.5·√(1 + 235/130) is that of its mechanics in the box.
    let step = 16_000f64.ln() / 670.0;
    let between_rows = step * step / 8.0 * (2.0 * 5.5 * (1.0 + 235.0 / 130.0_f64).sqrt()).powi(2);
    let inside = Grid::log_spaced(20.0, 20_000.0, 500).unwrap();
    let outside = Grid::new(vec![3.0, 4.0, 100_000.0, 120_000.0]).unwrap();
    for (name, model) in &project.drivers {
        let direct = driver_load(model, &inside, 0.0);
        let with_phase = driver_load(&exported(model, &f_hz, true), &inside, 0.0);
        let [z, p] = distance(&direct, &with_phase);
        assert!(z < between_rows && p < between_rows, "{name}: {z} {p}");
        // Minimum phase all of them, so that the phase follows from the magnitude but for the held ends: a
        // slope that is off by n from two octaves away on adds up to n · 9.1837° (χ₂(1/4)·2/π). At 80 kHz an
        // impedance still bends from its resistance to its coil: n up to a half. A response has settled.
        let tail = 9.18370432_f64.to_radians();
        let without = driver_load(&exported(model, &f_hz, false), &inside, 0.0);
        let [z, p] = distance(&direct, &without);
        assert!(z < between_rows + 0.5 * tail, "{name}: {z}");
        assert!(p < between_rows + 0.1 * tail, "{name}: {p}");
        // Outside the table the held slopes are near the model, the phase too.
        let direct = driver_load(model, &outside, 0.0);
        let with_phase = driver_load(&exported(model, &f_hz, true), &outside, 0.0);
        let [z, p] = distance(&direct, &with_phase);
        assert!(z < 0.2 && p < 0.2, "{name} outside: {z} {p}");
    }
}

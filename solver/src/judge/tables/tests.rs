//! Each table that lies is told, and honest ones are not.

use netlist::project::{OffAxis, Plane};
use netlist::quantity::{Degrees, Volts};
use num_complex::Complex64;
use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::super::Severity::{Caution, Danger, Note};
use super::super::fixture::{Brief, find, has, table};
use super::*;

fn horn_z(f: f64) -> Complex64 {
    let peak = |r: f64, f0: f64, q: f64| r / Complex64::new(1.0, q * (f / f0 - f0 / f));
    6.2 + Complex64::new(0.0, f * 3e-4) + peak(18.0, 390.0, 2.5) + peak(7.0, 700.0, 4.0)
}

/// A horn of 107 dB with its limit at 350 Hz and a mass roll-off at 9 kHz.
fn horn_p(f: f64) -> Complex64 {
    let x = Complex64::new(0.0, f / 350.0);
    let high = x * x / (x * x + x * 1.4 + 1.0);
    high / Complex64::new(1.0, f / 9000.0) * 10f64.powf(107.0 / 20.0)
}

fn db(p: Complex64) -> f64 {
    20.0 * p.norm().log10()
}

fn deg(z: Complex64) -> f64 {
    z.arg().to_degrees()
}

/// The horn's phase without a jump, rad.
fn continuous(f: f64) -> f64 {
    let x = f / 350.0;
    let high = std::f64::consts::PI - (x * 1.4).atan2(1.0 - x * x);
    high - (f / 9000.0).atan()
}

/// With a flight time of 0.1 ms, so that the phase is no minimum phase.
fn late(f: f64) -> f64 {
    let phase = deg(horn_p(f)) - 360.0 * f * 1e-4;
    (phase + 180.0).rem_euclid(360.0) - 180.0
}

fn z_row(f: f64) -> String {
    format!("{:.4} {:.3}", horn_z(f).norm(), deg(horn_z(f)))
}

fn p_row(f: f64) -> String {
    format!("{:.3} {:.3}", db(horn_p(f)), late(f))
}

fn found(z: impl Fn(f64) -> String, p: impl Fn(f64) -> String) -> Vec<Finding> {
    let (z, p) = (rows(z), rows(p));
    Brief::default().measured("high", z, p).findings()
}

/// 120 rows from 60 Hz to 30 kHz.
fn rows(row: impl Fn(f64) -> String) -> String {
    (0..120)
        .map(|i| 60.0 * 500f64.powf(f64::from(i) / 119.0))
        .map(|f| format!("{f:.3} {}\n", row(f)))
        .collect()
}

const CODES: [&str; 10] = [
    "phase-in-radian",
    "tables-exchanged",
    "levels-not-spl",
    "impedance-in-db",
    "phase-is-minimum",
    "noise-floor",
    "depth-counted-twice",
    "off-axis-not-spl",
    "louder-off-axis",
    "off-axis-time-differs",
];

#[test]
fn an_honest_horn_is_believed() {
    let honest = found(z_row, p_row);
    for code in CODES {
        assert!(!has(&honest, code), "{code}: {honest:#?}");
    }
}

#[test]
fn each_lie_is_recognised_and_only_it() {
    let radian = |f: f64| format!("{:.4} {:.5}", horn_z(f).norm(), horn_z(f).arg());
    // Unwrapped, with the flight time of 35 cm, and of 3.4 m.
    let unwrapped = |delay_s: f64| {
        move |f: f64| {
            let turn = std::f64::consts::TAU * f * delay_s;
            // The horn's own phase falls from half a turn to none and below, and nowhere jumps.
            format!("{:.3} {:.5}", db(horn_p(f)), continuous(f) - turn)
        }
    };
    let bare = |f: f64| format!("{:.4}", db(horn_z(f)));
    let late_radian = |f: f64| format!("{:.3} {:.5}", db(horn_p(f)), late(f).to_radians());
    let relative = |f: f64| format!("{:.3} {:.3}", db(horn_p(f)) - 105.0, late(f));
    let logarithmic = |f: f64| format!("{:.4} {:.3}", db(horn_z(f)), deg(horn_z(f)));
    let minimum = |f: f64| format!("{:.3} {:.3}", db(horn_p(f)), deg(horn_p(f)));
    let noisy = |f: f64| {
        // A steep horn, whose sound is under the noise below 150 Hz.
        let steep = db(horn_p(f)) + 60.0 * (f / 350.0).min(1.0).log10();
        let floor = 70.0 + 0.4 * (31.0 * f.ln()).sin();
        format!("{:.3} {:.3}", steep.max(floor), late(f))
    };
    for (code, found, severity) in [
        ("phase-in-radian", found(radian, p_row), Danger),
        ("phase-in-radian", found(z_row, late_radian), Danger),
        ("phase-in-radian", found(z_row, unwrapped(1e-3)), Danger),
        ("phase-in-radian", found(z_row, unwrapped(1e-2)), Danger),
        ("levels-not-spl", found(z_row, relative), Danger),
        ("impedance-in-db", found(bare, p_row), Caution),
        ("impedance-in-db", found(logarithmic, p_row), Danger),
        ("tables-exchanged", found(p_row, z_row), Danger),
        ("phase-is-minimum", found(z_row, minimum), Note),
        ("noise-floor", found(z_row, noisy), Note),
    ] {
        let finding = find(&found, code);
        assert_eq!(finding.severity, severity, "{finding:?}");
        for other in CODES.iter().filter(|other| **other != code) {
            assert!(!has(&found, other), "{code} and {other}: {found:#?}");
        }
        if severity == Danger {
            assert!(finding.message.contains("trust = true"), "{finding:?}");
        }
    }
}

/// The horn 30 degrees off its axis: as on it, less for the shorter waves.
fn beside(f: f64) -> Complex64 {
    horn_p(f) / Complex64::new(1.0, f / 5000.0)
}

/// The honest horn with a table off its axis.
fn found_beside(row: impl Fn(f64) -> String) -> Vec<Finding> {
    let text = r#"{ impedance = "high-z.txt", response = "high-r.txt", off_axis = [
        { angle = "30 deg", plane = "horizontal", response = "low-r.txt" }] }"#
        .replace('\n', " ");
    // The table stands in the files as the woofer's, which is modelled.
    let brief = Brief::default()
        .measured("low", rows(z_row), rows(row))
        .with("low_key", "modelled")
        .with("low", r#"{ re = "6.5 ohm", fs = "30 Hz", qms = 6, qes = 0.4, vas = "200 L", sd = "850 cm2" }"#);
    (brief.measured("high", rows(z_row), rows(p_row)))
        .with("high", &text)
        .findings()
}

#[test]
fn each_lie_off_the_axis_is_recognised_and_only_it() {
    let phase = |f: f64, delay_s: f64| {
        let deg = deg(beside(f)) - 360.0 * f * (1e-4 + delay_s);
        (deg + 180.0).rem_euclid(360.0) - 180.0
    };
    let row = |f: f64, more_db: f64, delay_s: f64| {
        format!("{:.3} {:.3}", db(beside(f)) + more_db, phase(f, delay_s))
    };
    let honest = found_beside(|f| row(f, 0.0, 1e-4));
    for code in CODES {
        assert!(!has(&honest, code), "{code}: {honest:#?}");
    }
    let radian = |f: f64| format!("{:.3} {:.5}", db(beside(f)), phase(f, 0.0).to_radians());
    let noisy = |f: f64| {
        let steep = db(beside(f)) + 60.0 * (f / 350.0).min(1.0).log10();
        let floor = 70.0 + 0.4 * (31.0 * f.ln()).sin();
        format!("{:.3} {:.3}", steep.max(floor), phase(f, 0.0))
    };
    for (code, found, severity) in [
        ("phase-in-radian", found_beside(radian), Danger),
        (
            "off-axis-not-spl",
            found_beside(|f| row(f, -107.0, 0.0)),
            Danger,
        ),
        (
            "louder-off-axis",
            found_beside(|f| row(f, 7.0, 0.0)),
            Caution,
        ),
        (
            "off-axis-time-differs",
            found_beside(|f| row(f, 0.0, 3e-3)),
            Caution,
        ),
        ("noise-floor", found_beside(noisy), Note),
    ] {
        let finding = find(&found, code);
        assert_eq!(finding.severity, severity, "{finding:?}");
        assert!(finding.message.contains("30° to the right"), "{finding:?}");
        for other in CODES.iter().filter(|other| **other != code) {
            assert!(!has(&found, other), "{code} and {other}: {found:#?}");
        }
    }
}

#[test]
fn what_the_builder_vouches_for_is_not_looked_at() {
    let relative = |f: f64| format!("{:.3}", db(horn_p(f)) - 105.0);
    let mut brief = Brief::default().measured("high", rows(z_row), rows(relative));
    assert!(has(&brief.findings(), "levels-not-spl"));
    let text = r#"{ impedance = "high-z.txt", response = "high-r.txt", trust = true }"#;
    brief = brief.with("high", text);
    assert!(!has(&brief.findings(), "levels-not-spl"));
}

#[test]
fn data_below_the_limit_of_their_gate() {
    let text = |from: &str| {
        format!(
            r#"{{ impedance = "high-z.txt", response = "high-r.txt", reliable_from = "{from}" }}"#
        )
    };
    let brief = Brief::default().measured("high", rows(z_row), rows(p_row));
    let code = "data-below-gate";
    let found = brief.with("high", &text("700 Hz")).findings();
    let finding = find(&found, code);
    assert_eq!(finding.severity, Caution);
    assert!(finding.message.contains("from 700 Hz on"), "{finding:?}");
    // The crossover is at 800 Hz: half an octave below are 566 Hz.
    assert!(!has(&brief.with("high", &text("500 Hz")).findings(), code));
    assert!(!has(&brief.findings(), code));
}

/// The woofer's phases without flight time, the horn's with that of 20 cm, and 20 cm of `back` as well.
#[test]
fn depth_that_is_counted_twice() {
    let delay_s = 0.2 / SPEED_OF_SOUND_M_PER_S;
    let low = |f: f64| format!("95 {:.3}", -360.0 * f * 1e-3);
    let high = |f: f64| {
        let phase = deg(horn_p(f)) - 360.0 * f * (1e-3 + delay_s);
        format!("{:.3} {phase:.3}", db(horn_p(f)))
    };
    let z = || table(15.0, 25_000.0, |_| "7 0".into());
    let brief =
        Brief::default()
            .measured("low", z(), rows(low))
            .measured("high", rows(z_row), rows(high));
    let code = "depth-counted-twice";
    let found = brief.with("back_high", "200 mm").findings();
    let finding = find(&found, code);
    assert_eq!(finding.severity, Caution);
    assert!(
        finding.message.contains("200 mm") || finding.message.contains("0.2 m"),
        "{finding:?}"
    );
    assert!(!has(&brief.findings(), code));
    assert!(!has(&brief.with("back_high", "80 mm").findings(), code));
}

#[test]
fn a_row_of_0_hz_is_told() {
    let zero = format!("0 -20 0\n{}", rows(p_row));
    let found = Brief::default()
        .measured("high", rows(z_row), zero)
        .findings();
    assert_eq!(find(&found, "row-of-0-hz-left-out").severity, Note);
}

/// Drivers of 4 to 16 ohm in dB above 1 ohm without a phase: those of 8 and 16, and flat ones of 6, can be no others.
#[test]
fn impedances_in_db_of_other_nominal_values() {
    for (times, flat, told) in [
        (1.0, 1.0, true),
        (2.0, 1.0, true),
        (0.7, 0.2, true),
        // In dB as an honest one of 12 or 16 ohm.
        (0.7, 1.0, false),
        (0.5, 1.0, false),
    ] {
        let least = (0..120)
            .map(|i| 60.0 * 500f64.powf(f64::from(i) / 119.0))
            .map(|f| horn_z(f).norm())
            .fold(f64::INFINITY, f64::min);
        let ohm = |f: f64| times * least * (horn_z(f).norm() / least).powf(flat);
        let in_db = found(|f| format!("{:.4}", 20.0 * ohm(f).log10()), p_row);
        assert_eq!(has(&in_db, "impedance-in-db"), told, "{times} {flat}");
        let honest = found(|f| format!("{:.4}", ohm(f)), p_row);
        assert!(!has(&honest, "impedance-in-db"), "{times} {flat}");
    }
}

/// 200 drivers drawn at random, measured with noise, ripple and flight time, at other drives and distances: none
/// is taken for a lie.
#[test]
fn no_honest_table_is_taken_for_a_lie() {
    honest_tables_are_believed(None, 200);
}

/// The same of 100 drivers of 4 ohm and 100 of 16 ohm, whose resistance is 0.68 to 0.8 of that.
#[test]
fn nor_is_one_of_4_or_16_ohm() {
    honest_tables_are_believed(Some(4.0), 100);
    honest_tables_are_believed(Some(16.0), 100);
}

fn honest_tables_are_believed(nominal_ohm: Option<f64>, drivers: usize) {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let mut between = |from: f64, to: f64| {
        let unit = (rng.next_u64() >> 11) as f64 * 0.5f64.powi(53);
        from * (to / from).powf(unit)
    };
    for number in 0..drivers {
        let horn = number % 2 == 0;
        let f0 = if horn {
            between(250.0, 2500.0)
        } else {
            between(20.0, 90.0)
        };
        let (re, height, q) = (between(3.0, 14.0), between(0.6, 9.0), between(0.7, 6.0));
        let (coil_h, level_db) = (between(2e-5, 1.5e-3), between(84.0, 112.0));
        // The coil at 10 kHz has 0.07 to 2 times the resistance of its wire.
        let (re, coil_h) = match nominal_ohm {
            None => (re, coil_h),
            Some(nominal) => {
                let re = nominal * (0.68 + 0.12 * (re - 3.0) / 11.0);
                let at_10_khz = 3.0 * (std::f64::consts::TAU * 1e4).powf(0.8);
                (re, re * (0.07 + 1.93 * coil_h / 1.5e-3) / at_10_khz)
            }
        };
        let (top_hz, cut_q) = (between(2e3, 18e3), between(0.5, 1.2));
        let second = (
            f0 * between(1.5, 2.5),
            height * between(0.1, 0.6),
            between(1.0, 5.0),
        );
        let z = |f: f64| {
            let peak =
                |f0: f64, h: f64, q: f64| h * re / Complex64::new(1.0, q * (f / f0 - f0 / f));
            re + Complex64::from_polar(coil_h * (std::f64::consts::TAU * f).powf(0.8), 1.2566) * 3.0
                + peak(f0, height, q)
                + peak(second.0, second.1, second.2)
        };
        let p = |f: f64| {
            let x = Complex64::new(0.0, f / f0);
            x * x / (x * x + x / cut_q + 1.0) / Complex64::new(1.0, f / top_hz)
        };
        let from_hz = if horn {
            f0 / between(2.0, 6.0)
        } else {
            between(8.0, 25.0)
        };
        let (delay_s, ripple) = (between(3e-5, 4e-3), between(0.05, 1.0));
        let (drive, distance) = (between(0.1, 5.0), between(0.3, 3.0));
        let gain_db = 20.0 * (drive / REFERENCE_V / distance).log10();
        let with_phase = number % 4 < 2;
        let rows = between(60.0, 400.0) as usize;
        let f_hz: Vec<f64> = (0..rows)
            .map(|i| from_hz * (22e3 / from_hz).powf(i as f64 / (rows - 1) as f64))
            .collect();
        let noise: Vec<f64> = f_hz.iter().map(|_| between(0.1, 10.0).log10()).collect();
        let measured = |magnitude: Vec<f64>, phase: Vec<f64>| Table {
            file: "t".to_owned(),
            f_hz: f_hz.clone(),
            magnitude,
            phase_deg: with_phase.then_some(phase),
            zero_hz_left_out: false,
        };
        let over = |row: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
            f_hz.iter().zip(&noise).map(|(f, n)| row(*f, *n)).collect()
        };
        // A piston off its axis, a little nearer or farther, measured with noise of its own.
        let (corner_hz, apart_s) = (
            between(1.5e3, 9e3),
            between(1e-4, 1e-3) * if number % 3 == 0 { -1.0 } else { 1.0 },
        );
        let off_axis = [15.0, 40.0].map(|angle: f64| {
            let aside =
                |f: f64| p(f) / Complex64::new(1.0, f * angle.to_radians().sin() / corner_hz);
            let response = measured(
                over(&|f, n| {
                    level_db + gain_db + db(aside(f)) + ripple * (7.0 * f.ln()).cos() - 0.3 * n
                }),
                over(&|f, n| {
                    let deg = deg(aside(f)) - 360.0 * f * (delay_s + apart_s) - 2.0 * n;
                    (deg + 180.0).rem_euclid(360.0) - 180.0
                }),
            );
            OffAxis {
                angle: Degrees(angle),
                plane: Plane::Vertical,
                response,
            }
        });
        let off_axis = off_axis.to_vec();
        let driver = MeasuredDriver {
            impedance: measured(
                over(&|f, n| z(f).norm() * (1.0 + 0.01 * n)),
                over(&|f, n| deg(z(f)) + n),
            ),
            response: measured(
                over(&|f, n| {
                    level_db + gain_db + db(p(f)) + ripple * (9.0 * f.ln()).sin() + 0.3 * n
                }),
                over(&|f, n| {
                    (deg(p(f)) - 360.0 * f * delay_s + 2.0 * n + 180.0).rem_euclid(360.0) - 180.0
                }),
            ),
            drive: Volts(drive),
            distance: Metres(distance),
            near: None,
            sd: None,
            reliable_from: None,
            trust: false,
            off_axis,
        };
        let band = if horn {
            (2.0 * f0, 6.0 * f0)
        } else {
            (60.0, 600.0)
        };
        let found: Vec<Finding> = [
            exchanged("x", &driver, &driver.response, band),
            phase::radian("x", Curve::Impedance, &driver.impedance),
            phase::radian("x", Curve::Response, &driver.response),
            levels("x", &driver, &driver.response, band),
            logarithmic::finding("x", &driver.impedance),
            phase::constructed("x", &driver.response),
            noise_floor("x", &driver.response, Some(60.0)),
        ]
        .into_iter()
        .flatten()
        .chain(off_axis::findings("x", &driver, band))
        .collect();
        assert!(found.is_empty(), "{number}: {found:#?}");
    }
}

#[test]
fn a_hole_where_the_way_plays_is_told() {
    let without = |from: f64, to: f64| {
        let kept = |line: &&str| {
            let f: f64 = line
                .split_whitespace()
                .next()
                .unwrap()
                .parse()
                .unwrap_or(0.0);
            !(from..to).contains(&f)
        };
        let p = rows(p_row);
        let p: Vec<&str> = p.lines().filter(kept).collect();
        Brief::default()
            .measured("high", rows(z_row), p.join("\n") + "\n")
            .findings()
    };
    let found = without(900.0, 2700.0);
    let finding = find(&found, "table-has-hole");
    assert_eq!(finding.severity, Caution);
    assert!(
        finding
            .message
            .starts_with("the response of high has no row between 8")
    );
    // Half an octave is no hole, and what is far below the band is of no account.
    assert!(!has(&without(900.0, 1300.0), "table-has-hole"));
    assert!(!has(&without(80.0, 250.0), "table-has-hole"));
}

/// Rows that are equally far apart in hertz have wide steps at the low end.
#[test]
fn linear_steps_are_no_hole() {
    let linear = |row: fn(f64) -> String| -> String {
        (1..400)
            .map(|i| (f64::from(i) * 50.0, i))
            .map(|(f, _)| format!("{f} {}\n", row(f)))
            .collect()
    };
    let found = Brief::default()
        .measured("high", linear(z_row), linear(p_row))
        .findings();
    assert!(!has(&found, "table-has-hole"), "{found:#?}");
}

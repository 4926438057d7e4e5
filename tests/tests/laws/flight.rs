//! Flight times and depths of made responses, through noise.

use std::f64::consts::TAU;

use netlist::table::Table;
use num_complex::Complex64;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use solver::air::SPEED_OF_SOUND_M_PER_S;
use solver::search::{Job, alignment_choices};
use solver::sound::flight;
use tests::project::project_from;

/// Second-order high pass, and a low pass of an order, each of Butterworth's Q or near it.
fn driver(f: f64, [low, q, high]: [f64; 3], order: i32, peak: (f64, f64, f64)) -> Complex64 {
    let s = Complex64::new(0.0, f / low);
    let mut p = s * s / (s * s + s / q + 1.0);
    p /= Complex64::new(1.0, f / high).powi(order);
    // A cone's break-up: a peak of minimum phase.
    let (at, gain, q) = peak;
    let s = Complex64::new(0.0, f / at);
    p * (s * s + s * gain / q + 1.0) / (s * s + s / q + 1.0)
}

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (a, b): (f64, f64) = (rng.random_range(1e-12..1.0), rng.random_range(0.0..TAU));
    (-2.0 * a.ln()).sqrt() * b.cos()
}

/// A made response of 0.1 dB noise, and as much in its phase, with its flight time.
fn made(rng: &mut ChaCha8Rng, woofer: bool) -> (Table, f64) {
    let mut between = |a: f64, b: f64| rng.random_range(a..b);
    let (shape, order) = match woofer {
        true => (
            [
                between(25.0, 60.0),
                between(0.4, 1.0),
                between(900.0, 4000.0),
            ],
            2,
        ),
        false => (
            [
                between(300.0, 1500.0),
                between(0.5, 0.9),
                between(7e3, 20e3),
            ],
            1,
        ),
    };
    let peak = (
        shape[2] * between(0.7, 2.0),
        between(1.0, 1.8),
        between(1.0, 4.0),
    );
    let last_hz = between(18e3, 24e3);
    let first_hz = if woofer { 20.0 } else { between(80.0, 200.0) };
    let delay_s = between(-0.2e-3, 3.5e-3);
    let inverted = between(0.0, 1.0) < 0.3;
    let rows = (24.0 * (last_hz / first_hz).log2()) as usize;
    let f_hz: Vec<f64> = (0..rows)
        .map(|i| first_hz * (last_hz / first_hz).powf(i as f64 / (rows - 1) as f64))
        .collect();
    let p = |f: f64| {
        let late = Complex64::from_polar(if inverted { -1.0 } else { 1.0 }, -TAU * f * delay_s);
        driver(f, shape, order, peak) * late
    };
    let noise_deg = (0.1 / 20.0 * 10f64.ln()).to_degrees();
    let magnitude = (f_hz.iter())
        .map(|&f| 90.0 + 20.0 * p(f).norm().log10() + 0.1 * normal(rng))
        .collect();
    let phase = (f_hz.iter())
        .map(|&f| p(f).arg().to_degrees() + noise_deg * normal(rng))
        .collect();
    let table = Table {
        file: "made.txt".to_owned(),
        f_hz,
        magnitude,
        phase_deg: Some(phase),
        zero_hz_left_out: false,
    };
    (table, delay_s)
}

#[test]
fn depth_is_found_within_3_mm_through_noise() {
    let mut worst_mm: f64 = 0.0;
    let (mut sum, mut expected) = (0.0, 0.0);
    for seed in 0..150 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let (low, low_s) = made(&mut rng, true);
        let (high, high_s) = made(&mut rng, false);
        let [a, b] = [&low, &high].map(|table| flight(table).unwrap());
        let mm = 1000.0 * SPEED_OF_SOUND_M_PER_S;
        let off_mm = ((b.delay_s - a.delay_s) - (high_s - low_s)) * mm;
        worst_mm = worst_mm.max(off_mm.abs());
        sum += off_mm * off_mm;
        expected += (a.sigma_s.powi(2) + b.sigma_s.powi(2)) * mm * mm;
    }
    assert!(worst_mm < 3.0, "{worst_mm:.2} mm");
    // What is said of the error is of its size.
    assert!((0.3..3.0).contains(&(expected / sum).sqrt()));
}

/// Slopes that the search may choose are chosen for the depth that measured phases hold as for the same depth that a
/// position states.
#[test]
fn phases_and_positions_have_the_same_slopes_chosen() {
    let z = "10 8 0\n20 8 0\n50 8 0\n100 8 0\n500 8 0\n1000 8 0\n5000 8 0\n40000 8 0\n";
    let table = |late_m: f64| -> String {
        (0..300)
            .map(|i| 20.0 * 1000f64.powf(f64::from(i) / 299.0))
            .map(|f| {
                let deg = -360.0 * f * (0.5e-3 + late_m / SPEED_OF_SOUND_M_PER_S);
                format!("{f:.4} 95 {deg:.4}\n")
            })
            .collect()
    };
    let job = |late_m: f64, back_m: f64| {
        let text = format!(
            "[drivers.low]\nmeasured = {{ impedance = \"z\", response = \"a\" }}\n\
             [drivers.high]\nmeasured = {{ impedance = \"z\", response = \"b\" }}\nposition = {{ back = {back_m} }}\n\
             [[crossovers]]\nbetween = [\"low\", \"high\"]\nfrequency = 1000\nalignment = \"auto\"\n"
        );
        let files = [("z", z), ("a", &table(0.0)), ("b", &table(late_m))];
        Job::new(&project_from(&text, &files)).unwrap()
    };
    for depth_m in [0.08, 0.15] {
        let (held, placed, plane) = (job(depth_m, 0.0), job(0.0, depth_m), job(0.0, 0.0));
        let off_m = (held.later_s(0) - placed.later_s(0)).abs() * SPEED_OF_SOUND_M_PER_S;
        assert!(off_m < 1e-3, "{off_m}");
        let choices = alignment_choices(&held);
        assert_eq!(choices[0], alignment_choices(&placed)[0], "{depth_m}");
        assert_ne!(choices[0], alignment_choices(&plane)[0], "{depth_m}");
    }
}

//! The figures of merit against their definitions, written out here a second time, and against sums done by
//! hand.
//!
//! The definitions are this project's own: rms and largest deviation from an aim that may slope, per octave
//! and about 1 kHz; match over what is above −24 dB under the aim, with a weight that rises evenly from 0
//! there to 1 at −12 dB. A Linkwitz–Riley low pass of order 4 is 1/(1 + (f/f₀)⁴) (S. H. Linkwitz, J. Audio Eng.
//! Soc. 24(1), 1976).

use approx::{assert_abs_diff_eq, assert_relative_eq};
use netlist::project::{Aim, Alignment, AlignmentPair, Crossover, Family};
use netlist::quantity::{Decibels, Hertz};
use num_complex::Complex64;
use solver::goal::{Targets, figures};
use solver::grid::Grid;
use solver::spectrum::Spectrum;

const CROSSOVER_HZ: f64 = 1000.0;

fn aim(tilt_db: f64) -> Aim {
    Aim {
        from: Hertz(62.5),
        to: Hertz(16_000.0),
        tilt: Decibels(tilt_db),
        ..Aim::default()
    }
}

/// Octaves of 1 kHz.
fn octaves() -> Grid {
    Grid::new((-4..=4).map(|octave| 1000.0 * 2f64.powi(octave)).collect()).unwrap()
}

fn targets(tilt_db: f64, grid: &Grid) -> Targets {
    let fourth = Alignment {
        family: Family::LinkwitzRiley,
        order: 4,
    };
    let crossover = Crossover {
        between: ["low".to_owned(), "high".to_owned()],
        frequency: Hertz(CROSSOVER_HZ),
        open: None,
        alignment: None,
    };
    let pair = AlignmentPair {
        lower: fourth,
        upper: fourth,
    };
    Targets::new(&aim(tilt_db), &[crossover], &[pair], grid)
}

/// Sound of so many dB SPL (20 µPa: ISO 1683).
fn sound(levels_db: impl Iterator<Item = f64>) -> Spectrum {
    let pascal: Vec<f64> = levels_db.map(|db| 20e-6 * 10f64.powf(db / 20.0)).collect();
    Spectrum::from_fn(pascal.len(), |i| Complex64::from(pascal[i]))
}

/// The lower way plays the sum, and the upper one nothing that counts.
fn of_sum(levels_db: &[f64], tilt_db: f64, level_db: Option<f64>) -> solver::goal::Figures {
    let grid = octaves();
    let ways = [
        sound(levels_db.iter().copied()),
        sound(levels_db.iter().map(|_| -200.0)),
    ];
    figures(grid.f_hz(), &ways, &targets(tilt_db, &grid), level_db)
}

/// A loudspeaker that gains 1.5 dB an octave is what an aim of +1.5 dB asks for, and off it by twice the slope
/// where the aim falls.
#[test]
fn a_tilt_above_0_rises_with_frequency() {
    let rising: Vec<f64> = (-4..=4)
        .map(|octave| 90.0 + 1.5 * f64::from(octave))
        .collect();
    let as_asked = of_sum(&rising, 1.5, None);
    assert_abs_diff_eq!(as_asked.rms_db, 0.0, epsilon = 1e-9);
    assert_abs_diff_eq!(as_asked.max_db, 0.0, epsilon = 1e-9);
    assert_abs_diff_eq!(as_asked.level_db, 90.0, epsilon = 1e-9);
    let against = of_sum(&rising, -1.5, None);
    // ±3 dB an octave over ±4 octaves; the mean square of −4 to 4 is 60/9.
    assert_abs_diff_eq!(against.max_db, 12.0, epsilon = 1e-9);
    assert_relative_eq!(against.rms_db, 3.0 * (60f64 / 9.0).sqrt(), epsilon = 1e-9);
    // The ways' targets slope as the sum's does.
    let grid = octaves();
    let (level, sloped) = (targets(0.0, &grid), targets(1.5, &grid));
    for (i, octave) in (-4..=4).enumerate() {
        for way in 0..2 {
            let gained = sloped.ways[way].level_db[i] - level.ways[way].level_db[i];
            assert_abs_diff_eq!(gained, 1.5 * f64::from(octave), epsilon = 1e-9);
        }
    }
}

/// Nine levels, worked out by hand: mean 90, squares 16 + 1 + 9 = 26, the largest 4 at 250 Hz.
#[test]
fn flatness_is_rms_and_largest_deviation() {
    let levels = [90.0, 90.0, 94.0, 90.0, 89.0, 90.0, 90.0, 87.0, 90.0];
    let found = of_sum(&levels, 0.0, None);
    assert_abs_diff_eq!(found.level_db, 90.0, epsilon = 1e-9);
    assert_relative_eq!(found.rms_db, (26f64 / 9.0).sqrt(), epsilon = 1e-9);
    assert_abs_diff_eq!(found.max_db, 4.0, epsilon = 1e-9);
    assert_abs_diff_eq!(found.max_at_hz, 250.0, epsilon = 1e-9);
    // Against a level that is asked for: 1 dB more everywhere.
    let asked = of_sum(&levels, 0.0, Some(89.0));
    assert_abs_diff_eq!(asked.level_db, 89.0, epsilon = 1e-12);
    assert_abs_diff_eq!(asked.max_db, 5.0, epsilon = 1e-9);
    assert_relative_eq!(asked.rms_db, (35f64 / 9.0).sqrt(), epsilon = 1e-9);
}

/// A way that is off by another amount at each frequency, so that every weight counts.
#[test]
fn match_is_weighted_as_its_definition_says() {
    let grid = Grid::log_spaced(250.0, 8000.0, 101).unwrap();
    let lr4_db = |f_hz: f64| -20.0 * (1.0 + (f_hz / CROSSOVER_HZ).powi(4)).log10();
    let off_db = |f_hz: f64| 2.0 * (f_hz / 500.0).log2();
    let found = figures(
        grid.f_hz(),
        &[
            sound(grid.f_hz().iter().map(|&f| 90.0 + lr4_db(f) + off_db(f))),
            sound(
                grid.f_hz()
                    .iter()
                    .map(|&f| 90.0 + lr4_db(CROSSOVER_HZ * CROSSOVER_HZ / f) + 1.0),
            ),
        ],
        &targets(0.0, &grid),
        Some(90.0),
    );
    let (mut sum, mut weights) = (0.0, 0.0);
    for &f_hz in grid.f_hz() {
        let weight = ((lr4_db(f_hz) + 24.0) / 12.0).clamp(0.0, 1.0);
        sum += weight * off_db(f_hz).powi(2);
        weights += weight;
    }
    assert_relative_eq!(found.match_db[0], (sum / weights).sqrt(), epsilon = 1e-9);
    assert_relative_eq!(found.match_db[1], 1.0, epsilon = 1e-9);
    // The weights matter: without them, or with their squares, it is another number.
    let plain = (grid.f_hz().iter().map(|&f| off_db(f).powi(2)).sum::<f64>() / 101.0).sqrt();
    assert!((plain - found.match_db[0]).abs() > 0.5, "{plain}");
}

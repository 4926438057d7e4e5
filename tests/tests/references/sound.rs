//! Targets, sums, paths and levels, against what is published about the alignments and about sound.
//!
//! Where the figures are from:
//! - Butterworth and Bessel 3.0103 dB down at the crossover: the definition of the scaling. The
//!   Bessel half-power factors were computed apart from this program, with 50-digit arithmetic.
//! - Linkwitz–Riley 6.0206 dB down on both sides, in phase, flat sum: S. H. Linkwitz, J. Audio Eng.
//!   Soc. 24(1), 1976. Constant power of Butterworth pairs: the definition of the family.
//! - 343.2 m/s at 20 °C: ISO 9613-1, from memory. Another published form, 331.3·√(1 + T/273.15)
//!   m/s (J. O. Smith, Physical Audio Signal Processing), gives 343.215: delays are held to 10⁻⁴.
//! - 20 µPa: ISO 1683.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use netlist::project::{Alignment, Family, Listener, Position};
use netlist::quantity::Metres;
use num_complex::Complex64;
use proptest::prelude::*;
use solver::grid::Grid;
use solver::sound::{Path, Side, level_db, level_db_series, path, sum, target, way_pressure};
use solver::spectrum::{Spectrum, unwrap};

const CROSSOVER_HZ: f64 = 700.0;

/// What published speeds of sound at 20 °C leave open.
const SPEED_DIGITS: f64 = 1e-4;

fn alignment(family: Family, order: u8) -> Alignment {
    Alignment { family, order }
}

fn all_alignments() -> impl Iterator<Item = Alignment> {
    (1..=8).flat_map(|order| {
        let families = [Family::Butterworth, Family::Bessel, Family::LinkwitzRiley];
        families
            .into_iter()
            .filter(move |family| *family != Family::LinkwitzRiley || order % 2 == 0)
            .map(move |family| alignment(family, order))
    })
}

fn at(alignment: Alignment, side: Side, f_hz: f64) -> Complex64 {
    target(
        alignment,
        side,
        CROSSOVER_HZ,
        &Grid::new(vec![f_hz]).unwrap(),
    )
    .at(0)
}

fn db(value: Complex64) -> f64 {
    20.0 * value.norm().log10()
}

fn audio_grid() -> Grid {
    Grid::log_spaced(20.0, 20_000.0, 301).unwrap()
}

#[test]
fn both_sides_meet_at_the_level_of_the_family() {
    for alignment in all_alignments() {
        let expected_db = match alignment.family {
            Family::LinkwitzRiley => -6.020_599_913,
            Family::Butterworth | Family::Bessel => -3.010_299_957,
        };
        for side in [Side::Falling, Side::Rising] {
            let level = db(at(alignment, side, CROSSOVER_HZ));
            assert_abs_diff_eq!(level, expected_db, epsilon = 1e-8);
        }
    }
}

#[test]
fn bessel_targets_have_the_published_delay() {
    // A Bessel filter has a delay of 1 s at zero frequency when its half-power frequency is this
    // many rad/s; so one with the half-power frequency at ω has a delay of this over ω.
    const HALF_POWER: [f64; 8] = [
        1.0,
        1.361_654_128_716_1,
        1.755_672_368_681_2,
        2.113_917_674_904_2,
        2.427_410_702_152_6,
        2.703_395_061_202_9,
        2.951_722_147_038_7,
        3.179_617_237_510_7,
    ];
    for (order, half_power) in (1..=8).zip(HALF_POWER) {
        let f_hz = 1e-3 * CROSSOVER_HZ;
        let phase = -at(alignment(Family::Bessel, order), Side::Falling, f_hz).arg();
        let tolerance = if order == 1 { 1e-6 } else { 1e-10 };
        assert_relative_eq!(phase / 1e-3, half_power, max_relative = tolerance);
    }
}

#[test]
fn far_outside_its_band_a_slope_falls_by_its_order() {
    for alignment in all_alignments() {
        // A decade of frequency is 20 dB for each order.
        let per_decade = 20.0 * f64::from(alignment.order);
        let falling = |f_hz| db(at(alignment, Side::Falling, f_hz));
        let rising = |f_hz| db(at(alignment, Side::Rising, f_hz));
        let fall = falling(1e3 * CROSSOVER_HZ) - falling(1e4 * CROSSOVER_HZ);
        let rise = rising(1e-3 * CROSSOVER_HZ) - rising(1e-4 * CROSSOVER_HZ);
        assert_abs_diff_eq!(fall, per_decade, epsilon = 1e-3);
        assert_abs_diff_eq!(rise, per_decade, epsilon = 1e-3);
        assert_abs_diff_eq!(falling(1e-4 * CROSSOVER_HZ), 0.0, epsilon = 1e-6);
        assert_abs_diff_eq!(rising(1e4 * CROSSOVER_HZ), 0.0, epsilon = 1e-6);
    }
}

#[test]
fn linkwitz_riley_pairs_sum_flat_and_stay_in_phase() {
    let grid = audio_grid();
    let one = Spectrum::from_fn(grid.len(), |_| Complex64::ONE);
    for order in [2, 4, 6, 8] {
        // Orders 2 and 6 are in opposite phase until one side is inverted.
        let inverted = order % 4 == 2;
        let alignment = alignment(Family::LinkwitzRiley, order);
        let low = target(alignment, Side::Falling, CROSSOVER_HZ, &grid);
        let high = target(alignment, Side::Rising, CROSSOVER_HZ, &grid);
        let high = way_pressure(&one, inverted, &high);
        let total = sum([&low, &high]);
        for i in 0..grid.len() {
            assert_abs_diff_eq!(total.at(i).norm(), 1.0, epsilon = 1e-11);
            let between = (high.at(i) / low.at(i)).arg();
            assert_abs_diff_eq!(between, 0.0, epsilon = 1e-9);
        }
        // In the wrong polarity the two cancel at the crossover.
        let wrong = at(alignment, Side::Falling, CROSSOVER_HZ)
            + at(alignment, Side::Rising, CROSSOVER_HZ) * if inverted { 1.0 } else { -1.0 };
        assert!(wrong.norm() < 1e-12);
    }
}

#[test]
fn butterworth_pairs_have_constant_power_and_odd_orders_a_flat_sum() {
    let grid = audio_grid();
    for order in 1..=8 {
        let alignment = alignment(Family::Butterworth, order);
        let low = target(alignment, Side::Falling, CROSSOVER_HZ, &grid);
        let high = target(alignment, Side::Rising, CROSSOVER_HZ, &grid);
        for i in 0..grid.len() {
            let power = low.at(i).norm_sqr() + high.at(i).norm_sqr();
            assert_relative_eq!(power, 1.0, max_relative = 1e-11);
            if order % 2 == 1 {
                // 90° apart everywhere: flat in either polarity.
                let amplitude = (low.at(i) + high.at(i)).norm();
                assert_relative_eq!(amplitude, 1.0, max_relative = 1e-11);
            }
        }
    }
}

fn position(right: f64, up: f64, back: f64) -> Position {
    Position {
        right: Metres(right),
        up: Metres(up),
        back: Metres(back),
        back_to: None,
    }
}

fn listener(distance: f64, up: f64, right: f64) -> Listener {
    Listener {
        distance: Metres(distance),
        up: Metres(up),
        right: Metres(right),
    }
}

#[test]
fn depth_turns_the_phase() {
    // 360°·700·0.11/343.2 = 80.769°, and 360°·6000·0.075/343.2 is 1.311 turns: by hand.
    for (f_hz, back, turns) in [(700.0, 0.11, 0.224_358_97), (6000.0, 0.075, 1.311_188_81)] {
        let path = path(&position(0.3, -0.4, back), None);
        assert_relative_eq!(f_hz * path.delay_s, turns, max_relative = SPEED_DIGITS);
        let factor = path.factor(&Grid::new(vec![f_hz]).unwrap());
        let expected_deg = -360.0 * (turns - turns.round());
        assert_abs_diff_eq!(factor.phase_deg()[0], expected_deg, epsilon = 0.05);
        assert_relative_eq!(factor.at(0).norm(), 1.0, max_relative = 1e-14);
    }
}

#[test]
fn the_listener_hears_along_a_straight_line() {
    // Right-angled boxes with whole diagonals: 2² + 3² + 6² = 7², 1² + 4² + 8² = 9².
    let seven = path(&position(0.0, 0.0, 2.0), Some(&listener(4.0, 2.0, -3.0)));
    assert_relative_eq!(seven.distance_m, 7.0, max_relative = 1e-14);
    assert_relative_eq!(seven.delay_s, 3.0 / 343.2, max_relative = SPEED_DIGITS);
    let nine = path(&position(1.0, -1.0, -0.5), Some(&listener(8.5, 3.0, 2.0)));
    assert_relative_eq!(nine.distance_m, 9.0, max_relative = 1e-14);
    assert_relative_eq!(nine.delay_s, 0.5 / 343.2, max_relative = SPEED_DIGITS);

    // Straight in front, the depth alone delays: as without a listener.
    let back = position(0.0, 0.0, 0.11);
    let near = path(&back, Some(&listener(3.0, 0.0, 0.0)));
    assert_relative_eq!(
        near.delay_s,
        path(&back, None).delay_s,
        max_relative = 1e-12
    );
}

#[test]
fn level_falls_by_six_decibels_a_doubling() {
    let grid = audio_grid();
    let level_at = |distance_m| {
        let straight = Path {
            delay_s: 0.0,
            distance_m,
        };
        level_db_series(&straight.factor(&grid))
    };
    for (near, far) in level_at(1.5).iter().zip(level_at(3.0)) {
        assert_abs_diff_eq!(near - far, 6.020_6, epsilon = 1e-6);
    }
    assert_abs_diff_eq!(level_at(1.0)[0], 93.979_4, epsilon = 1e-6);
    assert_abs_diff_eq!(level_db(Complex64::ONE), 93.979_400_087, epsilon = 1e-8);
}

#[test]
fn a_listener_inside_the_driver_gets_numbers() {
    let touching = path(&position(0.0, 0.0, -1.0), Some(&listener(1.0, 0.0, 0.0)));
    let factor = touching.factor(&audio_grid());
    assert!(factor.iter().all(|x| x.re.is_finite() && x.im.is_finite()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A far listener on the axis is the limit that is taken when none is given.
    #[test]
    fn a_far_listener_is_no_listener(
        right in -1.0..1.0, up in -1.0..1.0, back in -0.5..0.5,
    ) {
        let driver = position(right, up, back);
        let far = path(&driver, Some(&listener(1e5, 0.0, 0.0)));
        prop_assert!((far.delay_s - path(&driver, None).delay_s).abs() < 1e-7);
    }

    /// Unwrapping adds whole turns and leaves no step above half a turn; the phase of a pure delay
    /// comes out straight.
    #[test]
    fn unwrapped_phase_of_a_delay_is_straight(back in 0.0..0.5) {
        let grid = Grid::new((1..=200).map(|i| 100.0 * f64::from(i)).collect()).unwrap();
        let path = path(&position(0.0, 0.0, back), None);
        let wrapped = path.factor(&grid).phase_deg();
        let mut straight = wrapped.clone();
        unwrap(&mut straight, 360.0);
        for (i, f_hz) in grid.f_hz().iter().enumerate() {
            prop_assert!(wrapped[i] > -180.0 && wrapped[i] <= 180.0);
            prop_assert!((straight[i] + 360.0 * f_hz * path.delay_s).abs() < 1e-8);
        }
    }
}

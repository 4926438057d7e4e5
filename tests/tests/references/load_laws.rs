//! Laws that every modelled driver keeps, and the sound of a compression driver.

use std::f64::consts::FRAC_1_SQRT_2;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use netlist::project::{
    Compression, Cone, Enclosure, Horn, LossyInductance, Resonance, Source, Top,
};
use netlist::quantity::{CubicMetres, Decibels, Henries, Hertz, Kelvins, Ohms, SquareMetres};
use proptest::prelude::*;
use solver::air::REFERENCE_PRESSURE_PA;
use solver::grid::Grid;
use solver::load::{Conditions, DriverLoad, driver_load};
use tests::driver::driver_of;

fn load(source: Source, grid: &Grid, rise_k: f64) -> DriverLoad {
    let driver = driver_of(source);
    let conditions = Conditions {
        coil_rise_k: rise_k,
        ..Conditions::default()
    };
    driver_load(&driver, grid, &conditions)
}

fn inductance() -> impl Strategy<Value = LossyInductance> {
    prop_oneof![
        (0.0..5e-3, 0.0..5e-3, 0.0..50.0).prop_map(|(l1, l2, r2)| {
            LossyInductance::SeriesParallel {
                l1: Henries(l1),
                l2: Henries(l2),
                r2: Ohms(r2),
            }
        }),
        (0.0..0.1, 0.0..=1.0).prop_map(|(k, n)| LossyInductance::Power { k, n }),
    ]
}

/// Positive numbers from `from` to `to`, evenly over the decades.
fn decades(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (from.ln()..to.ln()).prop_map(f64::exp)
}

fn enclosure() -> impl Strategy<Value = Option<Enclosure>> {
    let tuning = proptest::option::of(decades(5.0, 500.0));
    let closed_or_vented = (decades(1e-3, 2.0), tuning, decades(0.5, 1e12));
    proptest::option::of(closed_or_vented.prop_map(|(volume, tuning, ql)| Enclosure {
        volume: CubicMetres(volume),
        tuning: tuning.map(Hertz),
        ql: Some(ql),
    }))
}

fn cone() -> impl Strategy<Value = Source> {
    let driver = (
        decades(0.5, 50.0),
        decades(5.0, 2000.0),
        decades(0.1, 1e12),
        decades(0.05, 20.0),
        decades(1e-6, 2.0),
        decades(1e-5, 0.5),
    );
    (driver, inductance(), enclosure(), -150.0..300.0).prop_map(
        |((re, fs, qms, qes, vas, sd), inductance, enclosure, rise)| {
            Source::Cone(Cone {
                break_up: Vec::new(),
                re: Ohms(re),
                fs: Hertz(fs),
                qms,
                qes,
                vas: CubicMetres(vas),
                sd: SquareMetres(sd),
                inductance,
                enclosure,
                coil_rise: Kelvins(rise),
            })
        },
    )
}

fn compression() -> impl Strategy<Value = Source> {
    let resonance = (
        decades(0.1, 200.0),
        decades(20.0, 30_000.0),
        decades(0.1, 100.0),
    );
    let resonances = proptest::collection::vec(resonance, 0..6);
    let horn = (decades(50.0, 5000.0), 1u8..=4, decades(0.2, 5.0));
    let corner = proptest::option::of(decades(500.0, 30_000.0));
    let top = proptest::option::of((decades(2000.0, 30_000.0), decades(0.2, 10.0)));
    let tail = (80.0..120.0, corner, top, -150.0..300.0);
    (decades(0.5, 50.0), inductance(), resonances, horn, tail).prop_map(
        |(re, inductance, resonances, (cutoff, order, q), (level, corner, top, rise))| {
            let resonances = resonances.into_iter().map(|(r, f, q)| Resonance {
                r: Ohms(r),
                f: Hertz(f),
                q,
            });
            Source::Compression(Compression {
                re: Ohms(re),
                inductance,
                resonances: resonances.collect(),
                level: Decibels(level),
                horn: Horn {
                    cutoff: Hertz(cutoff),
                    order,
                    q,
                },
                mass_corner: corner.map(Hertz),
                top: top.map(|(f, q)| Top { f: Hertz(f), q }),
                coil_rise: Kelvins(rise),
            })
        },
    )
}

/// The tuning and the resonance themselves belong to the grid: there a lossless box has its extremes.
fn grid_of(source: &Source) -> Grid {
    let mut f_hz = Grid::log_spaced(5.0, 40_000.0, 120)
        .unwrap()
        .f_hz()
        .to_vec();
    if let Source::Cone(cone) = source {
        f_hz.push(cone.fs.0);
        f_hz.extend(cone.enclosure.and_then(|b| b.tuning).map(|t| t.0));
    }
    f_hz.sort_by(f64::total_cmp);
    f_hz.dedup_by(|a, b| a.total_cmp(b).is_eq());
    Grid::new(f_hz).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// A driver takes power in at every frequency, and gives a finite sound.
    #[test]
    fn every_modelled_driver_is_passive_and_finite(
        source in prop_oneof![cone(), compression()],
        rise in -50.0..500.0,
    ) {
        let grid = grid_of(&source);
        let load = load(source, &grid, rise);
        prop_assert_eq!(load.notes.len(), 0);
        for i in 0..grid.len() {
            let (z, p) = (load.z_ohm.at(i), load.pressure_pa_per_v.at(i));
            prop_assert!(z.re > 0.0 && z.re.is_finite() && z.im.is_finite(), "{} Hz: {}", grid.f_hz()[i], z);
            prop_assert!(p.re.is_finite() && p.im.is_finite(), "{} Hz: {}", grid.f_hz()[i], p);
        }
    }
}

fn horn_driver(order: u8, q: f64) -> Compression {
    Compression {
        re: Ohms(6.0),
        inductance: LossyInductance::Power { k: 0.0, n: 0.5 },
        resonances: vec![Resonance {
            r: Ohms(12.0),
            f: Hertz(500.0),
            q: 3.0,
        }],
        level: Decibels(108.0),
        horn: Horn {
            cutoff: Hertz(400.0),
            order,
            q,
        },
        mass_corner: None,
        top: None,
        coil_rise: Kelvins(0.0),
    }
}

fn level_db(load: &DriverLoad, i: usize) -> f64 {
    20.0 * (load.pressure_pa_per_v.at(i).norm() * 2.83 / REFERENCE_PRESSURE_PA).log10()
}

#[test]
fn a_horn_has_its_level_above_and_its_order_below_the_cut_off() {
    for order in 1..=4 {
        let grid = Grid::new(vec![0.4, 0.8, 400.0, 4e6]).unwrap();
        let driver = Source::Compression(horn_driver(order, FRAC_1_SQRT_2));
        let load = load(driver, &grid, 0.0);
        assert_abs_diff_eq!(level_db(&load, 3), 108.0, epsilon = 1e-6);
        // 6.0206 dB an octave and an order.
        let slope = level_db(&load, 1) - level_db(&load, 0);
        assert_abs_diff_eq!(slope, 6.0206 * f64::from(order), epsilon = 1e-3);
        // At the cut-off: 3.01 dB for each first order and each pair of Q 0.707.
        let down = 108.0 - level_db(&load, 2);
        let stages = f64::from(order.div_ceil(2));
        assert_abs_diff_eq!(down, 3.0103 * stages, epsilon = 1e-4);
    }
}

#[test]
fn mass_and_top_shape_the_upper_end() {
    let mut driver = horn_driver(2, FRAC_1_SQRT_2);
    driver.horn.cutoff = Hertz(1e-3);
    driver.mass_corner = Some(Hertz(3500.0));
    let grid = Grid::new(vec![3500.0, 3.5e6, 7e6]).unwrap();
    let heavy = load(Source::Compression(driver.clone()), &grid, 0.0);
    assert_abs_diff_eq!(level_db(&heavy, 0), 108.0 - 3.0103, epsilon = 1e-4);
    assert_abs_diff_eq!(
        level_db(&heavy, 1) - level_db(&heavy, 2),
        6.0206,
        epsilon = 1e-3
    );
    // At its own frequency the top resonance multiplies by its Q.
    driver.top = Some(Top {
        f: Hertz(3500.0),
        q: 2.0,
    });
    let topped = load(Source::Compression(driver), &grid, 0.0);
    assert_abs_diff_eq!(
        level_db(&topped, 0) - level_db(&heavy, 0),
        6.0206,
        epsilon = 1e-4
    );
}

#[test]
fn the_impedance_of_a_horn_driver_peaks_by_its_resonance() {
    let grid = Grid::new(vec![500.0 / 3.0, 500.0, 5e6]).unwrap();
    let cold = load(Source::Compression(horn_driver(2, 1.0)), &grid, 0.0);
    let magnitudes: Vec<f64> = cold.z_ohm.iter().map(|z| z.norm()).collect();
    assert_relative_eq!(magnitudes[1], 18.0, max_relative = 1e-12);
    assert_relative_eq!(magnitudes[2], 6.0, max_relative = 1e-6);
    // R/(1 + jQ(x − 1/x)) at x = 1/3: 12/(1 − 8j) is 12·(1 + 8j)/65.
    assert_relative_eq!(cold.z_ohm.re[0], 6.0 + 12.0 / 65.0, max_relative = 1e-12);
    assert_relative_eq!(cold.z_ohm.im[0], 96.0 / 65.0, max_relative = 1e-12);
    // The sound of a warm coil follows its current.
    let hot = load(Source::Compression(horn_driver(2, 1.0)), &grid, 100.0);
    let loss_db = level_db(&cold, 1) - level_db(&hot, 1);
    assert_abs_diff_eq!(
        loss_db,
        20.0 * ((18.0 + 6.0 * 0.393) / 18.0_f64).log10(),
        epsilon = 1e-9
    );
}

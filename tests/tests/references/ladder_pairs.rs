//! Pairs of ladders that part the band between two drivers, against worked values and exact laws.

#![expect(
    clippy::approx_constant,
    reason = "values are kept as they were computed, also where one happens to be 1/π"
)]

use approx::assert_relative_eq;
use num_complex::Complex64;
use solver::synthesis::{Ladder, LadderKind, LadderSide, Prototype};

use super::ladder::{all_prototypes, chain};

/// Values for 8 Ω and 2 kHz in mH and µF, computed apart from this program to five decimals.
#[test]
fn two_way_worked_values() {
    use Prototype::{Bessel, Butterworth, LinkwitzRiley};
    let rows: [(Prototype, &[f64], &[f64]); 9] = [
        (Butterworth { order: 1 }, &[0.63662], &[9.94718]),
        (
            Butterworth { order: 2 },
            &[0.90032, 7.03372],
            &[7.03372, 0.90032],
        ),
        (
            Butterworth { order: 3 },
            &[0.95493, 13.26291, 0.31831],
            &[6.63146, 0.47746, 19.89437],
        ),
        (
            Butterworth { order: 4 },
            &[0.97450, 15.68831, 0.68907, 3.80662],
            &[6.49831, 0.40365, 9.19000, 1.66357],
        ),
        (
            LinkwitzRiley { order: 2 },
            &[1.27324, 4.97359],
            &[4.97359, 1.27324],
        ),
        (
            LinkwitzRiley { order: 4 },
            &[1.20042, 15.82587, 0.60021, 3.51686],
            &[5.27529, 0.40014, 10.55058, 1.80063],
        ),
        (
            Bessel { order: 2 },
            &[0.86686, 4.51487],
            &[7.30522, 1.40260],
        ),
        (
            Bessel { order: 3 },
            &[0.93141, 8.38272, 0.18628],
            &[6.79889, 0.75543, 33.99444],
        ),
        (
            Bessel { order: 4 },
            &[0.95569, 9.72906, 0.39008, 2.10275],
            &[6.62621, 0.65089, 16.23421, 3.01156],
        ),
    ];
    for (prototype, low, high) in rows {
        for (side, expected) in [(LadderSide::LowPass, low), (LadderSide::HighPass, high)] {
            let ladder = Ladder::new(prototype, side, 2000.0, 8.0).unwrap();
            assert_eq!(ladder.elements.len(), expected.len());
            for (element, expected) in ladder.elements.iter().zip(expected) {
                let unit = match element.kind {
                    LadderKind::SeriesInductor | LadderKind::ShuntInductor => 1e-3,
                    LadderKind::SeriesCapacitor | LadderKind::ShuntCapacitor => 1e-6,
                };
                assert_relative_eq!(element.value_si / unit, *expected, epsilon = 5.1e-6);
            }
        }
    }
}

/// Both ladders of a two-way pair at a multiple of the crossover frequency: low pass, high pass,
/// and the impedance of both in parallel over R.
fn pair(prototype: Prototype, x: f64) -> (Complex64, Complex64, Complex64) {
    let (f0_hz, r_ohm) = (2000.0, 8.0);
    let ladder = |side| Ladder::new(prototype, side, f0_hz, r_ohm).unwrap();
    let (low, low_in) = chain(&ladder(LadderSide::LowPass), x * f0_hz, r_ohm.into());
    let (high, high_in) = chain(&ladder(LadderSide::HighPass), x * f0_hz, r_ohm.into());
    (low, high, (low_in.finv() + high_in.finv()).finv() / r_ohm)
}

#[test]
fn power_into_a_lossless_pair_is_power_in_the_drivers() {
    for prototype in all_prototypes() {
        for x in [0.05, 0.4, 0.8, 1.0, 1.3, 3.0, 30.0] {
            let (low, high, z) = pair(prototype, x);
            let expected = low.norm_sqr() + high.norm_sqr();
            assert_relative_eq!(z.finv().re, expected, max_relative = 1e-9);
        }
    }
}

#[test]
fn butterworth_pairs_are_a_resistance_to_the_amplifier() {
    for order in 1..=4 {
        for x in [0.01, 0.3, 0.5, 0.9, 1.0, 1.2, 2.0, 50.0] {
            let (_, _, z) = pair(Prototype::Butterworth { order }, x);
            assert!((z - 1.0).norm() < 1e-9, "order {order} at {x}: {z}");
        }
    }
}

/// Sum at the crossover with the better polarity, and |Z|/R at half of it and at it. Computed apart
/// from this program; that LR2 and LR4 sum flat and Butterworth 2 and 4 rise by 3.01 dB is common knowledge.
#[test]
fn two_way_sums_and_impedances() {
    use Prototype::{Bessel, Butterworth, LinkwitzRiley};
    let rows = [
        (Butterworth { order: 1 }, 1.0, 0.0, 1.0, 1.0),
        (Butterworth { order: 2 }, -1.0, 3.0103, 1.0, 1.0),
        (Butterworth { order: 3 }, 1.0, 0.0, 1.0, 1.0),
        (Butterworth { order: 4 }, 1.0, 3.0103, 1.0, 1.0),
        (LinkwitzRiley { order: 2 }, -1.0, 0.0, 1.386750, 2.0),
        (LinkwitzRiley { order: 4 }, 1.0, 0.0, 1.084984, 2.0),
        (Bessel { order: 2 }, -1.0, 2.6813, 1.049311, 1.0),
        (Bessel { order: 3 }, -1.0, 2.8908, 1.091295, 1.0),
        (Bessel { order: 4 }, -1.0, 1.6863, 1.116316, 1.0),
    ];
    for (prototype, polarity, sum_db, z_half, z_at) in rows {
        let (low, high, z) = pair(prototype, 1.0);
        let found = 20.0 * (low + polarity * high).norm().log10();
        assert_relative_eq!(found, sum_db, epsilon = 5.1e-5);
        assert_relative_eq!(z.norm(), z_at, epsilon = 1e-9);
        // The pair is alike on both sides of the crossover.
        for x in [0.5, 2.0] {
            assert_relative_eq!(pair(prototype, x).2.norm(), z_half, epsilon = 5.1e-7);
        }
    }
    // All-pass at every frequency, either polarity for the third order.
    for x in [0.02, 0.5, 0.8, 1.0, 1.4, 4.0] {
        for (prototype, polarities) in [
            (Butterworth { order: 1 }, [1.0, 1.0]),
            (Butterworth { order: 3 }, [1.0, -1.0]),
            (LinkwitzRiley { order: 2 }, [-1.0, -1.0]),
            (LinkwitzRiley { order: 4 }, [1.0, 1.0]),
        ] {
            let (low, high, _) = pair(prototype, x);
            for polarity in polarities {
                assert_relative_eq!((low + polarity * high).norm(), 1.0, epsilon = 1e-9);
            }
        }
    }
}

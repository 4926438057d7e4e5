//! Pads against tables of their values.
//!
//! Where the figures are from: the L-pad of 10 dB with its shares of power (0.684, 0.216, 0.1) as in the
//! documentation of a general-purpose circuit simulator, read; the minimum-loss pad from 75 Ω to 50 Ω
//! (43.30 Ω, 86.60 Ω, 5.72 dB) is printed in many handbooks, from memory; the other rows were computed
//! apart from this program, input resistance, loss and sum of powers checked with 40 digits.

use approx::assert_relative_eq;
use num_complex::Complex64;
use solver::synthesis::{Pad, PadKind};
use tests::l_pad::L_PAD;
use tests::textbook_pad::{TextbookPad, total_w};

/// Shares of load, series and shunt of a pad on 8 Ω.
fn shares(pad: Pad) -> [f64; 3] {
    let power = pad.power(8.0.into(), 1.0);
    [power.driver_w, power.series_w, power.shunt_w].map(|w| w / total_w(&power))
}

#[test]
fn l_pad_of_every_decibel() {
    for [db, series, shunt, load_share, series_share, shunt_share] in L_PAD {
        let pad = Pad::size(PadKind::LPad, db, 8.0).unwrap();
        assert_relative_eq!(pad.series_ohm().unwrap(), series, epsilon = 5.1e-6);
        assert_relative_eq!(pad.shunt_ohm().unwrap(), shunt, epsilon = 5.1e-6);
        for (found, expected) in
            shares(pad)
                .into_iter()
                .zip([load_share, series_share, shunt_share])
        {
            assert_relative_eq!(found, expected, epsilon = 5.1e-7);
        }
        let on = pad.on(8.0.into(), Complex64::ZERO);
        assert_relative_eq!(on.seen_ohm.re, 8.0, max_relative = 1e-12);
        assert_relative_eq!(on.attenuation_db(), db, max_relative = 1e-12);
    }
}

#[test]
fn the_shunt_is_warmest_at_half_the_voltage() {
    let share = |db| shares(Pad::size(PadKind::LPad, db, 8.0).unwrap())[2];
    let half = 20.0 * 2f64.log10();
    assert_relative_eq!(share(half), 0.25, max_relative = 1e-12);
    assert!(share(half - 0.1) < 0.25 && share(half + 0.1) < 0.25);
}

#[test]
fn what_the_network_sees_stays_between_two_resistances() {
    let pad = Pad::size(PadKind::LPad, 12.0, 8.0).unwrap();
    let (series, shunt) = (pad.series_ohm().unwrap(), pad.shunt_ohm().unwrap());
    let seen = |z: f64| pad.on(z.into(), Complex64::ZERO).seen_ohm.re;
    assert_relative_eq!(seen(1e-12), series, epsilon = 1e-9);
    assert_relative_eq!(seen(1e12), series + shunt, epsilon = 1e-9);
}

#[test]
fn shunt_after_series_mirrors_the_l_pad() {
    // Turned round, the constant-impedance L-pad becomes the other one with the same loss: its
    // series share is the L-pad's shunt share and the other way round.
    for [db, _, _, load_share, series_share, shunt_share] in L_PAD {
        let pad = Pad::size(PadKind::ShuntSeries, db, 8.0).unwrap();
        for (found, expected) in
            shares(pad)
                .into_iter()
                .zip([load_share, shunt_share, series_share])
        {
            assert_relative_eq!(found, expected, epsilon = 5.1e-7);
        }
    }
}

#[test]
fn minimum_loss_pads() {
    for [source, load, series, shunt, loss_db] in [
        [75.0, 50.0, 43.30127, 86.60254, 5.71948],
        [16.0, 8.0, 11.31371, 11.31371, 7.65551],
        [8.0, 4.0, 5.65685, 5.65685, 7.65551],
        [600.0, 150.0, 519.61524, 173.20508, 11.43895],
        [8.0, 6.0, 4.0, 12.0, 4.77121],
    ] {
        let pad = Pad::LPad {
            series_ohm: series,
            shunt_ohm: shunt,
        };
        // Matched on both sides, and the loss is the power lost.
        let on = pad.on(load.into(), source.into());
        assert_relative_eq!(on.seen_ohm.re, source, epsilon = 2e-5);
        assert_relative_eq!(on.behind_ohm.re, load, epsilon = 2e-5);
        let power = pad.power(load.into(), 1.0);
        let lost_db = 10.0 * (total_w(&power) / power.driver_w).log10();
        assert_relative_eq!(lost_db, loss_db, epsilon = 5.1e-6);
    }
}

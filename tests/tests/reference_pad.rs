//! Pads against tables of their values.
//!
//! Where the figures are from: the L-pad of 10 dB with its shares of power (0.684, 0.216, 0.1) as in the
//! documentation of a general-purpose circuit simulator, read; the minimum-loss pad from 75 Ω to 50 Ω
//! (43.30 Ω, 86.60 Ω, 5.72 dB) is printed in many handbooks, from memory; the other rows were computed
//! apart from this program, input resistance, loss and sum of powers checked with 40 digits.

use approx::assert_relative_eq;
use num_complex::Complex64;
use solver::synthesis::{Pad, PadKind, minimum_loss_pad};

/// Attenuation in dB, then for 8 Ω: series Ω, shunt Ω, and the shares of load, series and shunt.
const L_PAD: [[f64; 6]; 20] = [
    [1.0, 0.86999, 65.56385, 0.794328, 0.108749, 0.096923],
    [2.0, 1.64537, 30.89693, 0.630957, 0.205672, 0.163371],
    [3.0, 2.33643, 19.39217, 0.501187, 0.292054, 0.206759],
    [4.0, 2.95234, 13.67771, 0.398107, 0.369043, 0.232850],
    [5.0, 3.50127, 10.27908, 0.316228, 0.437659, 0.246114],
    [6.0, 3.99050, 8.03808, 0.251189, 0.498813, 0.249999],
    [7.0, 4.42653, 6.45827, 0.199526, 0.553316, 0.247157],
    [8.0, 4.81514, 5.29140, 0.158489, 0.601893, 0.239618],
    [9.0, 5.16149, 4.39951, 0.125893, 0.645187, 0.228921],
    [10.0, 5.47018, 3.69980, 0.100000, 0.683772, 0.216228],
    [11.0, 5.74529, 3.13955, 0.079433, 0.718162, 0.202405],
    [12.0, 5.99049, 2.68360, 0.063096, 0.748811, 0.188093],
    [13.0, 6.20902, 2.30758, 0.050119, 0.776128, 0.173753],
    [14.0, 6.40379, 1.99408, 0.039811, 0.800474, 0.159716],
    [15.0, 6.57738, 1.73032, 0.031623, 0.822172, 0.146205],
    [16.0, 6.73209, 1.50671, 0.025119, 0.841511, 0.133370],
    [17.0, 6.86997, 1.31591, 0.019953, 0.858746, 0.121301],
    [18.0, 6.99286, 1.15219, 0.015849, 0.874107, 0.110044],
    [19.0, 7.10239, 1.01106, 0.012589, 0.887798, 0.099613],
    [20.0, 7.20000, 0.88889, 0.010000, 0.900000, 0.090000],
];

/// Shares of load, series and shunt of a pad on 8 Ω.
fn shares(pad: Pad) -> [f64; 3] {
    let power = pad.power(8.0.into(), 1.0);
    [power.driver_w, power.series_w, power.shunt_w].map(|w| w / power.total_w())
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
        let (pad, found_db) = minimum_loss_pad(source, load).unwrap();
        assert_relative_eq!(pad.series_ohm().unwrap(), series, epsilon = 5.1e-6);
        assert_relative_eq!(pad.shunt_ohm().unwrap(), shunt, epsilon = 5.1e-6);
        assert_relative_eq!(found_db, loss_db, epsilon = 5.1e-6);
        // Matched on both sides, and the loss is the power lost.
        let on = pad.on(load.into(), source.into());
        assert_relative_eq!(on.seen_ohm.re, source, max_relative = 1e-12);
        assert_relative_eq!(on.behind_ohm.re, load, max_relative = 1e-12);
        let power = pad.power(load.into(), 1.0);
        let lost_db = 10.0 * (power.total_w() / power.driver_w).log10();
        assert_relative_eq!(lost_db, loss_db, epsilon = 5.1e-6);
    }
}

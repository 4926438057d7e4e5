//! The textbook's closed forms: in balance in themselves, and what the one formula for all pads gives on any load.

use approx::assert_relative_eq;
use num_complex::Complex64;
use solver::pad::PadLoad;
use solver::spectrum::Spectrum;
use solver::synthesis::{AutoformerWinding, Pad, PadKind};
use tests::textbook_pad::{TextbookPad, total_w};

const KINDS: [PadKind; 4] = [
    PadKind::LPad,
    PadKind::Series,
    PadKind::ShuntSeries,
    PadKind::Autoformer,
];

#[test]
fn a_sized_pad_attenuates_and_is_seen_as_said() {
    let (r, db) = (8.0, 11.0);
    let k = 10f64.powf(db / 20.0);
    for (kind, seen) in KINDS.into_iter().zip([r, k * r, r, k * k * r]) {
        let on = Pad::size(kind, db, r)
            .unwrap()
            .on(r.into(), Complex64::ZERO);
        assert_relative_eq!(on.attenuation_db(), db, max_relative = 1e-12);
        assert_relative_eq!(on.seen_ohm.re, seen, max_relative = 1e-12);
    }
    let on = Pad::l_pad_seen_as(db, r, 12.0)
        .unwrap()
        .on(r.into(), Complex64::ZERO);
    assert_relative_eq!(on.attenuation_db(), db, max_relative = 1e-12);
    assert_relative_eq!(on.seen_ohm.re, 12.0, max_relative = 1e-12);
}

/// At any load and source, and with a perfect winding as the ideal tap.
#[test]
fn on_a_plain_load_a_pad_is_the_textbook_s() {
    let perfect = AutoformerWinding {
        inductance_h: 1e4,
        dcr_ohm: 0.0,
        coupling: 1.0 - 1e-13,
        taps: vec![0.8, 0.2],
    };
    let (z_ohm, source) = (Complex64::new(7.0, 3.0), Complex64::new(1.8, 0.4));
    let sized = KINDS.map(|kind| Pad::size(kind, 9.0, 8.0).unwrap());
    let beside = Pad::Autoformer {
        ratio: 0.35,
        shunt_ohm: Some(15.0),
    };
    for pad in sized.into_iter().chain([beside]) {
        for (winding, limit) in [(None, 1e-13), (Some(&perfect), 1e-5)] {
            let mut load = PadLoad::resistor(8.0).wound(winding.cloned());
            load.z_ohm = Spectrum::from_fn(load.grid.len(), |_| z_ohm);
            let found = load.on(pad, 20, source);
            let wanted = pad.on(z_ohm, source);
            for (a, b) in [
                (found.transfer, wanted.transfer),
                (found.seen_ohm, wanted.seen_ohm),
                (found.behind_ohm, wanted.behind_ohm),
            ] {
                assert!((a - b).norm() < limit * b.norm(), "{pad:?}: {a} {b}");
            }
        }
    }
}

#[test]
fn power_in_is_power_burnt_on_any_load() {
    for kind in KINDS {
        let pad = Pad::size(kind, 9.0, 8.0).unwrap();
        for load in [
            Complex64::new(6.0, 9.0),
            Complex64::new(14.0, -11.0),
            8.0.into(),
        ] {
            let power = pad.power(load, 12.0);
            let into = 144.0 * pad.on(load, Complex64::ZERO).seen_ohm.finv().re;
            assert_relative_eq!(total_w(&power), into, max_relative = 1e-12);
        }
    }
}

#[test]
fn the_driver_sees_what_its_voltage_under_load_says() {
    // Thevenin: the source impedance is open voltage over short current, taken here from two loads.
    let source = Complex64::new(1.8, 0.7);
    for kind in KINDS {
        let pad = Pad::size(kind, 7.0, 8.0).unwrap();
        let driver_v = |load: Complex64| {
            let on = pad.on(load, source);
            on.seen_ohm / (on.seen_ohm + source) * on.transfer
        };
        let (za, zb) = (Complex64::new(5.0, 2.0), Complex64::new(40.0, -9.0));
        let (va, vb) = (driver_v(za), driver_v(zb));
        let behind = (vb - va) / (va / za - vb / zb);
        assert_relative_eq!(
            (behind - pad.on(za, source).behind_ohm).norm(),
            0.0,
            epsilon = 1e-10
        );
    }
}

#[test]
fn a_resistor_beside_the_winding_takes_its_share() {
    let pad = Pad::Autoformer {
        ratio: 0.5,
        shunt_ohm: Some(16.0),
    };
    let load = Complex64::new(8.0, 3.0);
    let (seen, power) = (
        pad.on(load, Complex64::ZERO).seen_ohm,
        pad.power(load, 10.0),
    );
    assert_relative_eq!(
        (seen.inv() - (4.0 * load).inv() - 1.0 / 16.0).norm(),
        0.0,
        epsilon = 1e-15
    );
    assert_relative_eq!(total_w(&power), 100.0 * seen.inv().re, max_relative = 1e-12);
}

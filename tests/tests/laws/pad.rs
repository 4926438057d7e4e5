//! Laws that every pad obeys, whatever the load.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::project::Stock;
use netlist::quantity::{Farads, Ohms};
use num_complex::Complex64;
use proptest::prelude::*;
use solver::pad::{
    Counted, DriveChange, PadLoad, PadSite, PadSource, PadTarget, Resistors, Study, TOLERANCE_DB,
    driver_level_db, find_pad, ideal, level_on_resistor_db, steps,
};
use solver::sound::Side;
use solver::spectrum::Spectrum;
use solver::synthesis::{Pad, PadKind};

const KINDS: [PadKind; 4] = [
    PadKind::LPad,
    PadKind::Series,
    PadKind::ShuntSeries,
    PadKind::Autoformer,
];

/// A horn driver: voice coil, inductance and one resonance, crossed at 650 Hz and 6.5 kHz.
fn horn(re: f64, peak: f64, q: f64, l: f64) -> PadLoad {
    let mut load = PadLoad::resistor(8.0);
    let grid = solver::grid::Grid::log_spaced(20.0, 20_000.0, 241).unwrap();
    load.z_ohm = Spectrum::from_fn(grid.len(), |i| {
        let x = grid.f_hz()[i] / 400.0;
        let resonance = peak / Complex64::new(1.0, q * (x - 1.0 / x));
        Complex64::new(re, grid.omega()[i] * l) + resonance
    });
    load.grid = grid;
    load.band_hz = [650.0, 6500.0];
    load.filter_band_hz = [325.0, 13_000.0];
    load.crossovers = vec![(650.0, Side::Rising), (6500.0, Side::Falling)];
    load
}

fn any_load() -> impl Strategy<Value = PadLoad> {
    (4.0..12.0f64, 2.0..30.0f64, 0.5..5.0f64, 1e-5..2e-4f64)
        .prop_map(|(re, peak, q, l)| horn(re, peak, q, l))
}

fn any_pad() -> impl Strategy<Value = Pad> {
    let ohm = || (-1.0..2.0f64).prop_map(|lg| 10f64.powf(lg));
    prop_oneof![
        (ohm(), ohm()).prop_map(|(series_ohm, shunt_ohm)| Pad::LPad {
            series_ohm,
            shunt_ohm
        }),
        ohm().prop_map(|series_ohm| Pad::Series { series_ohm }),
        (ohm(), ohm()).prop_map(|(shunt_ohm, series_ohm)| Pad::ShuntSeries {
            shunt_ohm,
            series_ohm
        }),
        (0.05..0.99f64, proptest::option::of(ohm()))
            .prop_map(|(ratio, shunt_ohm)| Pad::Autoformer { ratio, shunt_ohm }),
    ]
}

fn target(kind: PadKind, attenuation_db: f64, load: &PadLoad) -> PadTarget {
    PadTarget {
        kind,
        attenuation_db,
        counted: Counted::Attenuation,
        kept_ohm: vec![8.0; load.grid.len()],
        least_ohm: 0.0,
        taps: (1..=24)
            .map(|db| 10f64.powf(-f64::from(db) / 20.0))
            .collect(),
    }
}

/// Largest change of shape at a crossover, in dB; 0 without crossovers.
fn at_crossovers_db(change: &DriveChange) -> f64 {
    let changes = change.crossovers.iter().map(|c| c.change_db.abs());
    changes.fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// What goes into the pad is what its parts and the driver burn, with programme and with a sine.
    #[test]
    fn power_in_is_power_burnt(pad in any_pad(), load in any_load(), volts in 0.1..100f64) {
        let feed = PadSource::textbook(&load, &1.8.into(), 8.0);
        let heat = Study::new(pad, &load, &feed.at_volts(volts)).heat;
        let part = |heat: Option<solver::pad::PartHeat>| heat.map_or(0.0, |h| h.programme_w);
        let sum = part(heat.series) + part(heat.shunt) + heat.driver.programme_w;
        prop_assert!((sum / heat.input.programme_w - 1.0).abs() < 1e-9);
        // A sine at its worst is never less than the mean over programme.
        for heat in [heat.series, heat.shunt, Some(heat.driver)].into_iter().flatten() {
            prop_assert!(heat.sine_w >= heat.programme_w);
            prop_assert!(heat.programme_w >= 0.0);
        }
    }

    /// A pad never gives the driver more than there is, and the mean lies between the extremes.
    #[test]
    fn a_study_is_in_order(pad in any_pad(), load in any_load()) {
        let study = Study::new(pad, &load, &PadSource::amplifier(&load, &0.0.into()));
        prop_assert!(study.attenuation.least <= study.mean_db + 1e-12);
        prop_assert!(study.mean_db <= study.attenuation.most + 1e-12);
        prop_assert!(study.seen.ratio() >= 1.0);
        let (departure, at_hz) = study.departure();
        prop_assert!((load.band_hz[0] * 0.99..=load.band_hz[1] * 1.01).contains(&at_hz));
        prop_assert!(departure.abs() <= study.attenuation.most - study.attenuation.least + 1e-12);
    }

    /// The ideal pad attenuates by what was asked for in the mean of the band, on any load.
    #[test]
    fn the_ideal_pad_has_the_attenuation(load in any_load(), db in 1.0..25f64, kind in 0..4usize) {
        let feed = PadSource::amplifier(&load, &0.0.into());
        let pad = ideal(&load, &feed, &target(KINDS[kind], db, &load)).unwrap();
        let study = Study::new(pad, &load, &feed);
        prop_assert!((study.mean_db - db).abs() < 1e-9, "{pad:?}: {}", study.mean_db);
    }

    /// Every louder step attenuates less.
    #[test]
    fn steps_rise(load in any_load(), db in 6.0..18f64, kind in 0..4usize) {
        let feed = PadSource::textbook(&load, &1.8.into(), 8.0);
        let target = target(KINDS[kind], db, &load);
        let design = Study::new(ideal(&load, &feed, &target).unwrap(), &load, &feed);
        let resistors = Resistors::new(&Stock::default());
        let site = PadSite { load: &load, feed: &feed, resistors: &resistors };
        let steps = steps(&design, site, &target, 3);
        prop_assert_eq!(steps.len(), 7);
        let mut last = f64::INFINITY;
        for step in &steps {
            let mean_db = match &step.candidate {
                Some(candidate) => candidate.study.mean_db,
                None if step.design => design.mean_db,
                None => continue,
            };
            prop_assert!(mean_db < last, "{mean_db} after {last}");
            last = mean_db;
        }
    }

    /// A pad put into a network is found there again, with the values that it was given.
    #[test]
    fn a_pad_that_was_put_in_is_found(first in any_pad(), second in any_pad(), gnd_first in any::<bool>()) {
        let mut network = Network::new();
        let [top, node] = ["m1", "m2"].map(|name| network.node(name));
        let capacitor = PartKind::Capacitor {
            capacitance: Farads(1e-5),
            esr: Ohms(0.0),
            between: [NodeId::IN, top],
        };
        network.insert("C1", Part::new(capacitor));
        let between = if gnd_first { [NodeId::GND, top] } else { [top, NodeId::GND] };
        let _ = node;
        let driver = PartKind::Driver { driver: "mid".into(), between, inverted: false };
        network.insert("MID", Part::new(driver));
        let place = find_pad(&network, "mid").unwrap();
        prop_assert_eq!(place.pad, None);
        for pad in [first, second] {
            let place = find_pad(&network, "mid").unwrap();
            network = place.with_pad(&network, Some(pad));
            let found = find_pad(&network, "mid").unwrap();
            prop_assert_eq!(found.pad, Some(pad));
            prop_assert!(found.beside.is_empty());
        }
        // Out again, and the driver is back on the filter.
        let place = find_pad(&network, "mid").unwrap();
        let bare = place.with_pad(&network, None);
        prop_assert_eq!(bare.parts().len(), 2);
        prop_assert_eq!(find_pad(&bare, "mid").unwrap().pad, None);
    }

    /// A change there and back is none.
    #[test]
    fn changes_are_told_apart_from_levels(load in any_load(), pad in any_pad()) {
        let feed = PadSource::textbook(&load, &1.8.into(), 8.0);
        let drive = driver_level_db(Some(pad), &load, &feed);
        let same = DriveChange::new(&drive, &drive, &load);
        prop_assert!(same.level_db.abs() < 1e-12 && at_crossovers_db(&same) < 1e-12);
        let plain = level_on_resistor_db(8.0, 3.0, &load, &feed);
        let there = DriveChange::new(&plain, &drive, &load);
        let back = DriveChange::new(&drive, &plain, &load);
        prop_assert!((there.level_db + back.level_db).abs() < 1e-9);
        prop_assert!((at_crossovers_db(&there) - at_crossovers_db(&back)).abs() < 1e-9);
    }
}

proptest! {
    // Each case tries every pair of the stock.
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// Pads from stock are within the tolerance and in the order of their cost.
    #[test]
    fn pads_from_stock_are_near_and_in_order(load in any_load(), db in 3.0..20f64) {
        let feed = PadSource::textbook(&load, &1.8.into(), 8.0);
        let resistors = Resistors::new(&Stock::default());
        let site = PadSite {
            load: &load,
            feed: &feed,
            resistors: &resistors,
        };
        let found = site.sized(&target(PadKind::LPad, db, &load), 5);
        prop_assert!(!found.is_empty());
        for candidate in &found {
            prop_assert!((candidate.study.mean_db - db).abs() <= TOLERANCE_DB);
        }
        for pair in found.windows(2) {
            prop_assert!(pair[0].cost.total_db() <= pair[1].cost.total_db() + 1e-12);
        }
        // No pad of single E24 values is nearer in load, parts and attenuation together.
        let best = &found[0];
        for series in resistors.singles() {
            for shunt in resistors.singles() {
                // Far off wherever the driver is looked at.
                let taken = load.band().step_by(8).map(|i| {
                    let z_ohm = (shunt.value_si.recip() + load.z_ohm.at(i).inv()).inv();
                    20.0 * ((series.value_si + z_ohm) / z_ohm).norm().log10() - db
                });
                let [least, most] = taken.fold([f64::INFINITY, f64::NEG_INFINITY], |[least, most], off| {
                    [least.min(off), most.max(off)]
                });
                if least > TOLERANCE_DB + 2.0 || most < -TOLERANCE_DB - 2.0 { continue; }
                let pad = Pad::LPad { series_ohm: series.value_si, shunt_ohm: shunt.value_si };
                let other = Study::new(pad, &load, &feed);
                let off = (other.mean_db - db).abs();
                if off > TOLERANCE_DB - 0.05 { continue; }
                let load_off = load.filter_band()
                    .map(|i| (20.0 * (other.curves.seen_ohm.at(i).norm() / 8.0).log10()).abs())
                    .fold(0.0, f64::max);
                prop_assert!(best.cost.total_db() <= load_off + off + 0.5 + 0.1, "{pad:?} {load_off} {off}");
            }
        }
    }
}

//! Pads found in random networks: exchanging one for itself changes nothing, and what is predicted of
//! any pad in its place is what the network solved with it says.

use netlist::network::{Network, PartKind};
use num_complex::Complex64;
use solver::grid::Grid;
use solver::nodal::{Drive as Amplifier, SourceImpedance};
use solver::pad::{PadInNetwork, PadLoad, PadSource, PadSourceKind, driver_level_db, find_pad};
use solver::spectrum::Spectrum;
use solver::synthesis::Pad;
use tests::pad::solved;
use tests::random_network::{RandomNetwork, Recipe, random_network};

const AMPLIFIER: Amplifier = Amplifier {
    open_circuit_v: 1.0,
    output_impedance_ohm: SourceImpedance::Resistance(1.8),
};
/// Two loads that tell what is behind a terminal, in ohm.
const TRIAL_OHM: [f64; 2] = [5.0, 40.0];

/// Voltage at a driver, counted among the drivers, over the grid.
fn at_driver(network: &Network, grid: &Grid, loads: &[Spectrum], number: usize) -> Spectrum {
    let loads: Vec<&Spectrum> = loads.iter().collect();
    let (plan, solution) = solved(network, grid, &loads, &AMPLIFIER);
    let (output, _) = plan.driver_outputs().nth(number).unwrap();
    solution.output(output)
}

/// What drives the pad, from the network without it.
fn feed(network: &Network, place: &PadInNetwork, grid: &Grid, loads: &[Spectrum]) -> PadSource {
    let bare = place.without_pad(network);
    let volts = TRIAL_OHM.map(|ohm| {
        let mut loads = loads.to_vec();
        loads[place.driver_number] = Spectrum::from_fn(grid.len(), |_| ohm.into());
        // Without the drivers that lie across this one.
        let left: Vec<&str> = bare.driver_names().collect();
        let own = network.driver_names().nth(place.driver_number).unwrap();
        let number = left.iter().position(|name| *name == own).unwrap();
        let loads: Vec<Spectrum> = (network.driver_names().zip(loads))
            .filter(|(name, _)| left.contains(name))
            .map(|(_, z)| z)
            .collect();
        at_driver(&bare, grid, &loads, number)
    });
    let [a, b] = TRIAL_OHM;
    let ahead = |i: usize| {
        let (va, vb) = (volts[0].at(i), volts[1].at(i));
        (vb - va) / (va / a - vb / b)
    };
    PadSource {
        open_circuit_v: 1.0,
        kind: PadSourceKind::Network,
        emf: Spectrum::from_fn(grid.len(), |i| volts[0].at(i) * (1.0 + ahead(i) / a)),
        source_ohm: Spectrum::from_fn(grid.len(), ahead),
    }
}

fn load(grid: &Grid, z_ohm: &Spectrum) -> PadLoad {
    let mut load = PadLoad::resistor(8.0);
    load.grid = grid.clone();
    load.z_ohm = z_ohm.clone();
    load
}

/// How far two voltages are apart, against the larger; what is next to nothing is left out.
fn apart(a: Complex64, b: Complex64) -> f64 {
    let most = a.norm().max(b.norm());
    if most < 1e-6 {
        0.0
    } else {
        (a - b).norm() / most
    }
}

#[test]
fn a_pad_that_is_found_is_what_it_is_taken_for() {
    let grid = Grid::log_spaced(60.0, 12_000.0, 12).unwrap();
    // Pads found, of these before the filter, of several resistors, with something across the driver, with
    // another driver there, and the first of a row.
    let mut found = [0; 6];
    for seed in 0..6000 {
        let recipe = Recipe {
            nodes: 2 + (seed % 6) as usize,
            lossless: false,
            windings: seed % 3 == 0,
        };
        let RandomNetwork { network, loads } = random_network(seed, recipe, &grid);
        let names: Vec<String> = network.driver_names().map(str::to_owned).collect();
        for name in &names {
            let place = find_pad(&network, name).unwrap();
            let Some(own) = place.pad else {
                continue;
            };
            found[0] += 1;
            found[1] += usize::from(place.ahead_of_filter());
            found[2] += usize::from(place.series.len() + place.shunt.len() > 2);
            found[3] += usize::from(!place.across.is_empty());
            found[4] += usize::from(!place.across_drivers.is_empty());
            found[5] += usize::from(place.tail);
            let before: Vec<Spectrum> = (0..names.len())
                .map(|number| at_driver(&network, &grid, &loads, number))
                .collect();
            let z_ohm = &loads[place.driver_number];
            let load = load(&grid, z_ohm).beside(&network, &place, &|name| {
                let number = names.iter().position(|of| of == name)?;
                Some(loads[number].clone())
            });
            let feed = feed(&network, &place, &grid, &loads);
            let other = Pad::LPad {
                series_ohm: 6.8,
                shunt_ohm: 4.7,
            };
            let tap = Pad::Autoformer {
                ratio: 0.45,
                shunt_ohm: Some(22.0),
            };
            for pad in [own, other, tap] {
                let with = place.with_pad(&network, Some(pad));
                let after: Vec<Spectrum> = (0..names.len())
                    .map(|number| at_driver(&with, &grid, &loads, number))
                    .collect();
                if pad == own {
                    for (before, after) in before.iter().zip(&after) {
                        for i in 0..grid.len() {
                            let off = apart(before.at(i), after.at(i));
                            assert!(off < 1e-6, "seed {seed}, {name}, {place:?}: {off:e}");
                        }
                    }
                }
                let bridged = matches!(pad, Pad::Autoformer { .. }) && !place.bridge.is_empty();
                if !place.beside.is_empty() || bridged {
                    continue;
                }
                let drive = driver_level_db(Some(pad), &load, &feed);
                for i in 0..grid.len() {
                    let solved = after[place.driver_number].at(i).norm();
                    let predicted = 10f64.powf(drive[i] / 20.0);
                    let off = apart(solved.into(), predicted.into());
                    assert!(
                        off < 1e-6,
                        "seed {seed}, {name}, {pad:?}, {place:?}: {off:e}"
                    );
                }
            }
        }
    }
    assert!(
        found[0] > 500 && found[1..].iter().all(|count| *count > 20),
        "{found:?}"
    );
}

/// Every resistor and autoformer that feeds a driver is either the pad's, counted with it, or named.
#[test]
fn nothing_that_attenuates_goes_unnamed() {
    let grid = Grid::log_spaced(60.0, 12_000.0, 3).unwrap();
    for seed in 0..500 {
        let recipe = Recipe {
            nodes: 4,
            lossless: false,
            windings: true,
        };
        let RandomNetwork { network, .. } = random_network(seed, recipe, &grid);
        let place = find_pad(&network, "driver 0").unwrap();
        let known = [&place.parts, &place.across, &place.bridge, &place.stays];
        // All that hangs at the driver's terminal is of its way.
        let terminal = network.parts().values().find_map(|part| match &part.kind {
            PartKind::Driver {
                driver, between, ..
            } if driver == "driver 0" => Some(between[0]),
            _ => None,
        });
        for (name, part) in network.parts() {
            let PartKind::Resistor { between, .. } = &part.kind else {
                continue;
            };
            if between.contains(&terminal.unwrap())
                && !between.contains(&netlist::network::NodeId::IN)
            {
                assert!(
                    known.iter().any(|of| of.contains(name)),
                    "seed {seed}: {name} of {place:?}"
                );
            }
        }
    }
}

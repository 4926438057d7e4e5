//! Laws of growing networks: what a move is predicted to do is what solving the changed network anew gives, at
//! every place of random networks and for every kind of section; and moves leave sound networks.

use netlist::network::{Network, PartKind};
use num_complex::Complex64;
use solver::grid::Grid;
use solver::nodal::{Output, Plan, Transfers, Values, Workspace};
use solver::search::grow::{Joining, Losses, Move, Place, Section, moved, places, signature};
use solver::spectrum::Spectrum;
use tests::random_network::{RandomNetwork, Recipe, random_network};

fn section(r_ohm: Option<f64>, l_h: Option<f64>, c_f: Option<f64>) -> Section {
    Section { r_ohm, l_h, c_f }
}

/// One of every kind.
fn sections() -> Vec<Section> {
    let (r, l, c) = (Some(7.0), Some(0.8e-3), Some(9e-6));
    vec![
        section(r, None, None),
        section(None, l, None),
        section(None, None, c),
        section(r, l, None),
        section(r, None, c),
        section(None, l, c),
        section(r, l, c),
    ]
}

struct Solved {
    transfers: Transfers,
    /// Voltage of each driver for one volt at `in`, by the driver's name.
    drivers: Vec<(String, Spectrum)>,
}

fn solve(network: &Network, loads: &[(String, Spectrum)], grid: &Grid) -> Solved {
    let plan = Plan::compile(network).unwrap();
    let load = |name: &String| &loads.iter().find(|(known, _)| known == name).unwrap().1;
    let loads: Vec<&Spectrum> = plan.drivers().iter().map(load).collect();
    let mut workspace = Workspace::new(&plan, grid, &loads).unwrap();
    let transfers = Transfers::new(&plan, &Values::of(network), &mut workspace);
    let outputs: Vec<Output> = plan.driver_outputs().map(|(output, _)| output).collect();
    let drivers = plan.drivers().iter().cloned().zip(&outputs);
    Solved {
        drivers: drivers
            .map(|(name, &output)| (name, transfers.output(output)))
            .collect(),
        transfers,
    }
}

fn near(predicted: Complex64, anew: Complex64, scale: f64, what: &dyn std::fmt::Debug) {
    let error = (predicted - anew).norm();
    assert!(
        error <= 1e-9 * (anew.norm() + scale),
        "{what:?}: {predicted} against {anew}"
    );
}

#[test]
fn a_move_does_what_solving_anew_says() {
    let grid = Grid::log_spaced(30.0, 18_000.0, 11).unwrap();
    let mut tried = 0;
    for seed in 0..12 {
        let recipe = Recipe {
            nodes: 2 + (seed as usize) % 4,
            lossless: false,
            windings: seed % 3 == 0,
        };
        let RandomNetwork { network, loads } = random_network(seed, recipe, &grid);
        let names: Vec<String> = network.driver_names().map(String::from).collect();
        let loads: Vec<(String, Spectrum)> = names.into_iter().zip(loads).collect();
        let before = solve(&network, &loads, &grid);
        for place in places(&network, &vec![true; network.parts().len()]) {
            for section in sections() {
                let step = Move::Add(place.clone(), section);
                let Some(next) = moved(&network, &step, &Losses::NONE) else {
                    continue;
                };
                // Parts that act as one with what was there lose a little of their own loss.
                if next.parts().len() != network.parts().len() + section.part_count() {
                    continue;
                }
                tried += 1;
                let anew = solve(&next, &loads, &grid);
                let change = match &place {
                    Place::Across(nodes) => before.transfers.across(*nodes),
                    Place::InLead { node, parts } => {
                        let branches = before.transfers.branches();
                        let group: Vec<usize> = (parts.iter())
                            .filter_map(|p| branches.iter().position(|b| b.part == *p))
                            .collect();
                        before.transfers.in_series(*node, &group)
                    }
                };
                for i in 0..grid.len() {
                    let omega = grid.omega()[i];
                    let q = section.immittance(place.joining(), &Losses::NONE, omega);
                    let factor = q / (1.0 + change.divisor.at(i) * q);
                    for ((name, own), n) in before.drivers.iter().zip(&change.output) {
                        let predicted = own.at(i) - n.at(i) * factor;
                        let (_, found) = anew
                            .drivers
                            .iter()
                            .find(|(known, _)| known == name)
                            .unwrap();
                        near(predicted, found.at(i), 1e-3, &(seed, &step, name, i));
                    }
                    let predicted =
                        before.transfers.input_admittance().at(i) + change.input.at(i) * factor;
                    let found = anew.transfers.input_admittance().at(i);
                    near(predicted, found, 1e-3, &(seed, &step, i));
                }
            }
        }
    }
    assert!(tried > 1000, "{tried}");
}

/// Whatever is taken out, shorted or exchanged, what is left can be solved or is told not to be a network.
#[test]
fn what_a_move_leaves_is_a_network() {
    let grid = Grid::log_spaced(30.0, 18_000.0, 3).unwrap();
    for seed in 0..40 {
        let recipe = Recipe {
            nodes: 5,
            lossless: false,
            windings: seed % 2 == 0,
        };
        let RandomNetwork { network, .. } = random_network(seed, recipe, &grid);
        for (index, part) in network.parts().values().enumerate() {
            let plain = matches!(
                part.kind,
                PartKind::Resistor { .. } | PartKind::Inductor { .. } | PartKind::Capacitor { .. }
            );
            if !plain {
                continue;
            }
            let other = section(None, None, Some(1e-6));
            for step in [
                Move::Open(index),
                Move::Short(index),
                Move::Exchange(index, other),
            ] {
                let Some(next) = moved(&network, &step, &Losses::NONE) else {
                    continue;
                };
                assert_eq!(next.driver_names().count(), network.driver_names().count());
                // A driver that is cut off is for the solver to refuse.
                let _ = Plan::compile(&next);
            }
        }
    }
}

#[test]
fn a_signature_knows_a_shape_whatever_its_names_and_order() {
    let grid = Grid::log_spaced(30.0, 18_000.0, 3).unwrap();
    let mut seen = std::collections::BTreeSet::new();
    for seed in 0..60 {
        let recipe = Recipe {
            nodes: 4,
            lossless: false,
            windings: false,
        };
        let RandomNetwork { network, .. } = random_network(seed, recipe, &grid);
        // The same parts the other way round, under other names.
        let mut turned = Network::new();
        let again: Vec<_> = network.node_names().map(String::from).collect();
        let parts: Vec<_> = network.parts().values().cloned().collect();
        for (i, mut part) in parts.into_iter().enumerate().rev() {
            let mut at = |node: netlist::network::NodeId| match node.0 {
                0 | 1 => node,
                _ => turned.node(&format!("x{}", again[node.0])),
            };
            match &mut part.kind {
                PartKind::Resistor { between, .. }
                | PartKind::Inductor { between, .. }
                | PartKind::Capacitor { between, .. }
                | PartKind::Driver { between, .. } => *between = between.map(&mut at),
                _ => unreachable!("no windings were asked for"),
            }
            turned.insert(format!("p{i}"), part);
        }
        assert_eq!(signature(&network), signature(&turned), "{seed}");
        seen.insert(signature(&network));
    }
    assert!(seen.len() > 50, "different shapes differ: {}", seen.len());
}

#[test]
fn sections_join_as_their_place_asks() {
    let omega = 2000.0;
    let both = section(Some(3.0), Some(2e-3), None);
    let y = both.immittance(Joining::InSeries, &Losses::NONE, omega);
    assert!((y.inv() - Complex64::new(3.0, 4.0)).norm() < 1e-12);
    let z = both.immittance(Joining::SideBySide, &Losses::NONE, omega);
    let right = 1.0 / (1.0 / 3.0 + 1.0 / Complex64::new(0.0, 4.0));
    assert!((z - right).norm() < 1e-12);
}

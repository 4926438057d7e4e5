//! Random networks of all part kinds, from a seed.

use netlist::network::{Network, NodeId, Part, PartKind, Tap};
use netlist::quantity::{Farads, Henries, Ohms};
use num_complex::Complex64;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use solver::grid::Grid;
use solver::spectrum::Spectrum;

/// A random network with the loads of its drivers.
#[derive(Debug, Clone)]
pub struct RandomNetwork {
    /// The network.
    pub network: Network,
    /// Impedance of each driver over the grid, in the order of the parts; ohm.
    pub loads: Vec<Spectrum>,
}

/// What a random network may hold.
#[derive(Debug, Clone, Copy)]
pub struct Recipe {
    /// Nodes besides `gnd` and `in`, at least 1.
    pub nodes: usize,
    /// Coils and capacitors without loss, so that resonances are undamped.
    pub lossless: bool,
    /// Autoformers and coupled coils may occur.
    pub windings: bool,
}

/// A connected random network: a chain of parts that reaches every node, a part to `gnd` at many of
/// them, and some parts across.
#[must_use]
pub fn random_network(seed: u64, recipe: Recipe, grid: &Grid) -> RandomNetwork {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut network = Network::new();
    let mut nodes = vec![NodeId::IN];
    for i in 0..recipe.nodes {
        let node = network.node(&format!("n{i}"));
        // Mostly chains, as in a crossover, with some branching.
        let from = if rng.random_bool(0.7) {
            nodes[nodes.len() - 1]
        } else {
            nodes[rng.random_range(0..nodes.len())]
        };
        add_part(&mut network, &mut rng, recipe, from, node);
        if rng.random_bool(0.6) {
            add_part(&mut network, &mut rng, recipe, node, NodeId::GND);
        }
        nodes.push(node);
    }
    for _ in 0..recipe.nodes / 3 {
        let a = nodes[rng.random_range(0..nodes.len())];
        let b = nodes[rng.random_range(0..nodes.len())];
        if a != b {
            add_part(&mut network, &mut rng, recipe, a, b);
        }
    }
    let drivers = 1 + recipe.nodes / 4;
    for i in 0..drivers {
        let last = nodes[nodes.len() - 1 - i.min(nodes.len() - 2)];
        let other = if rng.random_bool(0.8) {
            NodeId::GND
        } else {
            nodes[rng.random_range(0..nodes.len())]
        };
        let between = [last, if other == last { NodeId::GND } else { other }];
        insert(
            &mut network,
            PartKind::Driver {
                driver: format!("driver {i}"),
                between,
                inverted: rng.random_bool(0.5),
            },
        );
    }
    if recipe.windings {
        couple(&mut network, &mut rng);
    }
    let loads = (0..drivers).map(|_| random_load(&mut rng, grid)).collect();
    RandomNetwork { network, loads }
}

fn insert(network: &mut Network, kind: PartKind) {
    let name = format!("P{}", network.parts().len());
    network.insert(name, Part::new(kind));
}

fn log_uniform(rng: &mut impl Rng, from: f64, to: f64) -> f64 {
    from * (to / from).powf(rng.random_range(0.0..1.0))
}

fn add_part(network: &mut Network, rng: &mut impl Rng, recipe: Recipe, a: NodeId, b: NodeId) {
    let between = [a, b];
    let loss = |rng: &mut dyn FnMut() -> f64| if recipe.lossless { 0.0 } else { rng() };
    let kinds = if recipe.windings { 7 } else { 6 };
    let kind = match rng.random_range(0..kinds) {
        0 | 1 if !(recipe.lossless && rng.random_bool(0.7)) => PartKind::Resistor {
            resistance: Ohms(log_uniform(rng, 0.3, 100.0)),
            between,
        },
        0..=3 => PartKind::Inductor {
            inductance: Henries(log_uniform(rng, 50e-6, 20e-3)),
            dcr: Ohms(loss(&mut || log_uniform(rng, 0.02, 2.0))),
            between,
        },
        4 | 5 => PartKind::Capacitor {
            capacitance: Farads(log_uniform(rng, 0.3e-6, 300e-6)),
            esr: Ohms(loss(&mut || log_uniform(rng, 0.002, 0.3))),
            between,
        },
        _ => {
            let taps = (0..rng.random_range(1..4))
                .map(|i| {
                    let name = format!("tap{}-{i}", network.parts().len());
                    Tap {
                        node: network.node(&name),
                        ratio: 0.8 - 0.2 * f64::from(i) - rng.random_range(0.0..0.1),
                    }
                })
                .collect();
            PartKind::Autoformer {
                inductance: Henries(log_uniform(rng, 5e-3, 0.2)),
                dcr: Ohms(log_uniform(rng, 0.1, 2.0)),
                coupling: rng.random_range(0.9..0.9995),
                between,
                taps,
            }
        }
    };
    insert(network, kind);
}

/// Couples some coils: a pair, or three in a row, with factors that real coils can have.
fn couple(network: &mut Network, rng: &mut impl Rng) {
    let coils: Vec<String> = network
        .parts()
        .iter()
        .filter(|(_, part)| matches!(part.kind, PartKind::Inductor { .. }))
        .map(|(name, _)| name.clone())
        .collect();
    for pair in coils.windows(2) {
        if rng.random_bool(0.4) {
            insert(
                network,
                PartKind::Coupling {
                    inductors: [pair[0].clone(), pair[1].clone()],
                    factor: rng.random_range(0.001..0.49),
                },
            );
        }
    }
}

/// A voice coil: resistance, inductance and one resonance.
fn random_load(rng: &mut impl Rng, grid: &Grid) -> Spectrum {
    let re = log_uniform(rng, 3.0, 12.0);
    let l = log_uniform(rng, 0.02e-3, 1e-3);
    let f0 = log_uniform(rng, 30.0, 1500.0);
    let (peak, q) = (log_uniform(rng, 5.0, 60.0), log_uniform(rng, 0.5, 6.0));
    Spectrum::from_fn(grid.len(), |i| {
        let x = grid.f_hz()[i] / f0;
        let resonance = peak / Complex64::new(1.0, q * (x - 1.0 / x));
        Complex64::new(re, grid.omega()[i] * l) + resonance
    })
}

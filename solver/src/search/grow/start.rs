//! What growing begins with: ladders from closed forms, and ways joined into a loudspeaker.

use netlist::network::{Network, PartKind, numbered_name};

use super::population::Population;
use super::problem::{Fitted, PART_WORTH, Problem};
use crate::search::job::Job;
use crate::search::values::{set_losses, set_value};
use crate::stock::{stock_kind, value_bounds};
use crate::synthesis::{PadForm, WayShape, WayStart};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// What the closed-form values of `way` are worked out from, for an aim of `level_db`.
#[must_use]
pub fn way_start(job: &Job, way: usize, level_db: f64) -> WayStart {
    let data = &job.ways[way];
    let (from_hz, to_hz) = job.band_hz(way);
    let near = |f_hz: f64| {
        let after = job.grid.f_hz().partition_point(|f| *f < f_hz);
        data.z_ohm.at(after.min(job.grid.len() - 1)).norm()
    };
    WayStart {
        from_hz,
        to_hz,
        load_ohm: if way == 0 {
            near(to_hz)
        } else {
            near(from_hz * 1.5)
        },
        attenuation_db: (data.level_db - level_db).max(0.5),
        autoformer: job.stock.autoformers,
    }
}

/// Attenuation from which a way is begun with a pad, dB.
const PAD_FROM_DB: f64 = 1.5;

/// Ladders of one to four parts on each side, with and without a pad; each in closed-form values and, with
/// more than one start, in `starts - 1` random ones about them.
#[must_use]
pub fn ladders(job: &Job, way: usize, level_db: f64, starts: usize, seed: u64) -> Vec<Network> {
    let start = way_start(job, way, level_db);
    let last = job.ways.len() - 1;
    let high = if way == 0 { 0..=0 } else { 1..=4 };
    let mut pads = vec![PadForm::None];
    if job.ways[way].level_db - level_db > PAD_FROM_DB {
        pads.extend([PadForm::Series, PadForm::After]);
        pads.extend(taps(job, way, level_db).map(|steps| PadForm::Autoformer { steps }));
    }
    let mut networks = Vec::new();
    for high_pass in high {
        let low = if way == last { 0..=0 } else { 1..=4 };
        for low_pass in low {
            for &pad in &pads {
                let shape = WayShape {
                    high_pass,
                    low_pass,
                    pad,
                };
                let mut network = Network::new();
                let built = shape.build(&mut network, &job.ways[way].name, false, &start);
                if built.is_ok() {
                    set_losses(job, &mut network);
                    networks.push(network);
                }
            }
        }
    }
    let closed_forms = networks.len();
    for number in 0..closed_forms {
        for start in 1..starts {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            rng.set_stream(((way as u64) << 48) | ((number as u64) << 24) | start as u64);
            let mut network = networks[number].clone();
            for part in network.parts_mut().values_mut() {
                if let Some(kind) = stock_kind(&part.kind) {
                    let (least, most) = value_bounds(&job.stock, kind);
                    let spread = f64::exp(rng.random_range(-SPREAD..SPREAD));
                    let value = part.value_si().unwrap_or(1.0) * spread;
                    let loss = part.loss_ohm().unwrap_or(0.0);
                    set_value(&mut part.kind, value.clamp(least, most), loss);
                }
            }
            set_losses(job, &mut network);
            networks.push(network);
        }
    }
    networks
}

/// Random starts lie within a factor of e to this power of the closed form.
const SPREAD: f64 = 1.2;

/// Taps of the stock's autoformers that take away what is too much, and their neighbours.
fn taps(job: &Job, way: usize, level_db: f64) -> impl Iterator<Item = u8> {
    let range = job.stock.autoformers;
    let wanted = range.map(|range| (job.ways[way].level_db - level_db) / range.step.0);
    let most = range.map_or(0, |range| range.taps());
    [-1.0, 0.0, 1.0].into_iter().filter_map(move |by| {
        let steps = (wanted? + by).round();
        (steps >= 1.0 && steps <= f64::from(most)).then_some(steps as u8)
    })
}

/// Networks of the ways put together, from the simplest of each to the best: for every number of parts
/// those sets whose ways alone are best, `most` in all.
#[must_use]
pub fn sets(ways: &[Population], most: usize) -> Vec<Vec<&Fitted>> {
    let fronts: Vec<Vec<&Fitted>> = ways
        .iter()
        .map(|way| way.members().map(|member| &member.fitted).collect())
        .collect();
    let mut sets: Vec<Vec<&Fitted>> = vec![Vec::new()];
    for front in &fronts {
        sets = (sets.iter())
            .flat_map(|head| {
                front.iter().map(move |fitted| {
                    let mut set = head.clone();
                    set.push(*fitted);
                    set
                })
            })
            .collect();
        sets.sort_by(|a, b| set_rank(a).total_cmp(&set_rank(b)));
        sets = of_every_size(sets);
    }
    sets.sort_by(|a, b| set_rank(a).total_cmp(&set_rank(b)));
    sets.truncate(most);
    sets
}

fn set_size(set: &[&Fitted]) -> usize {
    set.iter().map(|fitted| fitted.part_count()).sum()
}

fn set_rank(set: &[&Fitted]) -> f64 {
    let expected: f64 = set.iter().map(|fitted| fitted.expected()).sum();
    expected + PART_WORTH * set_size(set) as f64
}

/// Sets of every size that are begun with.
const OF_A_SIZE: usize = 6;

/// The best sets of every size.
fn of_every_size(sets: Vec<Vec<&Fitted>>) -> Vec<Vec<&Fitted>> {
    let mut counts = std::collections::BTreeMap::new();
    sets.into_iter()
        .filter(|set| {
            let count: &mut usize = counts.entry(set_size(set)).or_default();
            *count += 1;
            *count <= OF_A_SIZE
        })
        .collect()
}

/// One network of several, each with its own nodes, and the wires of the drivers swapped as said.
#[must_use]
pub fn join(networks: &[&Network], inverted: &[bool]) -> Network {
    let mut whole = Network::new();
    // A driver may be called like a part.
    let of_driver = |name: &str| {
        let part = networks
            .iter()
            .find_map(|network| network.parts().get(name));
        part.is_some_and(|part| matches!(part.kind, PartKind::Driver { .. }))
    };
    for (number, (network, &swapped)) in networks.iter().zip(inverted).enumerate() {
        let names: Vec<&str> = network.node_names().collect();
        for (name, part) in network.parts() {
            let mut part = part.clone();
            for node in part.kind.nodes_mut() {
                if node.is_inner() {
                    *node = whole.node(&format!("w{number}{}", names[node.0]));
                }
            }
            if let PartKind::Driver { inverted, .. } = &mut part.kind {
                *inverted = swapped;
            }
            let name = match part.kind.letter() {
                Some(letter) => numbered_name(letter, |name| {
                    whole.parts().contains_key(name) || of_driver(name)
                }),
                None => name.clone(),
            };
            whole.insert(name, part);
        }
    }
    whole
}

/// Every set in its best polarity, fitted for a few steps.
#[must_use]
pub fn in_best_polarity(
    problem: &Problem<'_>,
    set: &[&Fitted],
    level_db: f64,
    steps: usize,
) -> Option<Fitted> {
    let networks: Vec<&Network> = set.iter().map(|fitted| &fitted.network).collect();
    let upper = set.len() - 1;
    let mut best: Option<Fitted> = None;
    for mask in 0..1usize << upper {
        let inverted: Vec<bool> = (0..set.len())
            .map(|way| way > 0 && mask >> (way - 1) & 1 == 1)
            .collect();
        let network = join(&networks, &inverted);
        let fitted = problem.fit_while(&network, level_db, steps, 1e-3);
        if let Some(fitted) = fitted
            && best.as_ref().is_none_or(|best| fitted.cost < best.cost)
        {
            best = Some(fitted);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use netlist::network::{NodeId, Part};
    use netlist::quantity::Ohms;

    use super::*;

    /// A resistor before a driver whose part is named `driver`.
    fn way(driver: &str) -> Network {
        let mut network = Network::new();
        let end = network.node("a");
        let resistor = PartKind::Resistor {
            resistance: Ohms(3.3),
            between: [NodeId::IN, end],
        };
        let of_driver = PartKind::Driver {
            driver: driver.to_lowercase(),
            between: [end, NodeId::GND],
            inverted: false,
        };
        network.insert("R1".to_owned(), Part::new(resistor));
        network.insert(driver.to_owned(), Part::new(of_driver));
        network
    }

    #[test]
    fn a_driver_called_like_a_part_takes_no_part_s_place() {
        let whole = join(
            &[&way("LOW"), &way("R2"), &way("R1_")],
            &[false, true, false],
        );
        let names: Vec<&String> = whole.parts().keys().collect();
        assert_eq!(names, ["R1", "LOW", "R3", "R2", "R4", "R1_"]);
        let PartKind::Driver { inverted, .. } = whole.parts()["R2"].kind else {
            panic!("a driver");
        };
        assert!(inverted);
    }
}

//! Snapping against plain enumeration: every combination is put into the network and the goal of the
//! search is worked out for it anew, by another way through the program.

use std::path::Path;

use netlist::network::{Network, PartKind};
use netlist::project::{Project, load, load_from};
use netlist::quantity::{Farads, Henries, Ohms};
use solver::goal::{Objective, Setting, Targets};
use solver::judge::check::{assess, in_order_of_ways};
use solver::search::{
    Effort, JOINT_WEIGHTS, Job, Known, LOAD_MARGIN, PartChoices, SnapSettings, Snapped,
    audio_loads, design, snap_network,
};

/// A two-way of eight parts, on drivers from data sheets.
const TWO_WAY: &str = r#"
[amplifier]
output_impedance = "0.8 ohm"
rated_load = "8 ohm"

[aim]
from = "80 Hz"
to = "15 kHz"

[drivers.low]
modelled = { re = "5.9 ohm", fs = "41 Hz", qms = 4.2, qes = 0.37, vas = "70 L", sd = "350 cm2", l1 = "0.4 mH", l2 = "0.6 mH", r2 = "8 ohm", box = { volume = "45 L" } }

[drivers.high]
modelled = { re = "5.7 ohm", l1 = "0.04 mH", level = "101 dB", resonances = [ { r = "14 ohm", f = "700 Hz", q = 2 } ], horn = { cutoff = "650 Hz", order = 2, q = 0.7 } }
position = { back = "20 mm" }

[[crossovers]]
between = ["low", "high"]
frequency = "1.5 kHz"
alignment = "LR4"

[stock]
capacitors = { series = "E6", from = "0.1 uF", to = "220 uF", esr = "20 mohm" }
inductors = { series = "E6", from = "50 uH", to = "12 mH", wire = "1 mm" }
resistors = { series = "E6", from = "0.47 ohm", to = "100 ohm" }

[parts]
L1 = { inductor = "1.31 mH", between = ["in", "l1"], dcr = "0.4 ohm" }
C1 = { capacitor = "12.4 uF", between = ["l1", "gnd"], esr = "20 mohm" }
R1 = { resistor = "7.3 ohm", between = ["l1", "l2"] }
C2 = { capacitor = "8.2 uF", between = ["l2", "gnd"], esr = "20 mohm" }
LOW = { driver = "low", between = ["l1", "gnd"] }
C3 = { capacitor = "5.6 uF", between = ["in", "h1"], esr = "20 mohm" }
L2 = { inductor = "0.62 mH", between = ["h1", "gnd"], dcr = "0.3 ohm" }
R2 = { resistor = "6.1 ohm", between = ["h1", "h2"] }
R3 = { resistor = "3.9 ohm", between = ["h2", "gnd"] }
HIGH = { driver = "high", between = ["h2", "gnd"], inverted = true }
"#;

fn two_way(change: &[(&str, &str)]) -> Project {
    let mut text = TWO_WAY.to_owned();
    for (old, new) in change {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let read = move |_: &Path| -> std::io::Result<Vec<u8>> { Ok(text.clone().into_bytes()) };
    load_from(&read, Path::new("two-way.toml")).unwrap().project
}

fn demo(name: &str) -> Project {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo");
    load(&folder.join(name)).unwrap().project
}

/// The goal of a network at the level that suits it best: the goal is a parabola in the level, so three
/// levels say all of it.
fn goal(job: &Job, targets: &Targets, network: &Network) -> f64 {
    let ordered = in_order_of_ways(job, network);
    let setting = Setting {
        grid: &job.grid,
        drive: job.drive,
        loads_z_ohm: job.ways.iter().map(|way| &way.z_ohm).collect(),
        sound: job.ways.iter().map(|way| &way.sound).collect(),
        targets: targets.clone(),
        least_load_ohm: LOAD_MARGIN * job.least_load_ohm - job.cable_ohm,
        weights: JOINT_WEIGHTS,
        level_db: None,
        loudest_db: job.loudest_db(),
    };
    let mut objective = Objective::new(&ordered, &[], setting).unwrap();
    let mut room = Vec::new();
    let mut at = |db: f64| objective.cost(&[db * std::f64::consts::LN_10 / 20.0], &mut room);
    let [a, b, c] = [90.0, 95.0, 100.0].map(&mut at);
    let (curvature, slope) = ((a - 2.0 * b + c) / 50.0, (c - a) / 10.0);
    at(95.0 - slope / (2.0 * curvature))
}

/// The network with a choice of one part in place, all in the order of `parts`.
fn with(network: &Network, parts: &[PartChoices], chosen: &[usize]) -> Network {
    let mut network = network.clone();
    for (part, &chosen) in parts.iter().zip(chosen) {
        let choice = &part.choices[chosen];
        match &mut network.parts_mut()[part.part].kind {
            PartKind::Resistor { resistance, .. } => *resistance = Ohms(choice.value_si),
            PartKind::Inductor {
                inductance, dcr, ..
            } => {
                *inductance = Henries(choice.value_si);
                *dcr = Ohms(choice.loss_ohm);
            }
            PartKind::Capacitor {
                capacitance, esr, ..
            } => {
                *capacitance = Farads(choice.value_si);
                *esr = Ohms(choice.loss_ohm);
            }
            _ => panic!("no part of the stock"),
        }
    }
    network
}

/// The least goal over all combinations of `free` (numbers of parts), the rest as chosen.
fn by_enumeration(
    job: &Job,
    targets: &Targets,
    network: &Network,
    snapped: &Snapped,
    free: &[usize],
) -> (f64, Vec<usize>) {
    let mut best = (f64::INFINITY, Vec::new());
    let mut chosen = snapped.best.chosen.clone();
    let count: usize = (free.iter())
        .map(|&part| snapped.parts[part].choices.len())
        .product();
    for number in 0..count {
        let mut rest = number;
        for &part in free {
            let size = snapped.parts[part].choices.len();
            chosen[part] = rest % size;
            rest /= size;
        }
        let cost = goal(job, targets, &with(network, &snapped.parts, &chosen));
        if cost < best.0 {
            best = (cost, chosen.clone());
        }
    }
    best
}

fn snap(project: &Project, window: usize) -> (Job, Targets, Snapped) {
    let network = project.network.as_ref().unwrap();
    let assessment = assess(project, network).unwrap();
    let targets = assessment.job.targets(&assessment.alignments);
    let settings = SnapSettings {
        window,
        robust: None,
    };
    let level_db = assessment.figures.level_db;
    let snapped = snap_network(&assessment.job, &targets, network, level_db, settings).unwrap();
    (assessment.job, targets, snapped)
}

#[test]
fn a_two_way_is_the_best_of_all_combinations() {
    for change in [
        vec![],
        vec![(
            "output_impedance = \"0.8 ohm\"",
            "output_impedance = \"0 ohm\"",
        )],
    ] {
        let project = two_way(&change);
        let network = project.network.as_ref().unwrap();
        let (job, targets, snapped) = snap(&project, 1);
        assert_eq!(snapped.parts.len(), 8);
        let all: Vec<usize> = (0..8).collect();
        let (cost, chosen) = by_enumeration(&job, &targets, network, &snapped, &all);
        assert_eq!(
            snapped.best.chosen, chosen,
            "{cost} and {}",
            snapped.best.cost
        );
        assert!((snapped.best.cost / cost - 1.0).abs() < 1e-7);
        let before = goal(&job, &targets, network);
        assert!(
            (snapped.ideal_cost / before - 1.0).abs() < 1e-7,
            "the goals are one"
        );
        assert!(snapped.nearest.cost >= snapped.best.cost);
    }
}

#[test]
fn a_three_way_is_the_best_of_each_way() {
    let project = demo("network.toml");
    let network = project.network.as_ref().unwrap();
    let mut project_of_singles = project.clone();
    if let Some(capacitors) = &mut project_of_singles.stock.capacitors {
        capacitors.together = 1;
    }
    let (job, targets, snapped) = snap(&project_of_singles, 1);
    assert_eq!(snapped.known, Known::WayByWay);
    for letters in ["l", "m", "h"] {
        // Nodes of the demo's network are named after their way.
        let free: Vec<usize> = (0..snapped.parts.len())
            .filter(|&number| {
                let part = &network.parts()[snapped.parts[number].part];
                let nodes = part
                    .kind
                    .between()
                    .unwrap()
                    .map(|node| network.node_name(node));
                nodes.iter().any(|name| name.starts_with(letters))
            })
            .collect();
        assert!(free.len() >= 4, "{letters}");
        let (cost, chosen) = by_enumeration(&job, &targets, network, &snapped, &free);
        assert_eq!(snapped.best.chosen, chosen, "{letters}");
        assert!((snapped.best.cost / cost - 1.0).abs() < 1e-7);
    }
}

/// The demo's design before its values were moved onto the stock.
fn ideal_demo() -> Project {
    let mut project = demo("brief.toml");
    let job = Job::new(&project).unwrap();
    let audio = audio_loads(&project, &job).unwrap();
    let outcome = design(job, &audio, Effort::default(), &|| false, &mut |_| {}).unwrap();
    let ideal = &outcome.proposals[0].1.ideal;
    let (cost, network) = (ideal.cost, ideal.network.clone());
    project.network = Some(network);
    let targets = outcome.job.targets(&outcome.alignments);
    let again = goal(&outcome.job, &targets, project.network.as_ref().unwrap());
    assert!((again / cost - 1.0).abs() < 1e-3, "{again} and {cost}");
    project
}

#[test]
fn never_worse_than_the_nearest_values_and_mostly_far_better() {
    let project = ideal_demo();
    for (series, least) in [("E6", 0.7), ("E12", 0.5), ("E24", 0.5)] {
        let mut project = project.clone();
        let series = series.parse().unwrap();
        let stock = &mut project.stock;
        for range in [
            &mut stock.capacitors,
            &mut stock.inductors,
            &mut stock.resistors,
        ] {
            range.as_mut().unwrap().series = series;
        }
        let (_, _, snapped) = snap(&project, 1);
        let added = snapped.nearest.cost - snapped.ideal_cost;
        let removed = 1.0 - (snapped.best.cost - snapped.ideal_cost) / added;
        assert!(
            added > 0.0 && removed >= least,
            "{series}: {removed} of {added}"
        );
    }
}

#[test]
fn one_thread_and_two_give_the_same_choice() {
    let project = two_way(&[]);
    let [one, two] = [1, 2].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| snap(&project, 2).2)
    });
    assert_eq!(one.best, two.best);
    assert_eq!(one.best.cost.to_bits(), two.best.cost.to_bits());
    assert_eq!(one.alternatives, two.alternatives);
}

#[test]
fn fixed_parts_stay_and_counts_and_prices_limit_the_choice() {
    let project = two_way(&[
        (
            "R3 = { resistor = \"3.9 ohm\",",
            "R3 = { resistor = \"3.9 ohm\", fixed = true,",
        ),
        (
            "resistors = { series = \"E6\", from = \"0.47 ohm\", to = \"100 ohm\" }",
            "catalogue = [ { kind = \"resistor\", value = \"6.8 ohm\", count = 1, price = 2.0, name = \"drawer\" }, \
             { kind = \"resistor\", value = \"8.2 ohm\", count = 4, price = 1.0 } ]",
        ),
    ]);
    let (_, _, snapped) = snap(&project, 3);
    let network = project.network.as_ref().unwrap();
    let kept: Vec<&str> = (snapped.kept.iter())
        .map(|&part| network.parts().get_index(part).unwrap().0.as_str())
        .collect();
    assert_eq!(kept, ["R3"]);
    assert_eq!(
        snapped.best.network.parts()["R3"],
        network.parts()["R3"],
        "a fixed part is not touched"
    );
    // R1 and R2 are both nearest to 6.8 ohm, and there is one of it.
    let resistors: Vec<f64> = ["R1", "R2"]
        .iter()
        .map(|name| snapped.best.network.parts()[*name].value_si().unwrap())
        .collect();
    assert!(
        resistors
            .iter()
            .filter(|ohm| (**ohm - 6.8).abs() < 1e-9)
            .count()
            <= 1,
        "{resistors:?}"
    );
    assert!(snapped.best.cost.is_finite());
    assert_eq!(snapped.best.price, None, "coils of a series have no price");
}

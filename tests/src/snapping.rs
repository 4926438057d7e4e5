//! What tests of snapping share: small projects on the demo's drivers, and a plain second opinion on
//! the goal of a choice.

use std::path::Path;

use netlist::network::{Network, PartKind};
use netlist::project::{Project, load, load_from};
use netlist::quantity::{Farads, Henries, Ohms};
use solver::goal::{Objective, Setting};
use solver::judge::check::{Assessment, assess};
use solver::search::{JOINT_WEIGHTS, LOAD_MARGIN, SnapGoal, SnapSettings, Snapped, snap_network};
use solver::stock::{Choice, JOINED_PART, PartChoices};

/// A file of the demo.
#[must_use]
pub fn demo(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../cli/demo")
        .join(name)
}

/// A project of the demo.
///
/// # Panics
/// If it cannot be read.
#[must_use]
pub fn plain(name: &str) -> Project {
    load(&demo(name)).expect("a demo project").project
}

/// A two-way with eight parts, none of a value that any series has.
pub const TWO_WAY_PARTS: &str = r#"
[parts]
L1 = { inductor = "3.05 mH", between = ["in", "l1"], dcr = "0.62 ohm" }
C1 = { capacitor = "36 uF", between = ["l1", "l2"], esr = "20 mohm" }
R1 = { resistor = "1.3 ohm", between = ["l2", "gnd"] }
LOW = { driver = "low", between = ["l1", "gnd"] }
C2 = { capacitor = "13 uF", between = ["in", "m1"], esr = "20 mohm" }
L2 = { inductor = "1.35 mH", between = ["m1", "gnd"], dcr = "0.4 ohm" }
R2 = { resistor = "9.6 ohm", between = ["m1", "m2"] }
C3 = { capacitor = "1.35 uF", between = ["m1", "m2"], esr = "20 mohm" }
R3 = { resistor = "5.3 ohm", between = ["m2", "gnd"] }
MID = { driver = "mid", between = ["m2", "gnd"] }
"#;

/// The demo's two-way brief with those parts, its text changed by `change`.
///
/// # Panics
/// If it cannot be read.
#[must_use]
pub fn two_way(change: impl Fn(String) -> String) -> Project {
    let files = move |path: &Path| -> std::io::Result<Vec<u8>> {
        let mut text = std::fs::read_to_string(path)?;
        if path.ends_with("two-way.toml") {
            text.push_str(TWO_WAY_PARTS);
            text = change(text);
        }
        Ok(text.into_bytes())
    };
    load_from(&files, &demo("two-way.toml"))
        .expect("a demo project")
        .project
}

/// The goal at the values as printed, towards the aim: what [`plain_cost`] works out by other means.
pub const AS_PRINTED: SnapSettings = SnapSettings {
    goal: SnapGoal::Aim,
    window: 3,
    joined: true,
    budget: None,
    robust: false,
    seed: 1,
};

/// Snaps a project.
///
/// # Panics
/// If it has no network or one that cannot be judged.
#[must_use]
pub fn snapped(project: &Project, settings: SnapSettings) -> (Assessment, Snapped) {
    let network = project.network.as_ref().expect("a network");
    let ideal = assess(project, network).expect("a network that can be judged");
    let targets = ideal.job.targets(&ideal.alignments);
    let level_db = ideal.figures.level_db;
    let outcome = snap_network(&ideal.job, &targets, network, level_db, settings, &|| false);
    (ideal, outcome.expect("a network that can be solved"))
}

/// The network with other values, its drivers in the order of the ways.
///
/// # Panics
/// If a part has no value.
#[must_use]
pub fn with_choices(
    ideal: &Assessment,
    network: &Network,
    chosen: &[(&PartChoices, &Choice)],
) -> Network {
    let mut network = network.clone();
    for (part, choice) in chosen {
        let kind = &mut network.parts_mut()[part.part].kind;
        match kind {
            PartKind::Resistor { resistance, .. } => *resistance = Ohms(choice.value_si),
            PartKind::Inductor {
                inductance, dcr, ..
            } => {
                (*inductance, *dcr) = (Henries(choice.value_si), Ohms(choice.loss_ohm));
            }
            PartKind::Capacitor {
                capacitance, esr, ..
            } => {
                (*capacitance, *esr) = (Farads(choice.value_si), Ohms(choice.loss_ohm));
            }
            other => panic!("{other:?} has no value of the stock"),
        }
    }
    let order: Vec<&str> = ideal.job.ways.iter().map(|way| way.name.as_str()).collect();
    let drivers: Vec<&str> = network.driver_names().collect();
    assert_eq!(
        order, drivers,
        "the tests' networks have their drivers in order"
    );
    network
}

/// The network with one part at so many times its value.
fn scaled(network: &Network, part: usize, factor: f64) -> Network {
    let mut network = network.clone();
    match &mut network.parts_mut()[part].kind {
        PartKind::Resistor { resistance, .. } => resistance.0 *= factor,
        PartKind::Inductor { inductance, .. } => inductance.0 *= factor,
        PartKind::Capacitor { capacitance, .. } => capacitance.0 *= factor,
        other => panic!("{other:?} has no value of the stock"),
    }
    network
}

/// What the goal rises by where a part stands at an end of its tolerance, from the curvature between points
/// at the ends of it shrunk by √0.6; not below 0.
#[must_use]
pub fn plain_blur(ideal: &Assessment, network: &Network, part: &PartChoices) -> f64 {
    let tolerance = part.choices[part.nearest].tolerance.unwrap_or(0.05);
    let by = tolerance * 0.6f64.sqrt();
    let at = |factor: f64| plain_goal(ideal, &scaled(network, part.part, factor));
    let rise = at(1.0 + by) + at(1.0 - by) - 2.0 * at(1.0);
    (rise / 1.2).max(0.0)
}

/// The goal of a choice by solving the whole network anew, with what parts beyond the first cost.
///
/// # Panics
/// If the network cannot be solved.
#[must_use]
pub fn plain_cost(
    ideal: &Assessment,
    network: &Network,
    chosen: &[(&PartChoices, &Choice)],
) -> f64 {
    let beyond = |(part, choice): &(&PartChoices, &Choice)| {
        let of = choice.made_of.as_ref()?;
        let blur = plain_blur(ideal, network, part);
        Some(JOINED_PART.max(blur) * (of.values.len() as f64 - 1.0))
    };
    let penalty: f64 = chosen.iter().filter_map(beyond).sum();
    plain_goal(ideal, &with_choices(ideal, network, chosen)) + penalty
}

/// The goal of a network by solving it anew, at the level that suits it best: the goal is a parabola in the
/// level, so that three levels give its lowest point.
///
/// # Panics
/// If the network cannot be solved.
#[must_use]
pub fn plain_goal(ideal: &Assessment, network: &Network) -> f64 {
    let job = &ideal.job;
    let setting = Setting {
        grid: &job.grid,
        drive: job.drive.clone(),
        loads_z_ohm: job.ways.iter().map(|way| &way.z_ohm).collect(),
        sound: job.ways.iter().map(|way| &way.sound).collect(),
        targets: job.targets(&ideal.alignments),
        least_load_ohm: (LOAD_MARGIN * job.least_load_ohm - job.cable_ohm).max(0.0),
        weights: JOINT_WEIGHTS,
        level_db: job.aim.level.map(|level| level.0),
        loudest_db: job.loudest_db(),
        protected: job.protected(),
    };
    let mut goal = Objective::new(network, &[], setting).expect("a network");
    let mut room = Vec::new();
    let mut at = |level_db: f64| {
        let x = goal.start(level_db);
        goal.cost(&x, &mut room)
    };
    let middle = ideal.figures.level_db;
    if job.aim.level.is_some() {
        return at(middle);
    }
    let (a, b, c) = (at(middle - 0.1), at(middle), at(middle + 0.1));
    let (slope, bend) = ((c - a) / 2.0, a - 2.0 * b + c);
    b - slope * slope / (2.0 * bend)
}

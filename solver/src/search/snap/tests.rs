//! The search among values of the stock against plain annealing and against drawn builds.

use std::io;
use std::path::Path;

use netlist::project::{Project, load_from};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::block::Response;
use super::explore::THOROUGH;
use super::model::random_numbers;
use super::network::Task;
use super::search::Search;
use super::*;
use crate::goal::Targets;
use crate::judge::check::assess;
use crate::search::job::Job;

/// An invented three-way with 21 parts, none of a value that a series has.
const THREE_WAY: &str = r#"
[amplifier]
output_impedance = "1.2 ohm"
rated_power = "20 W"
rated_load = "8 ohm"
[aim]
from = "60 Hz"
to = "17 kHz"
minimum_load = "4.8 ohm"
[drivers.low]
modelled = { re = "6.1 ohm", fs = "31 Hz", qms = 6, qes = 0.38, vas = "190 L", sd = "850 cm2", l1 = "0.35 mH", l2 = "0.7 mH", r2 = "9 ohm", box = { volume = "150 L", tuning = "34 Hz", ql = 7 } }
[drivers.mid]
modelled = { re = "6.3 ohm", level = "107 dB", l1 = "0.06 mH", horn = { cutoff = "290 Hz" }, resonances = [{ r = "14 ohm", f = "420 Hz", q = 2.2 }] }
position = { back = "20 mm" }
[drivers.high]
modelled = { re = "5.6 ohm", level = "105 dB", l1 = "0.02 mH", horn = { cutoff = "1.6 kHz" }, resonances = [{ r = "9 ohm", f = "2.1 kHz", q = 2.5 }] }
position = { back = "12 mm" }
[[crossovers]]
between = ["low", "mid"]
frequency = "700 Hz"
alignment = "LR4"
[[crossovers]]
between = ["mid", "high"]
frequency = "6 kHz"
alignment = "LR4"
[stock]
capacitors = { series = "E12", from = "0.1 uF", to = "220 uF", tolerance = "5 %", esr = "20 mohm", together = 2 }
inductors = { series = "E12", from = "50 uH", to = "12 mH", tolerance = "3 %", wire = "1.25 mm" }
resistors = { series = "E12", from = "0.47 ohm", to = "100 ohm", tolerance = "5 %" }
[parts]
L1 = { inductor = "2.52 mH", between = ["in", "l1"], dcr = "0.58 ohm" }
C1 = { capacitor = "42.6 uF", between = ["l1", "l2"], esr = "20 mohm" }
R1 = { resistor = "1.1 ohm", between = ["l2", "gnd"] }
L2 = { inductor = "1.98 mH", between = ["l1", "l3"], dcr = "0.5 ohm" }
C7 = { capacitor = "30.5 uF", between = ["l3", "l4"], esr = "20 mohm" }
R6 = { resistor = "7.4 ohm", between = ["l4", "gnd"] }
LOW = { driver = "low", between = ["l3", "gnd"] }
C2 = { capacitor = "10.9 uF", between = ["in", "m1"], esr = "20 mohm" }
L3 = { inductor = "1.63 mH", between = ["m1", "gnd"], dcr = "0.45 ohm" }
C3 = { capacitor = "24.1 uF", between = ["m1", "m2"], esr = "20 mohm" }
L4 = { inductor = "0.51 mH", between = ["m2", "m3"], dcr = "0.22 ohm" }
C4 = { capacitor = "1.66 uF", between = ["m3", "gnd"], esr = "20 mohm" }
R2 = { resistor = "9.3 ohm", between = ["m3", "m4"] }
R3 = { resistor = "6.05 ohm", between = ["m4", "gnd"] }
L6 = { inductor = "4.4 mH", between = ["m4", "m5"], dcr = "0.9 ohm" }
C8 = { capacitor = "36.4 uF", between = ["m5", "m6"], esr = "20 mohm" }
R7 = { resistor = "17.2 ohm", between = ["m6", "gnd"] }
MID = { driver = "mid", between = ["m4", "gnd"] }
C5 = { capacitor = "1.31 uF", between = ["in", "h1"], esr = "20 mohm" }
L5 = { inductor = "0.127 mH", between = ["h1", "gnd"], dcr = "0.1 ohm" }
C6 = { capacitor = "4.3 uF", between = ["h1", "h2"], esr = "20 mohm" }
R4 = { resistor = "3.5 ohm", between = ["h2", "h3"] }
R5 = { resistor = "5.2 ohm", between = ["h3", "gnd"] }
HIGH = { driver = "high", between = ["h3", "gnd"] }
"#;

fn project(change: impl Fn(String) -> String) -> Project {
    let text = change(THREE_WAY.to_owned());
    let files = move |path: &Path| -> io::Result<Vec<u8>> {
        match path.ends_with("three-way.toml") {
            true => Ok(text.clone().into_bytes()),
            false => Err(io::ErrorKind::NotFound.into()),
        }
    };
    let read = load_from(&files, Path::new("three-way.toml"));
    read.unwrap_or_else(|failure| panic!("{failure:?}")).project
}

/// A project with what snapping needs.
struct Ready {
    project: Project,
    job: Job,
    targets: Targets,
    level_db: f64,
}

impl Ready {
    fn new(change: impl Fn(String) -> String) -> Self {
        let project = project(change);
        let assessed = assess(&project, project.network.as_ref().unwrap()).unwrap();
        Self {
            targets: assessed.job.targets(&assessed.alignments),
            job: assessed.job,
            level_db: assessed.figures.level_db,
            project,
        }
    }

    fn task(&self, settings: SnapSettings) -> Task<'_> {
        let network = self.project.network.as_ref().unwrap();
        Task::new(&self.job, &self.targets, network, self.level_db, settings).unwrap()
    }

    fn snap(&self, settings: SnapSettings) -> Snapped {
        let network = self.project.network.as_ref().unwrap();
        let (targets, level_db) = (&self.targets, self.level_db);
        snap_network(&self.job, targets, network, level_db, settings, &|| false).unwrap()
    }

    fn quick(&self, settings: SnapSettings) -> Selection {
        let network = self.project.network.as_ref().unwrap();
        snap_quickly(&self.job, &self.targets, network, self.level_db, settings).unwrap()
    }
}

/// The textbook's annealing: one part at random to a choice at random, `evaluations` times.
fn plain_annealing(search: &Search<'_>, evaluations: usize, rng: &mut ChaCha8Rng) -> f64 {
    let mut chosen = search.nearest();
    let mut responses: Vec<Response> = (0..search.blocks.len())
        .map(|block| search.response(block, &chosen))
        .collect();
    let cost_of = |responses: &[Response], chosen: &[usize]| {
        search.tables.evaluate(&search.with_ways(responses)).0 + search.extra(chosen)
    };
    let mut cost = cost_of(&responses, &chosen);
    let mut best = cost;
    for step in 0..evaluations {
        let heat = 0.5 * (1e-3f64 / 0.5).powf(step as f64 / evaluations as f64);
        let part = rng.random_range(0..chosen.len());
        let to = rng.random_range(0..search.movable[part].choices.len());
        let from = std::mem::replace(&mut chosen[part], to);
        let (block, _) = search.place(part);
        let other = search.response(block, &chosen);
        let before = std::mem::replace(&mut responses[block], other);
        let moved = cost_of(&responses, &chosen);
        if moved < cost || rng.random_range(0.0..1.0) < ((cost - moved) / heat).exp() {
            cost = moved;
            best = best.min(cost);
        } else {
            chosen[part] = from;
            responses[block] = before;
        }
    }
    best
}

const NOMINAL: SnapSettings = SnapSettings {
    goal: SnapGoal::Aim,
    window: 3,
    joined: true,
    budget: None,
    robust: false,
    seed: 1,
};

#[test]
#[ignore]
#[allow(clippy::print_stdout)]
fn study() {
    for series in ["E6", "E12", "E24"] {
        for goal in [SnapGoal::LeastChange, SnapGoal::Aim] {
            for robust in [false] {
                let ready = Ready::new(|text| text.replace("\"E12\"", &format!("\"{series}\"")));
                let settings = SnapSettings {
                    goal,
                    robust,
                    ..NOMINAL
                };
                let t = std::time::Instant::now();
                let quick = ready.quick(settings);
                let tq = t.elapsed().as_secs_f64();
                let t = std::time::Instant::now();
                let outcome = ready.snap(settings);
                let ts = t.elapsed().as_secs_f64();
                println!(
                    "{series} {goal:?} robust {robust}: file {:.4} nearest {:.4} quick {:.4} ({tq:.3} s) best {:.4} nominal {:.4} ({ts:.2} s) {:?} {:?} {}",
                    outcome.ideal_cost,
                    outcome.nearest.cost,
                    quick.cost,
                    outcome.best.cost,
                    outcome.best.nominal,
                    outcome.known,
                    outcome.removed_share(),
                    outcome.looked_at
                );
                if false {
                    let task = ready.task(settings);
                    let search = task.search(None).unwrap();
                    for seed in 0..2 {
                        let t = std::time::Instant::now();
                        let plain = plain_annealing(&search, 200_000, &mut random_numbers(seed));
                        println!("   plain {plain:.4} {:.1} s", t.elapsed().as_secs_f64());
                    }
                }
            }
        }
    }
}

//! Candidates a second of snapping on the demo's three-way, side by side with numpy's batched complex
//! solve of the same network at the same frequencies, one thread each, in one run:
//! `cargo run --release -p benches --bin against-numpy-snap`. Needs python3 with numpy.

#![expect(clippy::print_stdout, reason = "figures are what this program is for")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use netlist::network::{NodeId, PartKind};
use serde::Deserialize;
use serde_json::{Value, json};
use solver::judge::check::assess;
use solver::nodal::Values;
use solver::search::{Job, SnapGoal, SnapSettings, snap_network, snap_quickly};

#[derive(Deserialize)]
struct Answer {
    numpy: String,
    results: Vec<Timing>,
}

#[derive(Deserialize)]
struct Timing {
    best_s: f64,
    median_s: f64,
}

fn describe(job: &Job, network: &netlist::network::Network) -> Value {
    // Node numbers without gnd, which is −1; `in` is 0.
    let number = |node: NodeId| node.0 as i64 - 1;
    let values = Values::of(network);
    let parts: Vec<Value> = (network.parts().values().enumerate())
        .map(|(i, part)| {
            let between = part.kind.between().expect("no couplings here").map(number);
            let mut value = json!({
                "kind": part.kind.word(),
                "between": between,
                "value": values.value[i],
                "loss": values.loss[i],
            });
            if let PartKind::Driver { driver, .. } = &part.kind {
                let way = job
                    .ways
                    .iter()
                    .find(|way| way.name == *driver)
                    .expect("a way");
                value["z_re"] = json!(way.z_ohm.re);
                value["z_im"] = json!(way.z_ohm.im);
            }
            value
        })
        .collect();
    json!({
        "nodes": network.node_count() - 1,
        "f_hz": job.grid.f_hz(),
        "open_circuit_v": job.drive.open_circuit_v,
        "output_impedance_ohm": job.drive.output_impedance_ohm.at(0).re,
        "repeats": 200,
        "parts": parts,
    })
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/network.toml");
    let project = netlist::project::load(&file)
        .map_err(|_| "the demo cannot be read")?
        .project;
    let network = project.network.as_ref().ok_or("the demo has a network")?;
    let assessment = assess(&project, network)?;
    let job = &assessment.job;
    let targets = job.targets(&assessment.alignments);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/against_numpy.py");
    let mut child = Command::new("python3")
        .arg(script)
        .env("OPENBLAS_NUM_THREADS", "1")
        .env("OMP_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let text = serde_json::to_string(&[describe(job, network)])?;
    child
        .stdin
        .take()
        .ok_or("no way to tell numpy")?
        .write_all(text.as_bytes())?;
    let answer: Answer = serde_json::from_slice(&child.wait_with_output()?.stdout)?;
    let theirs = answer.results.first().ok_or("no answer of numpy")?;

    let settings = SnapSettings::default();
    println!(
        "demo's three-way, {} frequencies; numpy {}: {:.0} µs a network in the median, {:.0} µs at best",
        job.grid.len(),
        answer.numpy,
        theirs.median_s * 1e6,
        theirs.best_s * 1e6
    );
    let level_db = assessment.figures.level_db;
    let to_aim = SnapSettings {
        goal: SnapGoal::Aim,
        ..settings
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build()?;
    let start = Instant::now();
    let quick = pool.install(|| snap_quickly(job, &targets, network, level_db, to_aim));
    let seconds = start.elapsed().as_secs_f64();
    let thorough =
        pool.install(|| snap_network(job, &targets, network, level_db, to_aim, &|| false))?;
    println!(
        "towards the aim: the quick search comes to {:.4} in {seconds:.3} s on one thread, the thorough one to {:.4}",
        quick.map_or(f64::NAN, |quick| quick.cost),
        thorough.best.cost
    );
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()?;
        let start = Instant::now();
        let outcome =
            pool.install(|| snap_network(job, &targets, network, level_db, settings, &|| false))?;
        let seconds = start.elapsed().as_secs_f64();
        let each = seconds * threads as f64 / outcome.looked_at as f64;
        println!(
            "{threads} thread(s): {:.0} thousand candidates within ±{} steps worked out in {seconds:.2} s, all of `snap`, \
             the models that chose them included; {:.2} µs a candidate and core; numpy / snap: {:.0} (best {:.0})",
            outcome.looked_at as f64 / 1e3,
            settings.window,
            each * 1e6,
            theirs.median_s / each,
            theirs.best_s / each
        );
    }
    Ok(())
}

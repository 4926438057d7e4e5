//! Our sweep side by side with numpy's batched complex solve of the same networks, one thread each,
//! in one run: `cargo run --release -p benches --bin against-numpy`. Needs python3 with numpy.

#![expect(clippy::print_stdout, reason = "a table is what this program is for")]

use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

use benches::networks::{DRIVE, Job, ladder, three_way};
use netlist::network::{NodeId, PartKind};
use serde::Deserialize;
use serde_json::{Value, json};
use solver::nodal::Sensitivities;

#[derive(Deserialize)]
struct Answer {
    numpy: String,
    results: Vec<Timing>,
}

#[derive(Deserialize)]
struct Timing {
    best_s: f64,
    median_s: f64,
    re: Vec<Vec<f64>>,
    im: Vec<Vec<f64>>,
}

fn describe(job: &Job) -> Value {
    // Node numbers without gnd, which is −1; `in` is 0.
    let number = |node: NodeId| node.0 as i64 - 1;
    let mut driver = 0;
    let parts: Vec<Value> = (job.network.parts().values().enumerate())
        .map(|(i, part)| {
            let between = part.kind.between().expect("no couplings here").map(number);
            let mut value = json!({
                "kind": part.kind.word(),
                "between": between,
                "value": job.values.value[i],
                "loss": job.values.loss[i],
            });
            if matches!(part.kind, PartKind::Driver { .. }) {
                value["z_re"] = json!(job.loads[driver].re);
                value["z_im"] = json!(job.loads[driver].im);
                driver += 1;
            }
            value
        })
        .collect();
    json!({
        "nodes": job.network.node_count() - 1,
        "f_hz": job.grid.f_hz(),
        "open_circuit_v": DRIVE.open_circuit_v,
        "output_impedance_ohm": DRIVE.output_impedance_ohm.at(0).re,
        "repeats": 200,
        "parts": parts,
    })
}

/// Best and median of many repeats, in seconds.
fn time(mut work: impl FnMut()) -> (f64, f64) {
    let mut times: Vec<f64> = (0..2000)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[0], times[times.len() / 2])
}

fn largest_difference(job: &Job, answer: &Timing) -> f64 {
    let mut largest = 0.0f64;
    for i in 0..job.grid.len() {
        for (node, (re, im)) in answer.re[i].iter().zip(&answer.im[i]).enumerate() {
            let v = job.solution.node_at(NodeId(node + 1), i);
            largest = largest.max((v - num_complex::Complex64::new(*re, *im)).norm());
        }
    }
    largest / DRIVE.open_circuit_v
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let cases = [
        ("three-way, 10 nodes", three_way(), 512),
        ("ladder, 6 nodes", ladder(6), 512),
        ("ladder, 12 nodes", ladder(12), 512),
        ("ladder, 24 nodes", ladder(24), 512),
        ("three-way, 10 nodes", three_way(), 128),
        ("three-way, 10 nodes", three_way(), 4096),
    ];
    let mut jobs: Vec<Job> = (cases.iter())
        .map(|(_, network, points)| Job::new(network.clone(), *points))
        .collect();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/against_numpy.py");
    let mut child = Command::new("python3")
        .arg(script)
        .env("OPENBLAS_NUM_THREADS", "1")
        .env("OMP_NUM_THREADS", "1")
        .env_remove("OPENBLAS_CORETYPE")
        .env_remove("OPENBLAS_L2_SIZE")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let text = serde_json::to_string(&jobs.iter().map(describe).collect::<Vec<_>>())?;
    child
        .stdin
        .take()
        .expect("piped")
        .write_all(text.as_bytes())?;
    let output = child.wait_with_output()?;
    let answer: Answer = serde_json::from_slice(&output.stdout)?;

    println!(
        "numpy {}, batched complex solve, against the planned elimination; one thread each",
        answer.numpy
    );
    println!(
        "(median of 200 and of 2000 repeats; ratios of the medians, of the best in brackets)\n"
    );
    println!(
        "{:<22}{:>7}{:>12}{:>11}{:>16}{:>12}{:>12}",
        "network", "points", "numpy µs", "sweep µs", "numpy / sweep", "gradient", "difference"
    );
    for ((job, theirs), (name, _, points)) in jobs.iter_mut().zip(&answer.results).zip(&cases) {
        let (best, median) = time(|| job.sweep());
        let difference = largest_difference(job, theirs);
        let mut sensitivities = Sensitivities::new(&job.plan, &job.workspace, &job.outputs);
        let (_, gradient) = time(|| {
            job.plan.run_sensitivities(
                &job.values,
                &DRIVE,
                &mut job.workspace,
                &mut job.solution,
                &mut sensitivities,
            );
        });
        println!(
            "{:<22}{:>7}{:>12.1}{:>11.2}{:>8.0} ({:>5.0}){:>10.2} ×{:>12.1e}",
            name,
            points,
            theirs.median_s * 1e6,
            median * 1e6,
            theirs.median_s / median,
            theirs.best_s / best,
            gradient / median,
            difference
        );
    }
    println!("\ngradient: sweep with the sensitivities of three voltages to all parts, in sweeps");
    Ok(())
}

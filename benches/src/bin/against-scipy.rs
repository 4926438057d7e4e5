//! Our search side by side with scipy's bounded least squares, on the shape that `design` chose for
//! the demo: the same goal, bounds and starts, in one run:
//! `cargo run --release -p benches --bin against-scipy [STARTS]`. Needs python3 with numpy and scipy.

#![expect(clippy::print_stdout, reason = "a table is what this program is for")]

use std::error::Error;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use netlist::network::{NodeId, PartKind};
use netlist::project::StockKind;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde::Deserialize;
use serde_json::{Value, json};
use solver::goal::{Targets, ValueLaw};
use solver::search::{
    ADJUSTMENT, Candidate, Effort, JOINT_WEIGHTS, Job, LOAD_MARGIN, audio_loads, closed_form,
    design, improve, stock_kind,
};
use solver::spectrum::Spectrum;

/// Starts of both where no other number is given; the first has the closed-form values.
const STARTS: usize = 8;
const DB_PER_NEPER: f64 = 20.0 / std::f64::consts::LN_10;

#[derive(Deserialize)]
struct Answer {
    scipy: String,
    fits: Vec<Fit>,
}

#[derive(Deserialize)]
struct Fit {
    start_cost: f64,
    cost: f64,
    seconds: f64,
    calls: usize,
}

fn pair(spectrum: &Spectrum) -> Value {
    json!({ "re": spectrum.re, "im": spectrum.im })
}

/// Logarithms of the values, in order, and of the level.
fn logs(candidate: &Candidate) -> Vec<f64> {
    let values = candidate.network.parts().values();
    let mut x: Vec<f64> = (values.filter(|part| stock_kind(&part.kind).is_some()))
        .map(|part| part.value_si().expect("parts from stock have a value").ln())
        .collect();
    x.push(candidate.level_db / DB_PER_NEPER);
    x
}

fn describe(job: &Job, targets: &Targets, first: &Candidate, starts: &[Vec<f64>]) -> Value {
    // Node numbers without gnd, which is −1; `in` is 0.
    let number = |node: NodeId| node.0 as i64 - 1;
    let mut way = 0;
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    let parts: Vec<Value> = (first.network.parts().values().enumerate())
        .map(|(index, part)| {
            let between = part.kind.between().expect("no couplings here").map(number);
            let mut value = json!({ "kind": part.kind.word(), "between": between });
            if let PartKind::Driver { inverted, .. } = part.kind {
                value["inverted"] = json!(inverted);
                value["z_ohm"] = pair(&job.ways[way].z_ohm);
                way += 1;
            }
            if let Some(kind) = stock_kind(&part.kind) {
                let (least, most) = job.bounds(kind);
                // The joint search stays near what the ways were fitted to.
                let near = first.fitted[index].ln();
                lower.push(least.ln().max(near - ADJUSTMENT).min(near));
                upper.push(most.ln().min(near + ADJUSTMENT).max(near));
                if let ValueLaw::Power { scale, exponent } = job.law(kind) {
                    value["loss_scale"] = json!(scale);
                    value["loss_exponent"] = json!(exponent);
                }
                let esr = job.stock.range(StockKind::Capacitor).esr;
                value["loss"] = json!(esr.map_or(0.0, |esr| esr.0));
            }
            value
        })
        .collect();
    lower.push(0.0);
    upper.push(200.0 / 8.686);
    let starts: Vec<Vec<f64>> = (starts.iter())
        .map(|start| clipped(start, &lower, &upper))
        .collect();
    json!({
        "nodes": first.network.node_count() - 1,
        "f_hz": job.grid.f_hz(),
        "open_circuit_v": job.drive.open_circuit_v,
        "output_impedance_ohm": job.drive.output_impedance_ohm,
        "parts": parts,
        "sound_pa_per_v": job.ways.iter().map(|way| pair(&way.sound)).collect::<Vec<_>>(),
        "target_db": targets.ways.iter().map(|way| &way.level_db).collect::<Vec<_>>(),
        "target_weight": targets.ways.iter().map(|way| &way.weight).collect::<Vec<_>>(),
        "tilt_db": targets.tilt_db,
        "near_crossover": targets.near_crossover,
        "judged": targets.judged,
        "least_load_ohm": LOAD_MARGIN * job.least_load_ohm,
        "weights": {
            "sum_db": JOINT_WEIGHTS.sum_db,
            "match_db": JOINT_WEIGHTS.match_db,
            "phase_deg": JOINT_WEIGHTS.phase_deg,
            "load": JOINT_WEIGHTS.load,
            "level_db": JOINT_WEIGHTS.level_db,
        },
        "loudest_db": job.loudest_db(),
        "lower": lower,
        "upper": upper,
        "starts": starts,
    })
}

/// A point moved into the box.
fn clipped(x: &[f64], lower: &[f64], upper: &[f64]) -> Vec<f64> {
    let ends = lower.iter().zip(upper);
    (x.iter().zip(ends))
        .map(|(x, (a, b))| x.clamp(*a, *b))
        .collect()
}

/// The candidate with other values.
fn moved(candidate: &Candidate, x: &[f64]) -> Candidate {
    let mut candidate = candidate.clone();
    let parts = candidate.network.parts_mut().values_mut();
    let parts = parts.filter(|part| stock_kind(&part.kind).is_some());
    for (part, log) in parts.zip(x) {
        match &mut part.kind {
            PartKind::Resistor { resistance, .. } => resistance.0 = log.exp(),
            PartKind::Inductor { inductance, .. } => inductance.0 = log.exp(),
            PartKind::Capacitor { capacitance, .. } => capacitance.0 = log.exp(),
            _ => {}
        }
    }
    candidate
}

fn ask_scipy(question: &Value) -> Result<Answer, Box<dyn Error>> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/against_scipy.py");
    let mut child = Command::new("python3")
        .arg(script)
        .env("OPENBLAS_NUM_THREADS", "1")
        .env("OMP_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let text = serde_json::to_string(question)?;
    let mut input = child.stdin.take().expect("piped");
    input.write_all(text.as_bytes())?;
    drop(input);
    let output = child.wait_with_output()?;
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn main() -> Result<(), Box<dyn Error>> {
    let count = std::env::args()
        .nth(1)
        .map_or(Ok(STARTS), |text| text.parse::<usize>())?;
    let brief = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/brief.toml");
    let project = netlist::project::load(&brief)
        .map_err(|problems| format!("{problems:?}"))?
        .project;
    let job = Job::new(&project)?;
    let audio = audio_loads(&project, &job);
    let begun = Instant::now();
    let outcome = design(job, &audio, Effort::default(), &|| false, &mut |_| {})?;
    let whole_s = begun.elapsed().as_secs_f64();
    let (job, chosen) = (&outcome.job, &outcome.proposals[0].1.ideal);
    let targets = job.targets(&outcome.alignments);

    let mut first = closed_form(job, &chosen.shapes, &chosen.inverted, chosen.level_db)
        .ok_or("no closed-form values")?;
    first.fitted.clone_from(&chosen.fitted);
    let x = logs(&first);
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let starts: Vec<Vec<f64>> = (0..count)
        .map(|s| {
            let spread = if s == 0 { 0.0 } else { 1.2 };
            let values = x.len() - 1;
            let part = |(i, x): (usize, &f64)| {
                let by: f64 = rng.random_range(-1.0..1.0);
                if i < values { x + spread * by } else { *x }
            };
            x.iter().enumerate().map(part).collect()
        })
        .collect();

    let theirs = ask_scipy(&describe(job, &targets, &first, &starts))?;
    println!(
        "scipy {}, least_squares (trf, bounds, its own difference quotients); one thread each",
        theirs.scipy
    );
    println!(
        "{} variables, {} frequencies; cost in units of what is acceptable\n",
        x.len(),
        job.grid.len()
    );
    println!(
        "{:>5}{:>12}{:>12}{:>11}{:>8}{:>12}{:>11}{:>14}",
        "start", "cost there", "scipy cost", "s", "calls", "our cost", "ms", "scipy / ours"
    );
    let (mut best, mut seconds) = ([f64::INFINITY; 2], [0.0; 2]);
    for (number, (start, fit)) in starts.iter().zip(&theirs.fits).enumerate() {
        let from = moved(&first, start);
        // Cost at the start by our own definition: both must mean the same.
        let at_start = improve(job, &targets, &from, 0)
            .ok_or("a start without a cost")?
            .cost;
        let begun = Instant::now();
        let ours = improve(job, &targets, &from, 150)
            .ok_or("a start without a fit")?
            .cost;
        let took = begun.elapsed().as_secs_f64();
        println!(
            "{number:>5}{at_start:>12.3}{:>12.4}{:>11.3}{:>8}{ours:>12.4}{:>11.2}{:>12.0} ×",
            fit.cost,
            fit.seconds,
            fit.calls,
            took * 1e3,
            fit.seconds / took
        );
        if (at_start - fit.start_cost).abs() > 1e-6 * at_start {
            println!(
                "      the goals differ here: {at_start} and {}",
                fit.start_cost
            );
        }
        for (i, (cost, s)) in [(fit.cost, fit.seconds), (ours, took)]
            .into_iter()
            .enumerate()
        {
            best[i] = f64::min(best[i], cost);
            seconds[i] += s;
        }
    }
    println!(
        "\nall {count} starts: scipy {:.4} in {:.2} s, ours {:.4} in {:.4} s: {:.0} times",
        best[0],
        seconds[0],
        best[1],
        seconds[1],
        seconds[0] / seconds[1]
    );
    println!(
        "design: {:.4} for this shape, in {whole_s:.2} s for {} shapes on {} threads",
        chosen.cost,
        outcome.shapes_tried,
        std::thread::available_parallelism()?
    );
    println!(
        "a shape: {:.2} ms; scipy's best-of-{count} for one shape: {:.0} times that",
        whole_s * 1e3 / outcome.shapes_tried as f64,
        seconds[0] / (whole_s / outcome.shapes_tried as f64)
    );
    println!(
        "cost, scipy's best / design's: {:.3}",
        best[0] / chosen.cost
    );
    Ok(())
}

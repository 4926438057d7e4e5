//! The search's two measures of speed: moves whose outcome is predicted, and fits of all values of a network.
//! A thread each; the search runs one on every core.

use std::path::Path;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use solver::search::grow::{Catalogue, Problem, Scan};
use solver::search::{Job, choose_alignments};

/// Every so many frequencies, as the search has them.
const EVERY: usize = 2;

fn search(c: &mut Criterion) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/network.toml");
    let loaded = netlist::project::load(&file).unwrap_or_else(|problems| panic!("{problems}"));
    let network = (loaded.project.network.as_ref()).expect("a finished network");
    let job = (Job::new(&loaded.project).expect("a brief that can be designed")).thinned(EVERY);
    let targets = job.targets(&choose_alignments(&job));
    let problem = Problem::whole(&job, &targets);
    let catalogue = Catalogue::new(&job);
    let level_db = job.loudest_db();
    let ways = 0..job.ways.len();
    let mut group = c.benchmark_group("search");
    group
        .sample_size(20)
        .measurement_time(Duration::from_secs(8));
    let scan = Scan::new(&problem, network, level_db).expect("a network that can be solved");
    let moves: usize = (ways.clone()).map(|way| scan.trials(way, &catalogue)).sum();
    group.throughput(Throughput::Elements(moves as u64));
    group.bench_function("moves of the demo's network", |b| {
        b.iter(|| {
            let promises = ways.clone().map(|way| scan.additions(way, &catalogue));
            promises.map(|promises| promises.len()).sum::<usize>()
        });
    });
    group.throughput(Throughput::Elements(1));
    for steps in [8, 30] {
        group.bench_function(format!("fit of the demo's network, {steps} steps"), |b| {
            b.iter(|| problem.fit_while(network, level_db, steps, 0.0));
        });
    }
    group.finish();
}

criterion_group!(benches, search);
criterion_main!(benches);

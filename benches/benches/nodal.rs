//! Sweep, and value and gradient, over network size and number of frequencies.

use benches::networks::{DRIVE, Job, ladder, three_way};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use netlist::network::Network;
use solver::nodal::Sensitivities;

fn networks() -> [(&'static str, Network); 4] {
    [
        ("6 nodes", ladder(6)),
        ("10 nodes", three_way()),
        ("12 nodes", ladder(12)),
        ("24 nodes", ladder(24)),
    ]
}

fn nodal(c: &mut Criterion) {
    for (name, network) in networks() {
        for points in [128, 512, 4096] {
            let mut job = Job::new(network.clone(), points);
            let mut group = c.benchmark_group(name);
            group.throughput(Throughput::Elements(points as u64));
            group.bench_function(BenchmarkId::new("sweep", points), |b| {
                b.iter(|| job.sweep())
            });

            let mut sensitivities = Sensitivities::new(&job.plan, &job.workspace, &job.outputs);
            group.bench_function(BenchmarkId::new("value and gradient", points), |b| {
                b.iter(|| {
                    job.plan.run_sensitivities(
                        &job.values,
                        &DRIVE,
                        &mut job.workspace,
                        &mut job.solution,
                        &mut sensitivities,
                    )
                });
            });
            group.finish();
        }
    }
}

criterion_group!(benches, nodal);
criterion_main!(benches);

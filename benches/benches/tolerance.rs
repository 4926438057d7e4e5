//! Ten thousand builds of the demo's finished network, with everything that is told about them.

use std::ops::ControlFlow;
use std::path::Path;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use solver::judge::JudgedLoudspeaker;
use solver::judge::tolerance::{ToleranceOptions, tolerance};

fn builds(c: &mut Criterion) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo/network.toml");
    let loaded = netlist::project::load(&file).unwrap_or_else(|problems| panic!("{problems}"));
    let project = loaded.project;
    let network = project.network.clone().expect("a finished network");
    let grid = JudgedLoudspeaker::aim_grid(&project.aim).expect("a band");
    let speaker = JudgedLoudspeaker::new(&project, network, grid).expect("a connected network");
    let options = ToleranceOptions::default();
    let mut group = c.benchmark_group("tolerance");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(10));
    // Interrupted after the first run: the builds alone, without those of tighter parts.
    group.bench_function("10000 builds", |b| {
        b.iter(|| {
            tolerance(&speaker, &options, &mut |done, _| {
                if done < options.builds {
                    ControlFlow::Continue(())
                } else {
                    ControlFlow::Break(())
                }
            })
        });
    });
    group.bench_function("10000 builds, and what closer parts gain", |b| {
        b.iter(|| tolerance(&speaker, &options, &mut |_, _| ControlFlow::Continue(())));
    });
    group.finish();
}

criterion_group!(benches, builds);
criterion_main!(benches);

//! A study of the search: every brief of a folder designed, and a row of figures for each.
//!
//!     cargo run --release -p benches --bin yardstick -- FOLDER
//!
//! FOLDER holds folders, each with a `brief.toml`.

use std::path::PathBuf;
use std::time::Instant;

use solver::search::{DesignSettings, Proposal, design};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder of briefs")?;
    let mut briefs: Vec<PathBuf> = std::fs::read_dir(folder)?
        .filter_map(|entry| Some(entry.ok()?.path().join("brief.toml")))
        .filter(|path| path.is_file())
        .collect();
    briefs.sort();
    println!(
        "{:<14} {:>5} {:>5} {:>5} {:>5} {:>6} {:>5} {:>6} {:>6} {:>6} | {:>5} {:>5} {:>6} {:>7}",
        "brief",
        "rms",
        "most",
        "match",
        "phase",
        "least",
        "parts",
        "level",
        "cost",
        "spread",
        "ideal",
        "most",
        "s",
        "fits"
    );
    for path in briefs {
        let project = netlist::project::load(&path)
            .map_err(|e| format!("{}: {e:?}", path.display()))?
            .project;
        let name = path
            .parent()
            .and_then(|p| p.file_name())
            .map_or(String::new(), |name| name.to_string_lossy().into_owned());
        let started = Instant::now();
        let all = std::env::args().any(|arg| arg == "--all");
        let mut watch = |step| {
            if all {
                eprintln!("{:6.2} {step:?}", started.elapsed().as_secs_f64());
            }
        };
        let outcome = design(&project, DesignSettings::default(), &|| false, &mut watch)?;
        let seconds = started.elapsed().as_secs_f64();
        if std::env::args().any(|arg| arg == "--terms") {
            println!("loudest {:.2}", outcome.job.loudest_db());
            for p in &outcome.proposals {
                let f = &p.ideal_figures;
                println!(
                    "{:>3} cost {:.2} spread {:.2} rms {:.2} level {:.2} match {:.2?} phase {:.1?} load {:.2}",
                    p.snapped.part_count(),
                    p.ideal.cost,
                    p.ideal.spread,
                    f.rms_db,
                    f.level_db,
                    f.match_db,
                    f.crossovers
                        .iter()
                        .map(|c| c.phase_match_deg)
                        .collect::<Vec<_>>(),
                    p.load.least_ohm
                );
            }
            let mut shown = outcome.proposals[outcome.chosen].ideal.network.clone();
            if let Some(n) = std::env::args()
                .nth(3)
                .and_then(|n| n.parse::<usize>().ok())
            {
                if let Some(p) = outcome
                    .proposals
                    .iter()
                    .find(|p| p.snapped.part_count() >= n)
                {
                    shown = p.ideal.network.clone();
                }
            }
            for (name, part) in shown.parts() {
                let nodes: Vec<&str> = part
                    .kind
                    .between()
                    .into_iter()
                    .flatten()
                    .map(|n| shown.node_name(n))
                    .collect();
                println!("{name:<5} {:?} {:?}", nodes, part.value_si());
            }
            continue;
        }
        if std::env::args().any(|arg| arg == "--front") {
            let sizes: Vec<String> = (outcome.proposals.iter())
                .filter(|p| p.snapped.part_count() >= 9)
                .map(|p| format!("{}:{:.1}", p.snapped.part_count(), p.ideal.cost))
                .collect();
            println!(
                "{name:<12} {:>6.1} s {:>6} fits  {}",
                seconds,
                outcome.effort.fits,
                sizes.join(" ")
            );
            continue;
        }
        for (number, proposal) in outcome.proposals.iter().enumerate() {
            if number == outcome.chosen || all {
                let mark = if number == outcome.chosen { "*" } else { " " };
                println!(
                    "{}",
                    row(
                        &format!("{mark}{name}"),
                        proposal,
                        seconds,
                        outcome.effort.fits
                    )
                );
            }
        }
    }
    Ok(())
}

fn row(name: &str, proposal: &Proposal, seconds: f64, fits: usize) -> String {
    let figures = &proposal.figures;
    let worst = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
    format!(
        "{name:<14} {:>5.2} {:>5.2} {:>5.2} {:>5.1} {:>6.2} {:>5} {:>6.1} {:>6.2} {:>6.3} | {:>5.2} {:>5.2} {seconds:>6.1} {fits:>7}",
        figures.rms_db,
        figures.max_db,
        worst(&mut figures.match_db.iter().copied()),
        worst(&mut figures.crossovers.iter().map(|c| c.phase_match_deg)),
        proposal.load.least_ohm,
        proposal.snapped.part_count(),
        figures.level_db,
        proposal.snapped.cost,
        proposal.snapped.spread,
        proposal.ideal_figures.rms_db,
        proposal.ideal_figures.max_db,
    )
}

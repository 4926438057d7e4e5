//! A study of the search: every brief of a folder designed, or random ones, and a row of figures for each.
//!
//!     cargo run --release -p benches --bin yardstick -- FOLDER
//!     cargo run --release -p benches --bin yardstick -- --random 50
//!
//! FOLDER holds folders, each with a `brief.toml`. `--all` prints all proposals, `--quick` looks quickly.

#![expect(clippy::print_stdout, reason = "a study prints its rows")]

use std::path::PathBuf;
use std::time::Instant;

use benches::random_brief::random_brief;
use netlist::project::Project;
use solver::search::{DesignSettings, Proposal, design};

type Failed = Box<dyn std::error::Error>;

fn main() -> Result<(), Failed> {
    let mut args = std::env::args().skip(1);
    let first = args
        .next()
        .ok_or("name the folder of briefs, or say --random 50")?;
    let briefs = match first.as_str() {
        "--random" => random(args.next().map_or(Ok(50), |n| n.parse())?),
        folder => in_folder(folder)?,
    };
    let rest: Vec<String> = args.collect();
    let all = rest.iter().any(|arg| arg == "--all");
    let settings = DesignSettings {
        quick: rest.iter().any(|arg| arg == "--quick"),
        ..DesignSettings::default()
    };
    println!(
        "{:<14} {:>5} {:>5} {:>5} {:>5} {:>6} {:>5} {:>6} {:>6} {:>6} | {:>5} {:>5} {:>6} {:>6} {:>7}",
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
        "fits",
        "moves"
    );
    let mut worst: Vec<(f64, String)> = Vec::new();
    let begun = Instant::now();
    for (name, project) in briefs {
        let started = Instant::now();
        let outcome = design(&project, settings, &|| false, &mut |_| {})
            .map_err(|error| format!("{name}: {error}"))?;
        let seconds = started.elapsed().as_secs_f64();
        for (number, proposal) in outcome.proposals.iter().enumerate() {
            let taken = number == outcome.chosen;
            if taken || all {
                let mark = if taken { "*" } else { " " };
                let effort = outcome.effort;
                let row = row(&format!("{mark}{name}"), proposal);
                println!(
                    "{row} {seconds:>6.1} {:>6} {:>7}",
                    effort.fits, effort.moves
                );
            }
        }
        let taken = &outcome.proposals[outcome.chosen];
        worst.push((taken.figures.rms_db, name));
    }
    worst.sort_by(|a, b| b.0.total_cmp(&a.0));
    let named: Vec<String> = (worst.iter().take(5))
        .map(|(rms_db, name)| format!("{name} {rms_db:.2} dB"))
        .collect();
    println!(
        "worst: {}; {:.1} s in all",
        named.join(", "),
        begun.elapsed().as_secs_f64()
    );
    Ok(())
}

fn random(count: u64) -> Vec<(String, Project)> {
    (0..count)
        .map(|seed| (format!("random-{seed}"), random_brief(seed)))
        .collect()
}

fn in_folder(folder: &str) -> Result<Vec<(String, Project)>, Failed> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)?
        .filter_map(|entry| Some(entry.ok()?.path().join("brief.toml")))
        .filter(|path| path.is_file())
        .collect();
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let loaded = netlist::project::load(&path).map_err(|problems| problems.to_string())?;
            let name = path.parent().and_then(|p| p.file_name());
            let name = name.map_or(String::new(), |name| name.to_string_lossy().into_owned());
            Ok((name, loaded.project))
        })
        .collect()
}

fn row(name: &str, proposal: &Proposal) -> String {
    let figures = &proposal.figures;
    let worst = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
    format!(
        "{name:<14} {:>5.2} {:>5.2} {:>5.2} {:>5.1} {:>6.2} {:>5} {:>6.1} {:>6.2} {:>6.3} | {:>5.2} {:>5.2}",
        figures.rms_db,
        figures.max_db,
        worst(&mut figures.match_db.iter().copied()),
        worst(&mut figures.crossovers.iter().map(|c| c.phase_match_deg)),
        proposal.load.least_ohm,
        proposal.part_count(),
        figures.level_db,
        proposal.snapped.cost,
        proposal.snapped.spread,
        proposal.ideal_figures.rms_db,
        proposal.ideal_figures.max_db,
    )
}

//! A study of the search: every brief of a folder designed, or random ones, and a row of figures for each.
//!
//!     cargo run --release -p benches --bin yardstick -- FOLDER
//!     cargo run --release -p benches --bin yardstick -- --random 50
//!     cargo run --release -p benches --bin yardstick -- --strangers 50
//!
//! FOLDER holds folders, each with a `brief.toml`. `--all` prints all proposals, `--quick` looks quickly,
//! `--neighbours 4` searches four briefs of each whose crossovers lie a little apart, and prints how far the
//! outcomes do: what the search leaves to chance, `--after 50` leaves random
//! briefs out. `--strangers 50 --write FOLDER` writes their files instead. `score` is what a network is chosen by, error and parts together.

#![expect(clippy::print_stdout, reason = "a study prints its rows")]

use std::path::PathBuf;
use std::time::Instant;

use benches::random_brief::random_brief;
use benches::strangers_brief::{strangers_brief, strangers_files};
use netlist::project::Project;
use solver::search::{DesignSettings, Proposal, design};

type Failed = Box<dyn std::error::Error>;

fn main() -> Result<(), Failed> {
    let mut args = std::env::args().skip(1);
    let first = args
        .next()
        .ok_or("name the folder of briefs, or say --random 50 or --strangers 50")?;
    let rest: Vec<String> = args.collect();
    let all = rest.iter().any(|arg| arg == "--all");
    let number = |name: &str, usual: u64| -> Result<u64, Failed> {
        let at = rest.iter().position(|arg| arg == name);
        match at.and_then(|at| rest.get(at + 1)) {
            Some(number) => Ok(number.parse()?),
            None => Ok(usual),
        }
    };
    let count = || rest.first().map_or(Ok(50), |n| n.parse::<u64>());
    let briefs = match first.as_str() {
        "--random" => random(number("--after", 0)?, count()?),
        "--strangers" => {
            let (after, count) = (number("--after", 0)?, count()?);
            let folder = rest.iter().position(|arg| arg == "--write");
            if let Some(folder) = folder.and_then(|at| rest.get(at + 1)) {
                return write_strangers(folder, after, count);
            }
            strangers(after, count)
        }
        folder => in_folder(folder)?,
    };
    let neighbours = number("--neighbours", 1)?;
    let settings = DesignSettings {
        quick: rest.iter().any(|arg| arg == "--quick"),
        most_parts: match number("--parts", 0)? {
            0 => None,
            parts => Some(parts as usize),
        },
        ..DesignSettings::default()
    };
    println!(
        "{:<14} {:>5} {:>5} {:>5} {:>5} {:>6} {:>5} {:>6} {:>6} {:>6} {:>6} | {:>5} {:>5} {:>6} {:>6} {:>7}",
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
        "score",
        "ideal",
        "most",
        "s",
        "fits",
        "moves"
    );
    let mut worst: Vec<(f64, String)> = Vec::new();
    let mut means = 0.0;
    let begun = Instant::now();
    for (name, project) in &briefs {
        let mut scores: Vec<f64> = Vec::new();
        for neighbour in 0..neighbours {
            let project = neighbour_of(project, neighbour);
            let started = Instant::now();
            let outcome = match design(&project, settings, &|| false, &mut |_| {}) {
                Ok(outcome) => outcome,
                Err(error) => {
                    println!("{name:<14} {error}");
                    continue;
                }
            };
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
            scores.push(taken.score());
            worst.push((taken.figures.rms_db, name.clone()));
        }
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        let (least, most) = (scores.iter()).fold((f64::INFINITY, 0.0f64), |(a, b), &score| {
            (a.min(score), b.max(score))
        });
        means += mean;
        if neighbours > 1 {
            println!("{name:<14} score {least:.2} to {most:.2}, mean {mean:.2}");
        }
    }
    worst.sort_by(|a, b| b.0.total_cmp(&a.0));
    let named: Vec<String> = (worst.iter().take(5))
        .map(|(rms_db, name)| format!("{name} {rms_db:.2} dB"))
        .collect();
    println!(
        "worst: {}; mean score {:.3}; {:.1} s in all",
        named.join(", "),
        means / briefs.len() as f64,
        begun.elapsed().as_secs_f64()
    );
    Ok(())
}

/// The brief with its crossovers so many steps of half a percent higher.
fn neighbour_of(project: &Project, steps: u64) -> Project {
    let mut project = project.clone();
    for crossover in &mut project.crossovers {
        crossover.frequency.0 *= 1.0 + 0.005 * steps as f64;
    }
    project
}

fn random(after: u64, count: u64) -> Vec<(String, Project)> {
    (after..after + count)
        .map(|seed| (format!("random-{seed}"), random_brief(seed)))
        .collect()
}

/// The files of the briefs of strangers, a folder for each.
fn write_strangers(folder: &str, after: u64, count: u64) -> Result<(), Failed> {
    for seed in after..after + count {
        let folder = PathBuf::from(folder).join(format!("stranger-{seed}"));
        std::fs::create_dir_all(&folder)?;
        let (text, tables) = strangers_files(seed);
        std::fs::write(folder.join("brief.toml"), text)?;
        for (name, table) in tables {
            std::fs::write(folder.join(name), table)?;
        }
    }
    Ok(())
}

fn strangers(after: u64, count: u64) -> Vec<(String, Project)> {
    (after..after + count)
        .map(|seed| (format!("stranger-{seed}"), strangers_brief(seed)))
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
        "{name:<14} {:>5.2} {:>5.2} {:>5.2} {:>5.1} {:>6.2} {:>5} {:>6.1} {:>6.2} {:>6.3} {:>6.2} | {:>5.2} {:>5.2}",
        figures.rms_db,
        figures.max_db,
        worst(&mut figures.match_db.iter().copied()),
        worst(&mut figures.crossovers.iter().map(|c| c.phase_match_deg)),
        proposal.load.least_ohm,
        proposal.part_count(),
        figures.level_db,
        proposal.snapped.cost,
        proposal.snapped.spread,
        proposal.score(),
        proposal.ideal_figures.rms_db,
        proposal.ideal_figures.max_db,
    )
}

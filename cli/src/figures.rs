//! Figures of merit as a table.

use std::io::{Result, Write};

use netlist::project::{Aim, AlignmentPair, Judged};
use netlist::quantity::Hertz;
use solver::goal::{Figures, LoadFigures};
use solver::search::Job;

use crate::words;

/// One row of figures for each name; a row with its load is for [`legend`].
pub(crate) fn table(job: &Job, rows: &[(&str, &Figures)], out: &mut dyn Write) -> Result<()> {
    let longest = job.ways.iter().map(|way| way.name.chars().count()).max();
    let wide = longest.unwrap_or(0).max(8) + 1;
    let mut head = format!("\n{:<11}{:>9}{:>11}{:>9}", "", "level", "flat, rms", "most");
    for way in &job.ways {
        head += &format!("{:>wide$}", way.name);
    }
    for crossover in &job.crossovers {
        head += &format!("{:>9}", format!("{:.3}", crossover.frequency));
    }
    writeln!(out, "{head}")?;
    for (name, figures) in rows {
        let mut row = format!(
            "{name:<11}{:>9}{:>11}{:>9}",
            format!("{:.2} dB", figures.level_db),
            format!("{:.2} dB", figures.rms_db),
            format!("{:.2} dB", figures.max_db),
        );
        for match_db in &figures.match_db {
            row += &format!("{:>wide$}", format!("{match_db:.2} dB"));
        }
        for crossover in &figures.crossovers {
            row += &format!("{:>9}", format!("{:.1}°", crossover.phase_match_deg));
        }
        writeln!(out, "{row}")?;
    }
    Ok(())
}

/// What the columns of [`table`] are, and the load.
pub(crate) fn legend(
    aim: &Aim,
    alignments: &[AlignmentPair],
    most_at_hz: f64,
    load: &LoadFigures,
    out: &mut dyn Write,
) -> Result<()> {
    let slopes: Vec<String> = alignments.iter().map(|&pair| words::slopes(pair)).collect();
    let text = format!(
        "level at 2.83 V{}; most at {:.3}; ways: rms off their targets; crossovers ({}): phase apart; \
         least load {:.2} ohm at {:.3}, phase {:.0}°; for the heat of a class-B stage {:.2} ohm (EPDR)",
        match aim.judged {
            Judged::Axis => "",
            Judged::Window => ", it and the sum over the listening window",
        },
        Hertz(most_at_hz),
        slopes.join(", "),
        load.least_ohm,
        Hertz(load.at_hz),
        load.phase_deg,
        load.least_epdr_ohm
    );
    words::folded(&text, 0, out)
}

//! `handover sweep`: curves as a table, JSON or CSV.

use std::io::Write;

use netlist::quantity::{Hertz, Quantity};
use serde::Serialize;
use solver::grid::Grid;
use solver::load::REFERENCE_V;
use solver::loudspeaker::{Curves, Loudspeaker};
use solver::sound::level_db_series;
use solver::spectrum::Spectrum;

use super::open;
use crate::args::SweepArguments;
use crate::document::{self, ByName};
use crate::failure::Failure;
use crate::words;

/// Frequencies far outside of hearing say nothing about a loudspeaker and overflow its models.
const FREQUENCY_RANGE_HZ: std::ops::RangeInclusive<f64> = 1e-3..=10e6;

/// An impedance above this is as good as none, and stands for a load that draws no current.
const OPEN_OHM: f64 = 1e9;

pub(crate) fn run(
    sweep: &SweepArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), Failure> {
    let loaded = open(&sweep.source, "network.toml")?;
    let file = loaded.path.display().to_string();
    let system =
        Loudspeaker::new(&loaded.project, grid(sweep)?).map_err(|error| Failure::Unusable {
            message: format!("{file}: {error}"),
            help: "change the parts named above".to_owned(),
        })?;
    let system = system.ok_or_else(|| Failure::Unusable {
        message: format!("{file} has no [parts], so there is no network to sweep"),
        help: "add the network as [parts]; a file without parts is a brief, from which a network is designed".to_owned(),
    })?;
    let curves = system.curves().map_err(|error| Failure::Unusable {
        message: format!("{file}: {error}"),
        help: "change the parts named above".to_owned(),
    })?;
    if sweep.json {
        document::write(&SweepDocument::new(&system.grid, &curves), out)?;
    } else if sweep.csv {
        csv(&system.grid, &curves, out)?;
    } else {
        let title = loaded.project.title.as_deref().unwrap_or(&file);
        table(title, &system.grid, &curves, out)?;
    }
    for (driver, note) in system.notes() {
        writeln!(err, "note: {}", words::note(driver, note))?;
    }
    for driver in loaded.project.unfed_drivers() {
        writeln!(err, "note: {driver}: the network does not feed this driver")?;
    }
    if curves.report.lossless > 0 {
        writeln!(
            err,
            "caution: at {} of the frequencies the network is a resonance without any loss, whose \
             voltages have no bound; give the coils their dcr",
            curves.report.lossless
        )?;
    }
    Ok(())
}

fn grid(sweep: &SweepArguments) -> Result<Grid, Failure> {
    let help =
        "give frequencies that rise, such as --from \"20 Hz\" --to \"20 kHz\" or --at 100,1k,10k";
    let unusable = |message: String| Failure::Unusable {
        message,
        help: help.to_owned(),
    };
    let given = (sweep.at.iter().map(|f| ("--at", f)))
        .chain([("--from", &sweep.from), ("--to", &sweep.to)]);
    for (option, f) in given {
        if !FREQUENCY_RANGE_HZ.contains(&f.si()) {
            return Err(unusable(format!(
                "{option} {f} is outside of {} Hz to {} MHz",
                FREQUENCY_RANGE_HZ.start(),
                FREQUENCY_RANGE_HZ.end() / 1e6
            )));
        }
    }
    let grid = if sweep.at.is_empty() {
        let few = if sweep.json || sweep.csv { 400 } else { 31 };
        let points = sweep.points.unwrap_or(few);
        Grid::log_spaced(sweep.from.si(), sweep.to.si(), points as usize)
    } else {
        Grid::new(sweep.at.iter().map(|f| f.si()).collect())
    };
    grid.map_err(|error| unusable(error.to_string()))
}

/// Magnitude and phase of the load; a load that draws no current has [`OPEN_OHM`] and no phase.
fn load(curves: &Curves) -> (Vec<f64>, Vec<f64>) {
    let points = curves.load.iter().map(|z| match z {
        Some(z) => (z.norm().min(OPEN_OHM), z.arg().to_degrees()),
        None => (OPEN_OHM, 0.0),
    });
    points.unzip()
}

/// A sound by level and phase.
#[derive(Serialize)]
struct SoundCurve {
    level_db: Vec<f64>,
    phase_deg: Vec<f64>,
}

impl From<&Spectrum> for SoundCurve {
    fn from(sound: &Spectrum) -> Self {
        Self {
            level_db: level_db_series(sound),
            phase_deg: sound.phase_deg(),
        }
    }
}

#[derive(Serialize)]
struct LoadCurve {
    magnitude_ohm: Vec<f64>,
    phase_deg: Vec<f64>,
}

#[derive(Serialize)]
struct NodeCurve {
    magnitude_v: Vec<f64>,
    phase_deg: Vec<f64>,
}

#[derive(Serialize)]
struct SweepDocument<'a> {
    frequency_hz: &'a [f64],
    system: SoundCurve,
    ways: ByName<SoundCurve>,
    load: LoadCurve,
    nodes: ByName<NodeCurve>,
}

impl<'a> SweepDocument<'a> {
    fn new(grid: &'a Grid, curves: &Curves) -> Self {
        let ways = curves.ways.iter();
        let nodes = (curves.nodes.iter()).map(|(name, volts)| {
            let node = NodeCurve {
                magnitude_v: volts.magnitude(),
                phase_deg: volts.phase_deg(),
            };
            (name.clone(), node)
        });
        let (magnitude_ohm, phase_deg) = load(curves);
        Self {
            frequency_hz: grid.f_hz(),
            system: (&curves.system).into(),
            ways: ways
                .map(|(name, sound)| (name.clone(), sound.into()))
                .collect(),
            load: LoadCurve {
                magnitude_ohm,
                phase_deg,
            },
            nodes: nodes.collect(),
        }
    }
}

fn csv(grid: &Grid, curves: &Curves, out: &mut dyn Write) -> std::io::Result<()> {
    let mut header = vec!["frequency_hz".to_owned()];
    let mut columns: Vec<Vec<f64>> = vec![grid.f_hz().to_vec()];
    let mut add = |name: String, values: Vec<f64>| {
        // A name may hold what separates columns.
        header.push(match name.contains([',', '"', '\n', '\r']) {
            true => format!("\"{}\"", name.replace('"', "\"\"")),
            false => name,
        });
        columns.push(values);
    };
    add("system level_db".into(), level_db_series(&curves.system));
    add("system phase_deg".into(), curves.system.phase_deg());
    for (name, sound) in &curves.ways {
        add(format!("{name} level_db"), level_db_series(sound));
        add(format!("{name} phase_deg"), sound.phase_deg());
    }
    let (magnitude_ohm, phase_deg) = load(curves);
    add("load magnitude_ohm".into(), magnitude_ohm);
    add("load phase_deg".into(), phase_deg);
    for (name, volts) in &curves.nodes {
        add(format!("node {name} magnitude_v"), volts.magnitude());
        add(format!("node {name} phase_deg"), volts.phase_deg());
    }
    writeln!(out, "{}", header.join(","))?;
    for i in 0..grid.len() {
        let row: Vec<String> = columns.iter().map(|column| column[i].to_string()).collect();
        writeln!(out, "{}", row.join(","))?;
    }
    Ok(())
}

fn table(title: &str, grid: &Grid, curves: &Curves, out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "{}", title.replace(char::is_control, " "))?;
    writeln!(
        out,
        "Levels in dB SPL at 1 m or the listener, amplifier at {REFERENCE_V} V open circuit; - is below 0 dB\n"
    )?;
    let widths: Vec<usize> = curves
        .ways
        .iter()
        .map(|(name, _)| name.chars().count().max(7))
        .collect();
    write!(out, "{:>9} {:>8}", "frequency", "system")?;
    for ((name, _), width) in curves.ways.iter().zip(&widths) {
        write!(out, "  {name:>width$}")?;
    }
    writeln!(out, "  {:>10} {:>7}", "load", "phase")?;
    let system = level_db_series(&curves.system);
    let ways: Vec<Vec<f64>> = curves
        .ways
        .iter()
        .map(|(_, sound)| level_db_series(sound))
        .collect();
    let (magnitude_ohm, phase_deg) = load(curves);
    for (i, &f_hz) in grid.f_hz().iter().enumerate() {
        write!(
            out,
            "{:>9} {:>8}",
            format!("{:.3}", Hertz(f_hz)),
            db(system[i])
        )?;
        for (levels, width) in ways.iter().zip(&widths) {
            write!(out, "  {:>width$}", db(levels[i]))?;
        }
        let load = match magnitude_ohm[i] < OPEN_OHM {
            true => format!("{:.2} ohm", magnitude_ohm[i]),
            false => "open".to_owned(),
        };
        writeln!(out, "  {load:>10} {:>6.0}°", phase_deg[i])?;
    }
    Ok(())
}

/// A level; one that nobody hears is a dash.
fn db(level_db: f64) -> String {
    if level_db < 0.0 {
        return "-".to_owned();
    }
    format!("{level_db:.1}")
}

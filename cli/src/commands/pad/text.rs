//! Numbers and lines of the screen of `pad`.

use std::io::Write;

use netlist::project::Project;
use netlist::quantity::{Hertz, Ohms};
use solver::pad::Extent;

use crate::words;

pub(super) type Written = std::io::Result<()>;

/// Below this an impedance is as good as none, in ohm.
const NO_OHM: f64 = 0.005;
/// Extremes that differ by less are one value.
const ONE_VALUE: f64 = 1.001;

pub(super) fn ohm(value: f64) -> String {
    format!("{:.3}", Ohms(value))
}

pub(super) fn hertz(value: f64) -> String {
    format!("{:.3}", Hertz(value))
}

/// With its sign, but never as −0.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let scale = 10f64.powi(decimals as i32);
    let rounded = (value * scale).round() / scale + 0.0;
    format!("{rounded:+.decimals$}")
}

/// The title of a project, where it has one.
pub(super) fn title(project: Option<&Project>, out: &mut dyn Write) -> Written {
    match project.and_then(|project| project.title.as_ref()) {
        Some(title) => writeln!(out, "{}", title.replace(char::is_control, " ")),
        None => Ok(()),
    }
}

/// A row of a table: words of a width, then a cell of a width for each of several things.
pub(super) fn row<T>(
    (what, width): (&str, usize),
    (things, each): (&[T], usize),
    cell: impl Fn(&T) -> String,
    out: &mut dyn Write,
) -> Written {
    let mut line = format!("{what:<width$}");
    for thing in things {
        line += &format!("{:>each$}", cell(thing));
    }
    writeln!(out, "{}", line.trim_end())
}

/// The level of a step by ear.
pub(super) fn step_level(level_db: f64, design: bool) -> String {
    match design {
        true => "*design".to_owned(),
        false => format!(" {level_db:+.0} dB"),
    }
}

/// Text folded to the width of the screen, the lines after the first indented.
pub(super) fn folded(text: &str, out: &mut dyn Write) -> Written {
    words::folded(text, 2, out)
}

/// Three significant figures, at most two decimals.
fn figures(value: f64) -> String {
    let decimals = match value.abs() {
        value if value >= 99.95 => 0,
        value if value >= 9.995 => 1,
        _ => 2,
    };
    format!("{value:.decimals$}")
}

/// An impedance over a band: `12.4 to 13.8 Ω`, or one value.
pub(super) fn impedance(extent: Extent) -> String {
    if extent.most < NO_OHM {
        return "next to 0 Ω".to_owned();
    }
    if extent.most < ONE_VALUE * extent.least {
        return ohm(extent.least);
    }
    if extent.most >= 1000.0 {
        return format!("{} to {}", ohm(extent.least), ohm(extent.most));
    }
    format!("{} to {} Ω", figures(extent.least), figures(extent.most))
}

/// The same with the swing: `12.4 to 13.8 Ω, ×1.11`.
pub(super) fn impedance_and_swing(extent: Extent) -> String {
    let shown = impedance(extent);
    if extent.most < ONE_VALUE * extent.least || extent.most < NO_OHM {
        return shown;
    }
    format!("{shown}, ×{}", figures(extent.ratio()))
}

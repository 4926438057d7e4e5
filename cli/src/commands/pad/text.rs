//! Numbers and lines of the screen of `pad`.

use std::io::Write;

use netlist::quantity::{Hertz, Ohms, Watts};
use solver::pad::Extent;

/// Widest line.
const WIDTH: usize = 100;

pub(super) type Written = std::io::Result<()>;

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

/// Text folded to the width of the screen, the lines after the first indented.
pub(super) fn folded(text: &str, out: &mut dyn Write) -> Written {
    let mut line = String::new();
    for word in text.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > WIDTH {
            writeln!(out, "{line}")?;
            line = String::from(" ");
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    writeln!(out, "{line}")
}

pub(super) fn watt(value: f64) -> String {
    format!("{:.2}", Watts(value))
}

/// A range without saying the unit twice.
pub(super) fn range(extent: Extent, decimals: usize, unit: &str) -> String {
    format!(
        "{:.decimals$} to {:.decimals$} {unit}",
        extent.least, extent.most
    )
}

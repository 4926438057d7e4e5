//! Pages in a real browser, without a window: one question each.

use serde::Deserialize;

use crate::tab::{Look, Tab};

/// The body of a function that measures a page that is shown.
const MEASURE: &str = include_str!("measure.js");

/// What a page is like at a given width.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Width of the window.
    pub width: f64,
    /// Width of what is in it.
    pub content_width: f64,
    /// Errors, and attempts to fetch something.
    pub wrong: Vec<String>,
    /// Pictures that are shown, and texts in them.
    pub pictures: usize,
    /// Texts in pictures.
    pub texts: usize,
    /// Pairs of texts of a picture that are one over the other.
    pub overlaps: Vec<String>,
    /// Texts that stick out of their picture.
    pub outside: Vec<String>,
    /// Smallest text of a picture, in pixels.
    pub smallest_text: f64,
    /// What the first picture says after the right arrow key was pressed.
    pub readout: String,
    /// Lines that mark a frequency in the pictures that are shown, after that.
    pub cursors: usize,
    /// Cells of tables with a text.
    pub cells: usize,
    /// Texts that stick out of their cell.
    pub spilt: Vec<String>,
    /// Controls without a name, or out of the order of the page.
    pub unnamed: Vec<String>,
    /// Ids and landmarks that are there twice.
    pub twice: Vec<String>,
    /// Texts that hardly stand out from their paper.
    pub faint: Vec<String>,
    /// Controls that are too small to be hit.
    pub small_targets: Vec<String>,
}

/// Shows a page at a width and measures it.
///
/// # Panics
/// If there is no browser, or the page cannot be shown.
#[must_use]
pub fn measure(html: &str, width: u32) -> Measured {
    let tab = shown(html, width);
    let measured = tab.value(MEASURE);
    serde_json::from_value(measured).expect("what was measured")
}

/// Shows a page at a width and gives what a script says of it: the body of a function that returns a value, or a
/// promise of one.
///
/// # Panics
/// If there is no browser, the page cannot be shown, or the page or the script fails.
#[must_use]
pub fn answer(html: &str, width: u32, script: &str) -> serde_json::Value {
    shown(html, width).answer(script)
}

/// A page printed as PDF.
///
/// # Panics
/// As [`measure`].
#[must_use]
pub fn print(html: &str) -> Vec<u8> {
    shown(html, 1280).print()
}

fn shown(html: &str, width: u32) -> Tab {
    Tab::open(html, Look::desk(width))
}

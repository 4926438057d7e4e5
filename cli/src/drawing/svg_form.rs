//! A finished picture as SVG text: strokes and letters in the colour of the surrounding text, so
//! that it reads on light and dark and prints black.

use std::fmt::Write;

use super::geometry::{Anchor, Drawing, Glyph, Label, LabelRole, Symbol, SymbolEnd};
use super::symbol::{COIL, DOT, DRIVER, PLATES, RESISTOR, TURN};
use super::text::Style;
use super::winding::OPEN;
use crate::picture::svg::escape;

/// Radius of the dot at a junction.
const JUNCTION: &str = "2.6";

const CSS: &str = "\
.schematic{color:inherit;font-family:'Liberation Sans','DejaVu Sans',Helvetica,Arial,sans-serif}\
.schematic .wire,.schematic .shape{fill:none;stroke:currentColor;stroke-width:1.4;\
stroke-linecap:round;stroke-linejoin:round}\
.schematic .plate{stroke-width:2.4;stroke-linecap:butt}\
.schematic .dot{fill:currentColor;stroke:none}\
.schematic text{fill:currentColor;stroke:none;white-space:pre}\
.schematic .name{font-size:13px;font-weight:bold}\
.schematic .value{font-size:13px}\
.schematic .small{font-size:11px}\
.schematic .node{font-size:11px;font-style:italic}";

/// The picture with its title and a description in words for those who do not see it.
pub(super) fn svg(drawing: &Drawing, title: &str, description: &str) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write(drawing, title, description, &mut out);
    out
}

fn write(drawing: &Drawing, title: &str, description: &str, out: &mut String) -> std::fmt::Result {
    let (width, height) = (drawing.width, drawing.height);
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"schematic\" role=\"img\" \
         viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\">"
    )?;
    writeln!(out, "<title>{}</title>", escaped(title))?;
    writeln!(out, "<desc>{}</desc>", escaped(description))?;
    writeln!(out, "<style>{CSS}</style>")?;
    write!(out, "<path class=\"wire\" d=\"")?;
    for wire in &drawing.wires {
        write!(out, "M{} {}", wire.from.x, wire.from.y)?;
        if wire.from.y == wire.to.y {
            write!(out, "H{}", wire.to.x)?;
        } else {
            write!(out, "V{}", wire.to.y)?;
        }
    }
    writeln!(out, "\"/>")?;
    for symbol in &drawing.symbols {
        write_symbol(symbol, out)?;
    }
    for at in &drawing.junctions {
        writeln!(
            out,
            "<circle class=\"dot\" cx=\"{}\" cy=\"{}\" r=\"{JUNCTION}\"/>",
            at.x, at.y
        )?;
    }
    for label in &drawing.labels {
        write_label(label, out)?;
    }
    writeln!(out, "</svg>")
}

fn write_symbol(symbol: &Symbol, out: &mut String) -> std::fmt::Result {
    let (x, y) = (symbol.at.x, symbol.at.y);
    // All shapes are drawn level, and turned a quarter to hang.
    let turn = if symbol.upright { " rotate(90)" } else { "" };
    let place = |out: &mut String, class: &str, path: &str, turn: &str| {
        writeln!(
            out,
            "<path class=\"{class}\" transform=\"translate({x} {y}){turn}\" d=\"{path}\"/>"
        )
    };
    match &symbol.glyph {
        Glyph::Resistor => {
            let (a, b) = RESISTOR;
            place(
                out,
                "shape",
                &format!("M{} {}H{a}V{b}H{}Z", -a, -b, -a),
                turn,
            )
        }
        Glyph::Capacitor => {
            let (a, b) = PLATES;
            let path = format!("M{} {}V{b}M{a} {}V{b}", -a, -b, -b);
            place(out, "shape plate", &path, turn)
        }
        Glyph::Coil { dot } => {
            let path = format!("M{} 0{}", -COIL, turns(4, 2 * TURN));
            place(out, "shape", &path, turn)?;
            if let Some(end) = dot {
                let along = match end {
                    SymbolEnd::Fore => -COIL + TURN,
                    SymbolEnd::Aft => COIL - TURN,
                };
                let (dx, dy) = if symbol.upright {
                    (-DOT, along)
                } else {
                    (along, DOT)
                };
                writeln!(
                    out,
                    "<circle class=\"dot\" cx=\"{}\" cy=\"{}\" r=\"2\"/>",
                    x + dx,
                    y + dy
                )?;
            }
            Ok(())
        }
        Glyph::Driver => {
            let (a, b, deep) = DRIVER;
            let wide = b + deep;
            let side = a / 2;
            let path = format!(
                "M{} {}H{a}V{b}H{}ZM{} {}L{} {}H{wide}L{side} {}",
                -a, -b, -a, -side, -b, -wide, -wide, -b
            );
            place(out, "shape", &path, turn)
        }
        Glyph::Winding { length, taps } => {
            let count = length / (2 * TURN);
            let mut path = format!("M0 0{}", turns_left(count));
            for (offset, left) in taps {
                if *left {
                    let _ = write!(path, "M0 {offset}H{}", -TURN - 1);
                }
            }
            place(out, "shape", &path, "")
        }
        Glyph::Terminal => writeln!(
            out,
            "<circle class=\"shape\" cx=\"{x}\" cy=\"{y}\" r=\"{OPEN}\"/>"
        ),
    }
}

/// Half turns to the right, bulging upwards.
fn turns(count: i32, each: i32) -> String {
    let mut path = String::new();
    for _ in 0..count {
        let _ = write!(path, "a{TURN} {TURN} 0 0 1 {each} 0");
    }
    path
}

/// Half turns downwards, bulging to the left.
fn turns_left(count: i32) -> String {
    let mut path = String::new();
    for _ in 0..count {
        let _ = write!(path, "a{TURN} {TURN} 0 0 0 0 {}", 2 * TURN);
    }
    path
}

fn write_label(label: &Label, out: &mut String) -> std::fmt::Result {
    let class = match (label.role, label.style) {
        (LabelRole::NodeName(_), _) => "node",
        (_, Style::Name) => "name",
        (_, Style::Value) => "value",
        (_, Style::Small) => "small",
    };
    let anchor = match label.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    writeln!(
        out,
        "<text class=\"{class}\" x=\"{}\" y=\"{}\"{anchor}>{}</text>",
        label.at.x,
        label.at.y,
        escaped(&label.text)
    )
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    escape(text, &mut out);
    out
}

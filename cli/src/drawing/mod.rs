//! The schematic, drawn from the network itself.
//!
//! The way of the data: the network falls into ways ([`reduce`]), each is put together as far as its
//! parts lie in series and side by side ([`branch`]), and becomes a piece of the picture with plain
//! coordinates ([`ladder`], [`winding`]; [`mesh`] for what does not shrink to one branch). The pieces
//! are set one under the other ([`page`]), parts move to the middle of their wires ([`leads`]), and all is written as SVG ([`svg_form`]). What is drawn can be
//! checked as geometry before it is text.
//!
//! Conventions: the signal runs from left to right, the return lies at the bottom of each way, a dot
//! marks a junction of three or more wires, wires that cross without a dot are not joined. Symbols
//! after IEC 60617. A `+` at a driver is its positive terminal; the wires of an inverted driver are
//! swapped.

mod branch;
mod clear;
mod fragment;
mod geometry;
mod ladder;
mod leads;
mod mesh;
mod order;
mod page;
mod reduce;
mod sheet;
mod svg_form;
mod symbol;
#[cfg(test)]
mod tests;
mod text;
mod winding;
mod winding_block;
mod wires;
mod words;

use netlist::network::Network;

use sheet::SchematicSheet;

/// The schematic of a network that [`netlist::network::check`] has found nothing wrong with, as a
/// self-contained SVG document; it may also stand inside a page.
///
/// One unit is 1/96 inch (CSS pixel). Texts are 13 and 11 units high, and stay legible down to three
/// quarters of that: up to a width of 900 units the picture can be fitted to an A4 page.
pub(crate) fn schematic(network: &Network, title: &str) -> Schematic {
    drawn(network, &SchematicSheet::new(network), title)
}

/// The same with the resistance of each coil under its value.
pub(crate) fn schematic_with_losses(network: &Network, title: &str) -> Schematic {
    drawn(network, &SchematicSheet::new(network).with_losses(), title)
}

/// A schematic as text, and how wide it is in its units.
pub(crate) struct Schematic {
    pub(crate) svg: String,
    pub(crate) width: i32,
}

fn drawn(network: &Network, sheet: &SchematicSheet<'_>, title: &str) -> Schematic {
    let drawing = page::draw(sheet);
    Schematic {
        svg: svg_form::svg(&drawing, title, &words::description(network)),
        width: drawing.width,
    }
}

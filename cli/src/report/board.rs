//! Coils and parts on a board, at their own size, to print as a template; and labels to cut out.

use maud::{Markup, PreEscaped, html};
use netlist::network::{Network, PartKind};

use super::coils::WindingSheet;
use super::pieces::{self, pieces_of};
use crate::picture::svg::SvgElement;

/// What is left of an A4 sheet within its margins, and room for words about it, mm.
const SHEET_MM: f64 = 178.0;
/// Height of a board that is one sheet, mm; what does not go on it goes on another.
const BOARD_MM: f64 = 226.0;
/// Room kept round everything, mm.
const AIR_MM: f64 = 6.0;
/// Coils of one direction stand at least so many of their diameters apart, from middle to middle.
const APART: f64 = 1.6;

/// Room for a capacitor by its value, and for a resistor: `[up to farad, long, wide]` and `[long, wide]` in mm. Film
/// capacitors and wire-wound resistors as they are sold (sizes from memory; measure your own).
const CAPACITOR_MM: [[f64; 3]; 4] = [
    [1.5e-6, 32.0, 16.0],
    [5e-6, 38.0, 22.0],
    [15e-6, 48.0, 30.0],
    [f64::INFINITY, 58.0, 38.0],
];
const RESISTOR_MM: [f64; 2] = [50.0, 12.0];

/// How a coil stands.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Stands {
    Flat,
    /// On its edge, with its axis along the board.
    Along,
    /// On its edge, with its axis across the board.
    Across,
}

impl Stands {
    fn nth(n: usize) -> Self {
        [Stands::Flat, Stands::Along, Stands::Across][n % 3]
    }

    fn words(self) -> &'static str {
        match self {
            Stands::Flat => "flat",
            Stands::Along => "on edge ↔",
            Stands::Across => "on edge ↕",
        }
    }
}

/// Something on the board: its middle and its size, mm.
#[derive(Debug, Clone, PartialEq)]
struct Footprint {
    name: String,
    words: String,
    at: [f64; 2],
    size: [f64; 2],
    stands: Option<Stands>,
}

/// The parts on a board, in rows: coils first, each at a right angle to its neighbours.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Board {
    places: Vec<Footprint>,
    /// The two coils of one direction that couple most, and their coupling factor beside each other.
    pub(super) nearest: Option<([String; 2], f64)>,
}

impl Board {
    pub(super) fn new(network: &Network, sheets: &[WindingSheet]) -> Self {
        let mut board = Self {
            places: Vec::new(),
            nearest: None,
        };
        let mut top = AIR_MM;
        let mut waiting: Vec<(usize, Stands, [f64; 2])> = (sheets.iter().enumerate())
            .map(|(number, sheet)| {
                let stands = Stands::nth(number);
                (number, stands, coil_size(sheet, stands))
            })
            .collect();
        let mut coils: Vec<Option<Footprint>> = vec![None; sheets.len()];
        while !waiting.is_empty() {
            top = board.coil_row(top, &mut waiting, sheets, &mut coils);
        }
        board.places = coils.into_iter().flatten().collect();
        for (name, part) in network.parts() {
            for piece in pieces_of(name, part) {
                let Some(size) = size_mm(&part.kind, piece.value_si, sheets, name) else {
                    continue;
                };
                let at = board.first_free(size);
                board.places.push(Footprint {
                    name: piece.name,
                    words: piece.value,
                    at,
                    size,
                    stands: None,
                });
            }
        }
        board.nearest = board.coupling(sheets);
        board
    }

    /// Sets the first coils that are waiting in a row, with their middles on one line, and gives where the next row
    /// begins.
    fn coil_row(
        &mut self,
        top: f64,
        waiting: &mut Vec<(usize, Stands, [f64; 2])>,
        sheets: &[WindingSheet],
        coils: &mut [Option<Footprint>],
    ) -> f64 {
        let mut left = AIR_MM;
        let mut row: Vec<(usize, Stands, [f64; 2], f64)> = Vec::new();
        let mut height = 0.0f64;
        waiting.retain(|&(number, stands, size)| {
            let fits = row.is_empty() || left + size[0] + AIR_MM <= SHEET_MM;
            let high = height.max(size[1]);
            let at = [left + 0.5 * size[0], top + 0.5 * high];
            if !fits || (self.too_near(&at, stands, size) && !row.is_empty()) {
                return true;
            }
            let beside = |&(_, other, known, x): &(usize, Stands, [f64; 2], f64)| {
                other == stands && at[0] - x < APART * largest(size).max(largest(known))
            };
            if row.iter().any(beside) {
                return true;
            }
            row.push((number, stands, size, at[0]));
            left += size[0] + AIR_MM;
            height = high;
            false
        });
        let top = begins(top, height);
        let middle = |height: f64| top + 0.5 * height;
        // A row that is too near to one above it is moved down as a whole.
        let mut down = 0.0;
        while (row.iter())
            .any(|&(_, stands, size, x)| self.too_near(&[x, middle(height) + down], stands, size))
        {
            down = begins(top + down + AIR_MM, height) - top;
        }
        for (number, stands, size, x) in row {
            let across = largest(size);
            let place = Footprint {
                name: sheets[number].name.clone(),
                words: format!("{across:.0} mm, {}", stands.words()),
                at: [x, middle(height) + down],
                size,
                stands: Some(stands),
            };
            self.places.push(place.clone());
            coils[number] = Some(place);
        }
        top + down + height + AIR_MM
    }

    /// Whether a coil would stand near one of the same direction.
    fn too_near(&self, at: &[f64; 2], stands: Stands, size: [f64; 2]) -> bool {
        self.places.iter().any(|other| {
            let apart = (other.at[0] - at[0]).hypot(other.at[1] - at[1]);
            other.stands == Some(stands) && apart < APART * largest(size).max(largest(other.size))
        })
    }

    /// The highest place, and there the leftmost, where something of this size touches nothing.
    fn first_free(&self, size: [f64; 2]) -> [f64; 2] {
        const STEP_MM: f64 = 3.0;
        let clear = |at: [f64; 2]| {
            self.places.iter().all(|other| {
                (0..2).any(|side| {
                    let room = 0.5 * (size[side] + other.size[side]) + 0.6 * AIR_MM;
                    (at[side] - other.at[side]).abs() >= room
                })
            })
        };
        let mut y = AIR_MM + 0.5 * size[1];
        loop {
            let mut x = AIR_MM + 0.5 * size[0];
            while x + 0.5 * size[0] + AIR_MM <= SHEET_MM || x <= AIR_MM + 0.5 * size[0] {
                if clear([x, y]) {
                    return [x, y];
                }
                x += STEP_MM;
            }
            y = begins(y - 0.5 * size[1] + STEP_MM, size[1]) + 0.5 * size[1];
        }
    }

    fn coupling(&self, sheets: &[WindingSheet]) -> Option<([String; 2], f64)> {
        let mut most: Option<([String; 2], f64)> = None;
        for (i, a) in sheets.iter().enumerate() {
            for (j, b) in sheets.iter().enumerate().skip(i + 1) {
                let (one, other) = (&self.places[i], &self.places[j]);
                if one.stands != other.stands {
                    continue;
                }
                let apart_m = 1e-3 * (one.at[0] - other.at[0]).hypot(one.at[1] - other.at[1]);
                let (first, second) = (a.coil.winding(), b.coil.winding());
                // Side by side or on one axis, whichever is more: they may stand in between.
                let mutual = [
                    first.mutual_inductance_h(&second, apart_m).ok(),
                    first.mutual_inductance_beside_h(&second, apart_m).ok(),
                ];
                let mutual_h = mutual
                    .into_iter()
                    .flatten()
                    .map(f64::abs)
                    .fold(0.0, f64::max);
                let factor = mutual_h / (a.coil.inductance_h * b.coil.inductance_h).sqrt();
                if most.as_ref().is_none_or(|(_, known)| factor > *known) {
                    most = Some(([a.name.clone(), b.name.clone()], factor));
                }
            }
        }
        most
    }

    /// The boards, one below the other.
    fn pictures(&self) -> Vec<String> {
        let board = |place: &Footprint| (place.at[1] / BOARD_MM).floor() as usize;
        let last = self.places.iter().map(board).max().unwrap_or(0);
        (0..=last)
            .map(|number| {
                let here: Vec<Footprint> = (self.places.iter())
                    .filter(|place| board(place) == number)
                    .map(|place| Footprint {
                        at: [place.at[0], place.at[1] - number as f64 * BOARD_MM],
                        ..place.clone()
                    })
                    .collect();
                picture(number, &here)
            })
            .collect()
    }
}

fn picture(number: usize, places: &[Footprint]) -> String {
    let below = places.iter().map(|place| place.at[1] + 0.5 * place.size[1]);
    let (width, height) = (SHEET_MM, below.fold(0.0, f64::max) + 2.0 * AIR_MM);
    let mut drawn = vec![
        SvgElement::new("title")
            .text("Board with coils and parts at their own size, in millimetres"),
        SvgElement::rectangle(0.3, 0.3, width - 0.6, height - 0.6).class("edge"),
    ];
    for place in places {
        let ([x, y], [long, wide]) = (place.at, place.size);
        // Clear of the cross in the middle of a coil that lies flat.
        let lift = if place.stands == Some(Stands::Flat) {
            3.4
        } else {
            1.2
        };

        if place.stands == Some(Stands::Flat) {
            let circle = SvgElement::new("circle").set("cx", x).set("cy", y);
            drawn.push(circle.set("r", 0.5 * long).class("outline"));
            drawn.push(SvgElement::line([x - 2.0, y], [x + 2.0, y]).class("outline"));
            drawn.push(SvgElement::line([x, y - 2.0], [x, y + 2.0]).class("outline"));
        } else {
            let outline = SvgElement::rectangle(x - 0.5 * long, y - 0.5 * wide, long, wide);
            drawn.push(outline.class("outline"));
        }
        match place.stands {
            Some(Stands::Along) => drawn.push(
                SvgElement::line([x - 0.5 * long - 3.0, y], [x + 0.5 * long + 3.0, y])
                    .class("axis"),
            ),
            Some(Stands::Across) => drawn.push(
                SvgElement::line([x, y - 0.5 * wide - 3.0], [x, y + 0.5 * wide + 3.0])
                    .class("axis"),
            ),
            _ => {}
        }
        drawn.push(SvgElement::label(x, y - lift, &place.name).class("middle strong"));
        if place.stands.is_none() || long > 22.0 {
            drawn.push(SvgElement::label(x, y + lift + 2.2, &place.words).class("middle"));
        }
    }
    // To see that the printer kept the size.
    drawn.push(
        SvgElement::line([AIR_MM, height - 3.0], [AIR_MM + 50.0, height - 3.0]).class("outline"),
    );
    drawn.push(SvgElement::label(AIR_MM + 52.0, height - 2.0, "50 mm").class("start"));
    SvgElement::picture(width, height)
        .class("board")
        .set("id", format!("board-{}", number + 1))
        .set("role", "img")
        .set("width", format!("{width}mm"))
        .set("height", format!("{height:.1}mm"))
        .set("font-size", 3.4)
        .children(drawn)
        .into_text()
}

/// Where something of this height may begin at `top` or below, so that no edge of a board runs through it.
fn begins(top: f64, height: f64) -> f64 {
    let board = (top / BOARD_MM).floor();
    let ends = top + height + 2.0 * AIR_MM > (board + 1.0) * BOARD_MM;
    let at_its_top = top <= board * BOARD_MM + AIR_MM;
    if ends && !at_its_top {
        (board + 1.0) * BOARD_MM + AIR_MM
    } else {
        top
    }
}

fn coil_size(sheet: &WindingSheet, stands: Stands) -> [f64; 2] {
    let across = 2e3 * (sheet.coil.inner_radius_m + sheet.coil.depth_m);
    let long = 1e3 * sheet.coil.length_m;
    match stands {
        Stands::Flat => [across, across],
        Stands::Along => [long, across],
        Stands::Across => [across, long],
    }
}

fn largest(size: [f64; 2]) -> f64 {
    size[0].max(size[1])
}

/// Size of a piece; coils are on the board already where they can be wound.
fn size_mm(
    kind: &PartKind,
    value_si: f64,
    sheets: &[WindingSheet],
    name: &str,
) -> Option<[f64; 2]> {
    match kind {
        PartKind::Resistor { .. } => Some(RESISTOR_MM),
        PartKind::Capacitor { .. } => {
            let size = CAPACITOR_MM.iter().find(|[most, ..]| value_si <= *most)?;
            Some([size[1], size[2]])
        }
        PartKind::Inductor { .. } if sheets.iter().all(|sheet| sheet.name != *name) => {
            Some([40.0, 40.0])
        }
        PartKind::Autoformer { .. } => Some([70.0, 60.0]),
        _ => None,
    }
}

pub(super) fn sketch(board: &Board) -> Markup {
    html! {
        p { "Print at 100 % and check the line of 50 mm. Coils are those of the winding sheet; neighbours stand at right angles, their middles "
            "of a row on one line, and those of one direction at least 1.6 diameters apart."
            @if let Some((names, factor)) = &board.nearest {
                " " (names[0]) " and " (names[1]) " stand in one direction and couple by " (format!("{:.2} %", 100.0 * factor)) " at most."
            }
            " Other parts have the room that such parts take (sizes from memory; measure yours)." }
        div.scroll.template tabindex="0" role="group" aria-label="Board at its size" { @for picture in board.pictures() { (PreEscaped(picture)) } }
    }
}

/// A label for every piece.
pub(super) fn labels(network: &Network) -> Markup {
    let pieces = pieces::all(network);
    let drivers = network
        .parts()
        .iter()
        .filter_map(|(name, part)| match &part.kind {
            PartKind::Driver { inverted, .. } => Some((name, *inverted)),
            _ => None,
        });
    html! {
        ul.labels {
            @for (part, piece) in &pieces { li data-part=(part) { strong { (piece.name) } " " span { (piece.value) } } }
            @for (name, inverted) in drivers {
                @for sign in ["+", "−"] { li data-driver-label=(name) { strong { (name) " " (sign) } " " span { @if inverted { "swapped" } } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use netlist::network::{Joined, MadeOf, NodeId, Part};
    use netlist::quantity::{Farads, Ohms};
    use solver::coil::AirCoil;

    use super::*;

    #[test]
    fn no_edge_runs_through_anything() {
        assert!((begins(10.0, 100.0) - 10.0).abs() < 1e-9);
        assert!((begins(150.0, 100.0) - BOARD_MM - AIR_MM).abs() < 1e-9);
        // What is higher than a board begins at its top, and is cut.
        assert!((begins(BOARD_MM + AIR_MM, 400.0) - BOARD_MM - AIR_MM).abs() < 1e-9);
    }

    #[test]
    fn a_piece_has_the_room_of_its_own_value() {
        let mut network = Network::new();
        let mut part = Part::new(PartKind::Capacitor {
            capacitance: Farads(12e-6),
            esr: Ohms(0.0),
            between: [NodeId::IN, NodeId::GND],
        });
        part.made_of = Some(MadeOf {
            joined: Joined::Series,
            values: vec![13e-6, 156e-6],
        });
        network.insert("C1", part);
        let board = Board::new(&network, &[]);
        let long: Vec<f64> = board.places.iter().map(|place| place.size[0]).collect();
        assert_eq!(long, [CAPACITOR_MM[2][1], CAPACITOR_MM[3][1]]);
    }

    #[test]
    fn nothing_lies_on_anything_else_and_coils_of_one_direction_are_apart() {
        let sheets: Vec<WindingSheet> = [2.7e-3, 2.2e-3, 1.8e-3, 0.56e-3, 0.12e-3, 4.7e-3, 0.33e-3]
            .iter()
            .enumerate()
            .map(|(i, &l_h)| WindingSheet {
                name: format!("L{i}"),
                coil: AirCoil::for_inductance(l_h, 1.25e-3).unwrap(),
                wound_h: l_h,
                reckoned_ohm: 0.5,
            })
            .collect();
        let board = Board::new(&Network::new(), &sheets);
        assert_eq!(board.places.len(), sheets.len());
        for (i, a) in board.places.iter().enumerate() {
            for side in [0, 1] {
                assert!(a.at[side] - 0.5 * a.size[side] >= 0.0, "{a:?}");
            }
            assert!(a.at[0] + 0.5 * a.size[0] <= SHEET_MM, "{a:?}");
            for b in &board.places[i + 1..] {
                let clear = |side: usize| {
                    (a.at[side] - b.at[side]).abs() >= 0.5 * (a.size[side] + b.size[side]) - 1e-9
                };
                assert!(clear(0) || clear(1), "{a:?} {b:?}");
                if a.stands == b.stands {
                    let apart = (a.at[0] - b.at[0]).hypot(a.at[1] - b.at[1]);
                    assert!(apart > 50.0, "{a:?} {b:?}");
                }
            }
        }
        let (_, factor) = board.nearest.unwrap();
        assert!(factor > 0.0 && factor < 0.03, "{factor}");
    }
}

//! The sections for building: parts, coils, wiring, placing.

use maud::{Markup, html};
use netlist::network::{Network, PartKind};
use netlist::quantity::Henries;

use super::board::{Board, labels, sketch};
use super::coils::{DISTANCES_M, Effect, Pair, WindingSheet, pairs, sheets};
use super::purchase::Purchase;
use super::{Report, leaf, pads, stress};
use crate::page::{amount, section};

/// Pairs of coils that are shown; more would be a catalogue.
const MOST_PAIRS: usize = 6;

fn has_coils(network: &Network) -> bool {
    (network.parts().values()).any(|part| matches!(part.kind, PartKind::Inductor { .. }))
}

/// Sections of this report that are read: id and short name.
pub(super) fn names(report: &Report<'_>) -> Vec<(&'static str, &'static str)> {
    let mut names = vec![("parts", "Parts"), stress::NAME];
    if pads::has_steps(report) {
        names.push(pads::NAME);
    }
    if has_coils(report.network) {
        names.push(("coils", "Coils"));
    }
    names.push(("placing", "Placing"));
    names
}

pub(super) fn sections(report: &Report<'_>) -> Markup {
    let sheets = sheets(report.project, report.network);
    html! {
        (parts(report))
        (stress::stress(report))
        @if pads::has_steps(report) { (pads::pads(report, &report.adjustments)) }
        @if has_coils(report.network) { (coils(&sheets)) }
        (placing(&sheets, &pairs(report.project, report.network, &sheets)))
    }
}

/// Sheets that are taken to the bench: id and short name.
pub(super) const SHEETS: [(&str, &str); 3] = [leaf::NAME, ("board", "Board"), ("labels", "Labels")];

/// They come last, each on paper of its own.
pub(super) fn bench_sheets(report: &Report<'_>) -> Markup {
    let sheets = sheets(report.project, report.network);
    html! {
        (leaf::leaf(report))
        (section("board", "Board at its size", sketch(&Board::new(report.network, &sheets))))
        (section("labels", "Labels to cut out", labels(report.network)))
    }
}

fn parts(report: &Report<'_>) -> Markup {
    let stressed = &report.facts.check.stress.parts;
    let purchase = Purchase::new(report.network, &report.project.stock, stressed);
    section(
        "parts",
        "Parts to buy",
        html! {
            div.beside {
                (shopping(&purchase))
                (piece_by_piece(&purchase))
            }
            @if !purchase.together.is_empty() {
                ul { @for words in &purchase.together { li { (words) } } }
            }
            p.quiet { "The rating is that of the stock's part where it is enough, and otherwise the one to look for. "
                "Resistance is that of a coil, or the equivalent series resistance of a capacitor; the design counts on it. "
                "Buy a few parts more and pair them by measurement: two loudspeakers that are alike matter more than a value that is right." }
        },
    )
}

fn money(price: f64) -> String {
    format!("{price:.2}")
}

/// What to ask for at the counter.
fn shopping(purchase: &Purchase) -> Markup {
    let items = &purchase.shopping;
    let priced = items.iter().any(|item| item.price.is_some());
    let named = items.iter().any(|item| item.name.is_some());
    let columns = 3 + usize::from(named);
    html! {
        div.scroll tabindex="0" role="group" aria-label="Shopping list" {
            table.shopping {
                caption { span { "Shopping list for a pair: " (2 * purchase.pieces()) " pieces" } }
                thead { tr {
                    th.number data-column="pieces" scope="col" { "Pieces" }
                    th data-column="what" scope="col" { "What" }
                    th.number.amount data-column="value" scope="col" { "Value" }
                    th data-column="rating" scope="col" { "Rating to buy" }
                    @if named { th.item data-column="item" scope="col" { "From the list" } }
                    @if priced { th.number data-column="price" scope="col" { "Together" } }
                    th data-column="got" scope="col" { "Got" }
                } }
                tbody { @for item in items { tr {
                    td.number { (2 * item.count) }
                    th scope="row" { (item.what()) }
                    td.number.amount { (amount(&item.value)) }
                    td { (item.needed.map(|needed| needed.words()).unwrap_or_else(|| "–".into())) }
                    @if named { td.item { (item.name.as_deref().unwrap_or("–")) } }
                    @if priced { td.number { (item.price.map(|price| money(2.0 * item.count as f64 * price)).unwrap_or_else(|| "–".into())) } }
                    td { input type="checkbox" data-keep={ "got " (item.what()) " " (item.value) " " (item.name.as_deref().unwrap_or("")) }
                        aria-label={ "got " (item.what()) " " (item.value) }; }
                } } }
                @if priced { tfoot { tr {
                    td {}
                    th scope="row" colspan=(columns) { "All of it"
                        @if purchase.without_price > 0 { small { "without " (2 * purchase.without_price) " pieces of unknown price" } } }
                    td.number { (money(2.0 * purchase.price)) }
                    td {}
                } } }
            }
        }
    }
}

/// Every line of the drawing.
fn piece_by_piece(purchase: &Purchase) -> Markup {
    let lines = &purchase.lines;
    let priced = lines.iter().any(|line| line.price.is_some());
    html! {
        div.scroll tabindex="0" role="group" aria-label="Parts of one loudspeaker" {
            table.parts {
                caption { span { "By their names in the drawing: " (purchase.pieces()) " pieces for one loudspeaker" } }
                thead { tr {
                    th data-column="for" scope="col" { "For" }
                    th.number.amount data-column="value" scope="col" { "Value" }
                    th data-column="rating" scope="col" { "Rating to buy" }
                    th.number data-column="each" scope="col" { "Each" }
                    th.number.minor data-column="tolerance" scope="col" { "Tolerance" }
                    th.number.minor data-column="loss" scope="col" { "Resistance" }
                    th.minor data-column="what" scope="col" { "Part" }
                    @if priced { th.number data-column="price" scope="col" { "Price each" } }
                } }
                tbody { @for line in lines { tr {
                    th scope="row" { (line.parts.join(", ")) }
                    td.number.amount { (amount(&line.value)) }
                    td { (line.needed.map(|needed| needed.words()).unwrap_or_else(|| "–".into())) }
                    td.number { (line.parts.len()) }
                    td.number.minor { (line.tolerance.as_deref().unwrap_or("–")) }
                    td.number.minor { (line.loss.as_deref().unwrap_or("–")) }
                    td.minor { (line.what()) }
                    @if priced { td.number { (line.price.map(money).unwrap_or_else(|| "–".into())) } }
                } } }
            }
        }
    }
}

/// A length in mm, its unit in the head of the column.
fn millimetres(metres: f64) -> String {
    format!("{:.1}", 1e3 * metres)
}

fn coils(sheets: &[WindingSheet]) -> Markup {
    section(
        "coils",
        "Coils to wind",
        html! {
            @if sheets.is_empty() {
                p { "None of the coils can be wound as an air-core coil of usual wire; buy them." }
            } @else {
                div.scroll tabindex="0" role="group" aria-label="Winding sheet" {
                    table {
                        caption { span { "Round air-core coils with a square winding section: as long and as deep as the former is in radius" } }
                        thead { tr {
                            th scope="col" { "Coil" }
                            th.number scope="col" { "Inductance" }
                            th.number scope="col" { "Wire, bare, mm" }
                            th.number scope="col" { "Turns" }
                            th.number scope="col" { "Former, across, mm" }
                            th.number scope="col" { "Winding, long and deep, mm" }
                            th.number scope="col" { "Outside, across, mm" }
                            th.number scope="col" { "Wire length, m" }
                            th.number scope="col" { "Copper, g" }
                            th.number scope="col" { "Resistance, Ω" }
                            th.number scope="col" { "Design counts on, Ω" }
                        } }
                        tbody { @for sheet in sheets {
                            @let coil = &sheet.coil;
                            tr {
                                th scope="row" { (sheet.name) }
                                td.number { (Henries(coil.inductance_h)) }
                                td.number { (format!("{:.2}", 1e3 * coil.wire_diameter_m)) }
                                td.number { (format!("{:.0}", sheet.turns())) }
                                td.number { (millimetres(2.0 * coil.inner_radius_m)) }
                                td.number { (millimetres(coil.length_m)) }
                                td.number { (millimetres(2.0 * (coil.inner_radius_m + coil.depth_m))) }
                                td.number { (format!("{:.1}", coil.wire_length_m)) }
                                td.number { (format!("{:.0}", 1e3 * coil.copper_mass_kg)) }
                                td.number { (format!("{:.2}", coil.dcr_ohm)) }
                                td.number { (format!("{:.2}", sheet.reckoned_ohm)) }
                            }
                        } }
                    }
                }
                p { "The square section needs the least wire (H. B. Brooks, 1931). Its inductance is 1.699 µH per metre of mean "
                    "radius and turn squared, exact to the last digit shown for a section evenly filled; rounding to whole turns moves it by "
                    (format!("{:.1} %", 100.0 * worst_rounding(sheets)))
                    " at most. Wire by hand does not fill a section evenly: expect 3 % (common practice). Wind two turns too many, measure, "
                    "and take off until the value is right. Length is without leads; resistance is for copper at 20 °C, and goes up by "
                    "0.39 % for each degree." }
            }
        },
    )
}

fn worst_rounding(sheets: &[WindingSheet]) -> f64 {
    let off = sheets
        .iter()
        .map(|sheet| (sheet.wound_h / sheet.coil.inductance_h - 1.0).abs());
    off.fold(0.0, f64::max)
}

fn placing(sheets: &[WindingSheet], pairs: &[Pair]) -> Markup {
    let effect = |effect: &Option<Effect>| match effect {
        None => html! { td.number { "no room" } },
        Some(effect) => html! { td.number { (format!("{:.2} dB", effect.change_db))
        small { (format!("{:.2} %", 100.0 * effect.factor)) } } },
    };
    section(
        "placing",
        "Placing",
        html! {
            ul {
                li { "Set coils at right angles, each with its axis through the middle of the next: then they do not couple. "
                    "Three can stand so, one along each edge of a box; move the others away." }
                li { "Keep coils a hand's width from steel, from drivers' magnets and from each other." }
                li { "Keep resistors clear of wood, cable and capacitors, with air above them, and capacitors away from their heat." }
                li { "Keep the wires of one way together, and those of different ways apart." }
            }
            @if !pairs.is_empty() {
                p { "What two coils do to the response when they are not at right angles: the largest change of the sum in the aim's band, "
                    "and their coupling. The distance is from middle to middle." }
                div.scroll tabindex="0" role="group" aria-label="Coupling of coils" {
                    table {
                        caption { span { "Largest change of the sum, and coupling" } }
                        thead {
                            tr {
                                th rowspan="2" scope="col" { "Coils" }
                                th colspan="3" scope="colgroup" { "on one axis" }
                                th colspan="3" scope="colgroup" { "side by side" }
                            }
                            tr { @for _ in 0..2 { @for d in DISTANCES_M {
                                th.number scope="col" { (format!("{:.0} cm", 100.0 * d)) }
                            } } }
                        }
                        tbody { @for pair in pairs.iter().take(MOST_PAIRS) { tr {
                            th scope="row" { (pair.names[0]) " and " (pair.names[1]) }
                            @for place in &pair.on_axis { (effect(place)) }
                            @for place in &pair.beside { (effect(place)) }
                        } } }
                    }
                }
                @if pairs.len() > MOST_PAIRS {
                    p { "The other " (pairs.len() - MOST_PAIRS) " pairs change the sum by "
                        (format!("{:.2}", pairs[MOST_PAIRS].worst_db())) " dB at most." }
                }
                p.quiet { "Computed for coils of the winding sheet, by Maxwell's and Neumann's formulas for circles over a grid of filaments, "
                    "for the worse of the two ways round. Bought coils of other shapes couple alike, not equally." }
            } @else if sheets.len() == 1 {
                p { "There is one coil, which has no other to couple with." }
            }
        },
    )
}

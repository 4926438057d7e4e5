//! The sections for building: parts, coils, wiring, placing.

use maud::{Markup, html};
use netlist::network::{Network, PartKind};
use netlist::quantity::Henries;

use super::coils::{DISTANCES_M, Effect, Pair, Sheet, pairs, sheets};
use super::page::section;
use super::purchase::Purchase;
use super::wiring::joints;
use super::{Report, pads, stress};

/// Pairs of coils that are shown; more would be a catalogue.
const MOST_PAIRS: usize = 6;

fn has_coils(network: &Network) -> bool {
    (network.parts().values()).any(|part| matches!(part.kind, PartKind::Inductor { .. }))
}

/// Sections of this report: id and short name.
pub(super) fn names(report: &Report<'_>) -> Vec<(&'static str, &'static str)> {
    let mut names = vec![("parts", "Parts"), stress::NAME, ("wiring", "Wiring")];
    if has_coils(report.network) {
        names.extend([("coils", "Coils"), ("placing", "Placing")]);
    }
    if !report.adjustments.is_empty() {
        names.push(pads::NAME);
    }
    names
}

pub(super) fn sections(report: &Report<'_>) -> Markup {
    let sheets = sheets(report.project, report.network);
    html! {
        (parts(report))
        (stress::stress(report))
        (wiring(report.network))
        @if has_coils(report.network) {
            (coils(&sheets))
            (placing(&sheets, &pairs(report.project, report.network, &sheets)))
        }
        @if !report.adjustments.is_empty() { (pads::pads(report, &report.adjustments)) }
    }
}

fn parts(report: &Report<'_>) -> Markup {
    let stressed = &report.facts.check.stress.parts;
    let to_buy = |name: &str| {
        let part = stressed.iter().find(|part| part.part == name)?;
        match (part.buy?, part.kind) {
            // Without a core a coil bears any current that is played through it.
            (buy, "inductor") => Some(format!("{} if cored", stress::rating(buy))),
            (buy, _) => Some(stress::rating(buy)),
        }
    };
    let purchase = Purchase::new(report.network, &report.project.stock, &to_buy);
    let lines = &purchase.lines;
    let priced = lines.iter().any(|line| line.price.is_some());
    let listed = lines.iter().any(|line| line.item.is_some());
    let money = |price: f64| format!("{price:.2}");
    section(
        "parts",
        "Parts to buy",
        html! {
            div.scroll tabindex="0" role="region" aria-label="Parts to buy" {
                table.parts {
                    caption { span { (purchase.pieces()) " pieces for one loudspeaker, " (2 * purchase.pieces()) " for a pair" } }
                    thead { tr {
                        th scope="col" { "For" }
                        th scope="col" { "Part" }
                        th.number scope="col" { "Value" }
                        th.number scope="col" { "Tolerance" }
                        th.number scope="col" { "Resistance" }
                        th.number scope="col" { "Rating to buy" }
                        @if listed { th scope="col" { "From the list" } }
                        th.number scope="col" { "One" }
                        th.number scope="col" { "Pair" }
                        @if priced { th.number scope="col" { "Price each" } }
                    } }
                    tbody { @for line in lines { tr {
                        th scope="row" { (line.parts.join(", ")) }
                        td { (line.what) }
                        td.number { (line.value) }
                        td.number { (line.tolerance.as_deref().unwrap_or("–")) }
                        td.number { (line.loss.as_deref().unwrap_or("–")) }
                        td.number { (line.rating.as_deref().unwrap_or("–")) }
                        @if listed { td.item { (line.item.as_deref().unwrap_or("–")) } }
                        td.number { (line.parts.len()) }
                        td.number { (2 * line.parts.len()) }
                        @if priced { td.number { (line.price.map(money).unwrap_or_else(|| "–".into())) } }
                    } } }
                    @if priced { tfoot { tr {
                        th scope="row" colspan="2" { "Together" }
                        td colspan=(6 + usize::from(listed)) {
                            (money(purchase.price)) " for one, " (money(2.0 * purchase.price)) " for a pair"
                            @if purchase.without_price > 0 { "; the price of " (purchase.without_price) " pieces is not known" }
                        }
                        td {}
                    } } }
                }
            }
            @if !purchase.together.is_empty() {
                ul { @for words in &purchase.together { li { (words) } } }
            }
            p.quiet { "Resistance is that of a coil, or the equivalent series resistance of a capacitor; the design counts on it. "
                "Buy a few parts more and pair them by measurement: two loudspeakers that are alike matter more than a value that is right." }
        },
    )
}

fn wiring(network: &Network) -> Markup {
    let joints = joints(network);
    let swapped: Vec<&str> = (network.parts().iter())
        .filter(|(_, part)| matches!(part.kind, PartKind::Driver { inverted: true, .. }))
        .map(|(name, _)| name.as_str())
        .collect();
    section(
        "wiring",
        "Wiring",
        html! {
            p { "Every line is one joint: all ends named in it meet. Tick it off when it is soldered." }
            table.joints {
                caption { span { (joints.len()) " joints" } }
                thead { tr {
                    th scope="col" { "Node" }
                    th scope="col" { "Joins" }
                    th scope="col" { "Done" }
                } }
                tbody { @for joint in &joints { tr {
                    th scope="row" { (joint.node) }
                    td {
                        @if let Some(remark) = joint.remark { span.terminal { (remark) } " " }
                        @for end in &joint.ends { span.end { (end) } " " }
                    }
                    td { input type="checkbox" aria-label={ "node " (joint.node) " is soldered" }; }
                } } }
            }
            @if !swapped.is_empty() {
                p { strong { "Swapped wires: " } (swapped.join(", "))
                    ". The drawing and the list above have it so already: the return goes to the driver's +." }
            }
        },
    )
}

fn millimetres(metres: f64) -> String {
    let mm = 1e3 * metres;
    if mm < 10.0 {
        format!("{mm:.2} mm")
    } else {
        format!("{mm:.0} mm")
    }
}

fn coils(sheets: &[Sheet]) -> Markup {
    section(
        "coils",
        "Coils to wind",
        html! {
            @if sheets.is_empty() {
                p { "None of the coils can be wound as an air-core coil of usual wire; buy them." }
            } @else {
                div.scroll tabindex="0" role="region" aria-label="Winding sheet" {
                    table {
                        caption { span { "Round air-core coils with a square winding section: as long and as deep as the former is in radius" } }
                        thead { tr {
                            th scope="col" { "Coil" }
                            th.number scope="col" { "Inductance" }
                            th.number scope="col" { "Wire, bare" }
                            th.number scope="col" { "Turns" }
                            th.number scope="col" { "Former, across" }
                            th.number scope="col" { "Winding, long and deep" }
                            th.number scope="col" { "Outside, across" }
                            th.number scope="col" { "Wire length" }
                            th.number scope="col" { "Copper" }
                            th.number scope="col" { "Resistance" }
                            th.number scope="col" { "Design counts on" }
                        } }
                        tbody { @for sheet in sheets {
                            @let coil = &sheet.coil;
                            tr {
                                th scope="row" { (sheet.name) }
                                td.number { (Henries(coil.inductance_h)) }
                                td.number { (format!("{:.2} mm", 1e3 * coil.wire_diameter_m)) }
                                td.number { (format!("{:.0}", sheet.turns())) }
                                td.number { (millimetres(2.0 * coil.inner_radius_m)) }
                                td.number { (millimetres(coil.length_m)) }
                                td.number { (millimetres(2.0 * (coil.inner_radius_m + coil.depth_m))) }
                                td.number { (format!("{:.1} m", coil.wire_length_m)) }
                                td.number { (format!("{:.0} g", 1e3 * coil.copper_mass_kg)) }
                                td.number { (format!("{:.2} Ω", coil.dcr_ohm)) }
                                td.number { (format!("{:.2} Ω", sheet.reckoned_ohm)) }
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

fn worst_rounding(sheets: &[Sheet]) -> f64 {
    let off = sheets
        .iter()
        .map(|sheet| (sheet.wound_h / sheet.coil.inductance_h - 1.0).abs());
    off.fold(0.0, f64::max)
}

fn placing(sheets: &[Sheet], pairs: &[Pair]) -> Markup {
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
                div.scroll tabindex="0" role="region" aria-label="Coupling of coils" {
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

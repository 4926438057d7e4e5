//! The bench leaf: one A4 sheet for the soldering iron and the first switch-on.

use maud::{Markup, PreEscaped, html};
use netlist::network::{Network, PartKind};
use num_complex::Complex64;
use solver::wiring::cable_ohm;

use super::wiring::{Joint, joints};
use super::{Report, Room, pieces};
use crate::page::{amount, section};
use crate::words::hz;

/// Frequencies at which the impedance is measured before the first switch-on, Hz: a meter's generator has them.
const FIRST_HZ: [f64; 5] = [50.0, 200.0, 1e3, 5e3, 15e3];

/// What may be off at the first measurement, as a share: the tolerance of parts and drivers (common practice).
const MAY_BE_OFF: &str = "15 %";

pub(super) const NAME: (&str, &str) = ("leaf", "Bench leaf");

pub(super) fn leaf(report: &Report<'_>) -> Markup {
    let joints = joints(report.network);
    let drawing = report.drawing_with_losses();
    let (room, svg) = (drawing.room(), drawing.svg);
    section(
        NAME.0,
        NAME.1,
        html! {
            p { "One sheet for the bench. Every line of the joints is one joint: all ends named in it meet. Tick it off when it is "
                "soldered, and write down what each part measures before it goes in." }
            div.leaf-drawing.wide-drawing[room == Room::Sheet] {
                div.scroll.sheet tabindex="0" role="group" aria-label="Drawing with coil resistances" { (PreEscaped(svg)) }
            }
            @if room == Room::Sheet {
                p.quiet.own-sheet { "The drawing is too wide for this sheet and has one of its own." }
            }
            div.leaf-tables {
                (parts(report))
                (wires(&joints))
                (first(report))
            }
            (swapped(report.network))
        },
    )
}

fn parts(report: &Report<'_>) -> Markup {
    let pieces = pieces::all(report.network);
    html! {
        table.leaf-parts {
            caption { span { "Parts" } }
            thead { tr {
                th scope="col" { "Part" }
                th.number.amount scope="col" { "Value" }
                th.number scope="col" { "Ω" }
                th.blank scope="col" { "Measured" }
            } }
            tbody { @for (part, piece) in &pieces { tr data-part=(part) {
                th scope="row" { (piece.name) }
                td.number.amount { (amount(&piece.value)) }
                td.number { (piece.loss_ohm.filter(|ohm| *ohm > 0.0).map(|ohm| format!("{ohm:.2}")).unwrap_or_default()) }
                td.blank {}
            } } }
        }
    }
}

fn wires(joints: &[Joint]) -> Markup {
    html! {
        table.joints {
            caption { span { (joints.len()) " joints" } }
            thead { tr {
                th scope="col" { "Node" }
                th scope="col" { "Joins" }
                th scope="col" { "Done" }
                th.blank scope="col" { "Measured" }
            } }
            tbody { @for joint in joints { tr {
                th scope="row" { (joint.node) }
                td {
                    @if let Some(remark) = &joint.remark { span.terminal { (remark) } " " }
                    @for end in &joint.ends { span.end { (end) } " " }
                }
                td { input type="checkbox" data-keep={ "joint " (joint.node) } aria-label={ "node " (joint.node) " is soldered" }; }
                td.blank {}
            } } }
        }
    }
}

/// What a meter must show at the terminals before an amplifier is connected.
fn first(report: &Report<'_>) -> Markup {
    let facts = &report.facts;
    // The meter takes the amplifier's place at the loudspeaker, without the cable.
    let cable_ohm = cable_ohm(report.project);
    let direct = (facts.check.load.as_ref()).and_then(|load| load.direct_current_ohm);
    let direct = direct.map(|ohm| ohm - cable_ohm);
    let at = |f_hz: f64| {
        let place = facts.nearest(f_hz);
        let phase = facts.load_phase_deg[place].to_radians();
        let load = Complex64::from_polar(facts.load_ohm[place], phase);
        (place, (load - cable_ohm).norm())
    };
    html! {
        table.first {
            caption { span { "At the terminals, before the first switch-on" } }
            thead { tr {
                th scope="col" { "At" }
                th.number scope="col" { "Expected, Ω" }
                th.blank scope="col" { "Measured" }
            } }
            tbody {
                tr {
                    th scope="row" { "direct current" }
                    td.number data-direct="" { (direct.map(|ohm| format!("{ohm:.2}")).unwrap_or_else(|| "open".into())) }
                    td.blank {}
                }
                @for f_hz in FIRST_HZ {
                    @let (place, ohm) = at(f_hz);
                    tr {
                        th scope="row" { (hz(f_hz)) }
                        td.number data-at=(place) { @if ohm.is_finite() { (format!("{ohm:.2}")) } @else { "open" } }
                        td.blank {}
                    }
                }
            }
        }
        p.quiet.first-note { "Amplifier off, drivers connected. More than " (MAY_BE_OFF) " off (common practice): look for a wrong part or joint before "
            "anything is switched on. Capacitors may hold a charge." }
    }
}

fn swapped(network: &Network) -> Markup {
    let swapped: Vec<&str> = (network.parts().iter())
        .filter(|(_, part)| matches!(part.kind, PartKind::Driver { inverted: true, .. }))
        .map(|(name, _)| name.as_str())
        .collect();
    html! {
        p id="swapped" hidden=[swapped.is_empty().then_some("hidden")] {
            strong { "Swapped wires: " } span { (swapped.join(", ")) }
            ". The drawing and the list above have it so already: the return goes to the driver's +."
        }
    }
}

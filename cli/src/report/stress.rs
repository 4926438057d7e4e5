//! What parts and drivers must survive, as bars against what is to be bought.

use maud::{Markup, PreEscaped, html};
use netlist::quantity::{Amperes, Volts, Watts};
use solver::judge::{DriverStress, PartStress, Rating};

use super::Report;
use crate::page::section;
use crate::picture::svg::SvgElement;

/// Width of a bar that is full.
const FULL: f64 = 100.0;

/// Name of the section.
pub(super) const NAME: (&str, &str) = ("stress", "Stress");

/// A rating for people.
pub(super) fn rating(rating: Rating) -> String {
    match rating {
        Rating::PowerW(w) => format!("{:.3}", Watts(w)),
        Rating::VoltageV(v) => format!("{:.3}", Volts(v)),
        Rating::CurrentA(a) => format!("{:.3}", Amperes(a)),
    }
}

/// What counts for a part, of the same sort as its rating.
fn counts(part: &PartStress, rating: Rating) -> f64 {
    match rating {
        Rating::PowerW(_) => part.noise.power_w,
        Rating::VoltageV(_) => part.peak_v(),
        Rating::CurrentA(_) => part.peak_a(),
    }
}

pub(super) fn stress(report: &Report<'_>) -> Markup {
    let stress = &report.facts.check.stress;
    let loudness = &stress.loudness;
    let bought = stress
        .parts
        .iter()
        .filter_map(|part| Some((part, part.buy?)));
    section(
        NAME.0,
        "Stress",
        html! {
            p {
                "With programme noise (IEC 60268-1, crest factor 2) at the amplifier's "
                @if loudness.stated { "rated " } @else { "" }
                (Watts(loudness.power_w)) " into " (format!("{} Ω", loudness.load_ohm))
                @if !loudness.stated { " (the design states no power: powers grow with it, voltages with its root)" }
                ", and the worst steady tone of the same voltage. The loudspeaker takes "
                span data-noise="" { (format!("{:.3}", Watts(stress.noise_power_w))) } " of the noise."
            }
            div.scroll tabindex="0" role="group" aria-label="Stress on parts" {
                table {
                    caption { span { "Parts: what counts for each, as a bar of the rating that it has, or else of the least to buy" } }
                    thead { tr {
                        th scope="col" { "Part" }
                        th.number scope="col" { "Noise heat, W" }
                        th.number scope="col" { "Least to buy" }
                        th scope="col" { "Share of rating" }
                        th.number scope="col" { "It has" }
                        th.number.minor scope="col" { "Peak, V" }
                        th.number.minor scope="col" { "Peak, A" }
                    } }
                    tbody { @for (part, buy) in bought { tr data-part=(part.part) {
                        th scope="row" { (part.part) }
                        td.number { (format!("{:.2}", part.noise.power_w)) }
                        td.number { (rating(buy)) @if part.pieces > 1 { small { "each of " (part.pieces) } } }
                        td { (bar(used(part, buy), &part.part)) }
                        td.number { (part.rated.map(rating).unwrap_or_else(|| "–".into())) }
                        td.number.minor { (format!("{:.1}", part.peak_v())) }
                        td.number.minor { (format!("{:.2}", part.peak_a())) }
                    } } }
                }
            }
            p.quiet { "Peaks are the larger of the worst tone's and those of " (stress.peaks.seconds) " s of the noise: its crest factor is "
                (stress.peaks.crest_factor) " at the amplifier only, and behind a filter up to about 5, so that the clipped wave was passed "
                "through every part. Hours have peaks up to 1.3 times as high, for which the ratings have room." }
            p.quiet { "Resistors are bought for twice the power that they turn to heat, capacitors for twice the peak voltage, coils "
                "with a core for 1.3 times the peak current (common practice). The current of a coil matters where it has a core; an "
                "air coil bears it." }
            div.scroll tabindex="0" role="group" aria-label="Stress on drivers" {
                table {
                    caption { span { "Drivers" } }
                    thead { tr {
                        th scope="col" { "Driver" }
                        th.number scope="col" { "Noise power, W" }
                        th.number scope="col" { "Peak, V" }
                        th scope="col" { "Share of rating" }
                        th.number scope="col" { "Rated, W" }
                        th.number scope="col" { "At its resonance, dB" }
                    } }
                    tbody { @for driver in &stress.drivers { (of_driver(driver)) } }
                }
            }
        },
    )
}

fn of_driver(driver: &DriverStress) -> Markup {
    html! { tr data-driver=(driver.driver) {
        th scope="row" { (driver.driver) }
        td.number { (format!("{:.2}", driver.noise.power_w)) }
        td.number { (format!("{:.1}", driver.noise.peak_v)) }
        td { @if let Some(rated_w) = driver.rated_w {
            (bar(driver.noise.power_w / rated_w, &driver.driver))
        } @else { "–" } }
        td.number { (driver.rated_w.map(|w| w.to_string()).unwrap_or_else(|| "–".into())) }
        td.number { @if let Some(found) = &driver.excursion {
            (format!("{:+.0}", found.gets.at_resonance_db).replace('-', "−"))
            small { "against the handover" }
        } @else { "–" } }
    } }
}

/// What a part gets as a share of what it stands: of the rating that it has, or else of the least to buy for each piece.
fn used(part: &PartStress, buy: Rating) -> f64 {
    match part.rated {
        Some(rated) => counts(part, rated) / rated.size(),
        None => part.largest_share * counts(part, buy) / buy.size(),
    }
}

/// A bar.
fn bar(share: f64, name: &str) -> Markup {
    let share = if share.is_finite() {
        share.max(0.0)
    } else {
        0.0
    };
    let words = format!("{name}: {:.0} %", 100.0 * share);
    let (width, height) = (FULL + 2.0, 12.0);
    let parts = vec![
        SvgElement::rectangle(1.0, 1.0, FULL, height - 2.0).class("room"),
        SvgElement::rectangle(1.0, 1.0, FULL * share.min(1.0), height - 2.0).class("used"),
    ];
    let svg = SvgElement::picture(width, height)
        .class("bar")
        .set("role", "img")
        .set("aria-label", &words)
        .children(parts)
        .into_text();
    html! { (PreEscaped(svg)) }
}

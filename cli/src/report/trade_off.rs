//! What each part more buys: one point a proposal of the design, the one that was taken marked.

use maud::{Markup, PreEscaped, html};

use crate::page::section;
use crate::picture::svg::SvgElement;

pub(super) const NAME: (&str, &str) = ("trade-off", "Error and parts");

/// One proposal of a design.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Proposed {
    pub(crate) parts: usize,
    pub(crate) rms_db: f64,
    /// The one of this page.
    pub(crate) taken: bool,
}

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 250.0;
const LEFT: f64 = 46.0;
const BELOW: f64 = 34.0;
const ABOVE: f64 = 24.0;
const RIGHT: f64 = 20.0;
const LETTERS: f64 = 12.5;

pub(super) fn trade_off(proposals: &[Proposed]) -> Markup {
    section(
        NAME.0,
        NAME.1,
        html! {
            figure { (PreEscaped(picture(proposals))) }
            p.quiet { "Each point is a network that was proposed, with values of the stock; the ringed one is this design. "
                "The table of `design` has all their figures, and " code { "--pick" } " takes another." }
        },
    )
}

fn picture(proposals: &[Proposed]) -> String {
    let fold = |pick: fn(&Proposed) -> f64, with: fn(f64, f64) -> f64, start: f64| {
        proposals.iter().map(pick).fold(start, with)
    };
    let parts = |p: &Proposed| p.parts as f64;
    let (from, to) = (
        fold(parts, f64::min, f64::INFINITY),
        fold(parts, f64::max, 0.0),
    );
    let (from, to) = (from - 1.0, to + 1.0);
    let most_db = fold(|p| p.rms_db, f64::max, 0.1);
    let ten = 10f64.powf((most_db / 4.0).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * ten);
    let step = step
        .into_iter()
        .find(|s| most_db / s <= 5.0)
        .unwrap_or(10.0 * ten);
    let top = step * (most_db / step).ceil();
    let x = |parts: f64| LEFT + (parts - from) / (to - from) * (WIDTH - LEFT - RIGHT);
    let y = |db: f64| HEIGHT - BELOW - db / top * (HEIGHT - BELOW - ABOVE);
    let mut drawn = vec![SvgElement::new("title").text(&words(proposals))];
    let lines = (top / step).round() as usize;
    for i in 0..=lines {
        let db = step * i as f64;
        drawn.push(SvgElement::line([LEFT, y(db)], [WIDTH - RIGHT, y(db)]).class("grid"));
        let digits = (-step.log10().floor()).clamp(0.0, 3.0) as usize;
        let label = format!("{db:.digits$}");
        drawn.push(SvgElement::label(LEFT - 6.0, y(db) + 4.0, &label).class("right"));
    }
    let every = (((to - from) / 14.0).ceil() as usize).max(1);
    for parts in (from as usize + 1..to as usize).step_by(every) {
        let at = x(parts as f64);
        drawn
            .push(SvgElement::label(at, HEIGHT - BELOW + 16.0, &parts.to_string()).class("middle"));
    }
    drawn.push(SvgElement::label(2.0, 12.0, "dB rms").class("left"));
    drawn.push(SvgElement::label(WIDTH - RIGHT, HEIGHT - 4.0, "parts").class("right"));
    for proposed in proposals {
        let (cx, cy) = (x(parts(proposed)), y(proposed.rms_db));
        let dot = |class: &str, r: f64| {
            SvgElement::new("circle")
                .class(class)
                .set("cx", cx)
                .set("cy", cy)
                .set("r", r)
        };
        drawn.push(dot("dot", 3.2));
        if proposed.taken {
            drawn.push(dot("spot", 8.0));
            let label = format!("{} parts, {:.2} dB", proposed.parts, proposed.rms_db);
            // Towards the middle, where there is room.
            let (side, at) = if cx > 0.6 * WIDTH {
                ("name right", cx - 12.0)
            } else {
                ("name left", cx + 12.0)
            };
            drawn.push(SvgElement::label(at, cy - 9.0, &label).class(side));
        }
    }
    SvgElement::picture(WIDTH, HEIGHT)
        .class("chart")
        .set("id", "proposals")
        .set("role", "img")
        .set("font-size", LETTERS)
        .children(drawn)
        .into_text()
}

fn words(proposals: &[Proposed]) -> String {
    let each: Vec<String> = (proposals.iter())
        .map(|p| {
            let taken = if p.taken { " (taken)" } else { "" };
            format!("{} parts {:.2} dB{taken}", p.parts, p.rms_db)
        })
        .collect();
    format!(
        "Error of the sum against number of parts: {}",
        each.join(", ")
    )
}

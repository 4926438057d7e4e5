//! What every page is made of: its head and style, sections, findings, pictures, and what holds for every loudspeaker.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use solver::judge::{Finding, Severity};

use crate::picture::{Chart, Layout, palette};

/// Nothing is fetched, whatever a name in the project may look like.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'";

/// What holds for every loudspeaker, in words that stand beside the findings.
pub(crate) const ALWAYS: [(&str, &str); 5] = [
    (
        "Valve amplifiers",
        "hold hundreds of volts inside, also for a while after they are switched off. Never run one \
         without a load: an open output can destroy its output transformer.",
    ),
    (
        "Pad resistors",
        "get hot enough to burn skin and scorch wood. Mount them clear of wood, cable and capacitors.",
    ),
    (
        "Capacitors",
        "may hold a charge. Discharge them through a resistor before you touch the network.",
    ),
    (
        "Loud test signals",
        "damage hearing and diaphragms. Begin at the lowest level, with ears protected.",
    ),
    (
        "Mains work",
        "follows the local electrical code and is for licensed people.",
    ),
];

/// The same as a list.
pub(crate) fn always() -> Markup {
    html! { ul.always { @for (what, says) in ALWAYS { li { strong { (what) } " " (says) } } } }
}

/// A whole page: nothing is fetched, the styles of pictures and pages, those of its own, and what is in it.
pub(crate) fn whole(title: &str, own_styles: &[&str], content: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(palette::STYLE)) (PreEscaped(STYLE)) @for style in own_styles { (PreEscaped(style)) } }
            }
            body { (content) }
        }
    }
}

/// The style sheet of every page.
const STYLE: &str = include_str!("style.css");

/// A section with its name in the margin.
pub(crate) fn section(id: &str, name: &str, content: Markup) -> Markup {
    let heading = format!("{id}-heading");
    html! {
        section id=(id) aria-labelledby=(heading) {
            h2 id=(heading) { (name) }
            div.content { (content) }
        }
    }
}

/// A value of a part in a column of several units: its point stands under those of the others, and its unit in a
/// column of its own.
pub(crate) fn amount(words: &str) -> Markup {
    let parted = words.split_once(' ').filter(|(number, unit)| {
        number.parse::<f64>().is_ok() && !unit.contains(char::is_whitespace)
    });
    let Some((number, unit)) = parted else {
        return html! { (words) };
    };
    let (whole, fraction) = number.split_at(number.find('.').unwrap_or(number.len()));
    html! { (whole) span.fraction { (fraction) } " " span.unit { (unit) } }
}

pub(crate) fn severity(finding: &Finding) -> (&'static str, &'static str) {
    match finding.severity {
        Severity::Danger => ("danger", "Danger"),
        Severity::Caution => ("caution", "Caution"),
        Severity::Note => ("note", "Note"),
    }
}

pub(crate) fn list(findings: &[&Finding]) -> Markup {
    html! {
        @if !findings.is_empty() {
            ul.findings {
                @for finding in findings {
                    @let (class, word) = severity(finding);
                    li class=(class) data-code=(finding.code.text()) { strong.severity { (word) } p { (sentence(&finding.message)) } }
                }
            }
        }
    }
}

/// The first letter large.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// A message as a sentence.
pub(crate) fn sentence(message: &str) -> String {
    let mut text = capital(message);
    if !text.ends_with('.') {
        text.push('.');
    }
    kept_together(&text)
}

/// A number and its unit stay on one line, and a minus is as long as a plus.
fn kept_together(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut before = ' ';
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        let next = letters.peek().copied().unwrap_or(' ');
        let of_unit = matches!(next, 'H' | 'k' | 'd' | 'Ω' | 'm' | 'µ' | 'V' | 'W' | '%');
        let joins = before == '±' || (before.is_ascii_digit() && of_unit);
        kept.push(match c {
            ' ' if joins => '\u{a0}',
            '-' if before == ' ' && next.is_ascii_digit() => '−',
            c => c,
        });
        before = c;
    }
    kept
}

pub(crate) fn figure(chart: &Chart) -> Markup {
    let heading = format!("{}-heading", chart.id);
    html! {
        figure.curves id=(chart.id) aria-labelledby=(heading) {
            h3 id=(heading) { (chart.title) }
            (both(chart))
        }
    }
}

/// A picture of a page for both widths of screen.
fn both(chart: &Chart) -> Markup {
    html! {
        div.wide { (PreEscaped(chart.inline(Layout::Wide))) }
        div.narrow { (PreEscaped(chart.inline(Layout::Narrow))) }
    }
}

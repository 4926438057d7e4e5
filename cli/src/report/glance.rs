//! The first screen and the first printed page: a verdict, what must not be missed, the response, the drawing.

use maud::{Markup, PreEscaped, html};
use solver::judge::{Finding, Severity};

use super::{Report, Room};
use crate::page::{ALWAYS, figure, list, section, sentence, severity};
use crate::words::plural;

/// A caution of the first screen is cut to so many letters; the whole stands further down.
const SHORT: usize = 118;

/// What the findings on faults, which are told together, are about.
const ABOUT_FAULTS: &str = "When something breaks or comes loose";

pub(super) fn glance(report: &Report<'_>) -> Markup {
    let dangers = of(report, Severity::Danger);
    let dangers: Vec<&Finding> = dangers.into_iter().map(|(_, finding)| finding).collect();
    let cautions = of(report, Severity::Caution);
    section(
        "before",
        "Before you build or connect",
        html! {
            p.verdict id="verdict" { (verdict(report)) }
            (list(&dangers))
            div.glance {
                div.warned id="cautions" {
                    @if !cautions.is_empty() { (short(&cautions)) }
                    p.always { @for (place, (what, says)) in ALWAYS.iter().enumerate() {
                        @if place > 0 { " " } strong { (what) } " " (says)
                    } }
                    p.quiet { "The figures here are computed, not measured. Measure what was built before you trust it." }
                }
                div.seen {
                    @for chart in report.charts.iter().filter(|chart| is_first(&chart.id)) { (figure(chart)) }
                    (styles(report))
                }
                (drawing(report))
            }
        },
    )
}

/// Pictures that stand on the first screen.
pub(super) fn is_first(id: &str) -> bool {
    id == "response" || id == "sum"
}

/// Findings of a severity with their numbers.
fn of<'r>(report: &'r Report<'_>, severity: Severity) -> Vec<(usize, &'r Finding)> {
    let findings = report.facts.check.findings.iter().enumerate();
    findings
        .filter(|(_, finding)| finding.severity == severity)
        .collect()
}

/// How many dangers and cautions, and the figures that matter most, in one line.
pub(super) fn verdict(report: &Report<'_>) -> String {
    let figures = report.facts.check.assessment.as_ref().ok().map(|reached| {
        let figures = &reached.figures;
        format!("{:.1} dB, {:.2} dB rms", figures.level_db, figures.rms_db)
    });
    let load = report.facts.check.load.as_ref();
    let load = load.map(|load| format!("{:.2} Ω", load.figures.least_ohm));
    let figures: Vec<String> = figures.into_iter().chain(load).collect();
    format!(
        "{}; {}",
        sentence(&counts(report)).trim_end_matches('.'),
        figures.join(", ")
    )
}

/// How many dangers and cautions there are.
pub(super) fn counts(report: &Report<'_>) -> String {
    let counted = |severity, what: &str| match report.count(severity) {
        0 => format!("no {what}"),
        count => plural(count, what),
    };
    format!(
        "{}, {}",
        counted(Severity::Danger, "danger"),
        counted(Severity::Caution, "caution")
    )
}

/// Cautions in a few words each, with a way to the whole; those about one thing together.
fn short(cautions: &[(usize, &Finding)]) -> Markup {
    let (faults, others): (Vec<&(usize, &Finding)>, Vec<_>) =
        (cautions.iter()).partition(|(_, finding)| finding.code.is_of_fault());
    let line = |&(number, finding): &(usize, &Finding)| {
        html! { a href={ "#finding-" (number) } { (cut(&finding.message)) } }
    };
    html! {
        ul.cautions aria-label="Cautions in short" {
            @for one in others { li data-code=(one.1.code.text()) { (line(one)) } }
            @if !faults.is_empty() { li { (ABOUT_FAULTS) ":" ul { @for one in faults { li data-code=(one.1.code.text()) { (line(one)) } } } } }
        }
    }
}

/// The first clause of a message, or what fits of it up to a place where one may stop.
fn cut(message: &str) -> String {
    let whole = message.split("; ").next().unwrap_or(message);
    if whole.chars().count() <= SHORT {
        return sentence(whole);
    }
    let kept: String = whole.chars().take(SHORT).collect();
    let stop = [", ", " (", " and ", " "]
        .into_iter()
        .filter_map(|stop| kept.rfind(stop))
        .find(|&at| at > SHORT / 2);
    let kept = &kept[..stop.unwrap_or(kept.len())];
    format!("{} …", sentence(kept).trim_end_matches('.'))
}

/// What the lines of the pictures are, said once.
fn styles(report: &Report<'_>) -> Markup {
    let targets = report.facts.ways.iter().any(|way| way.target_db.is_some());
    html! {
        p.quiet {
            "The amplifier gives " (solver::load::REFERENCE_V) " V open circuit. Levels are those "
            (match report.project.listener { Some(_) => "at the listener.", None => "at 1 m, on the axis." })
            @if targets { " Dotted: target." }
            @if report.facts.check.tolerance.is_ok() { " The band holds 95 of 100 builds." }
        }
    }
}

fn drawing(report: &Report<'_>) -> Markup {
    // A drawing with a sheet of its own is the bench leaf's as well: it has the coils' resistances.
    let with_losses = report.drawing_with_losses();
    let wide = with_losses.room() == Room::Sheet;
    let drawing = if wide { with_losses } else { report.drawing() };
    let (room, svg) = (drawing.room(), drawing.svg);
    html! {
        div.drawing.wide-drawing[room == Room::Sheet].slim[room == Room::Beside] id="drawing" {
            h3 { "Drawing" }
            div.scroll.sheet tabindex="0" role="group" aria-label="Drawing of the network" { (PreEscaped(svg)) }
            p.quiet { "Wires that cross without a dot are not joined. A + at a driver is its positive terminal." }
        }
    }
}

/// The findings in full, further down.
pub(super) fn findings(report: &Report<'_>) -> Markup {
    let all = report.facts.check.findings.iter().enumerate();
    let (notes, urgent): (Vec<_>, Vec<_>) =
        all.partition(|(_, finding)| finding.severity == Severity::Note);
    let lines = |findings: &[(usize, &Finding)]| {
        html! { ul.findings { @for (number, finding) in findings {
            @let (class, word) = severity(finding);
            li class=(class) id={ "finding-" (number) } data-code=(finding.code.text()) {
                strong.severity { (word) } p { (sentence(&finding.message)) }
            }
        } } }
    };
    section(
        "findings",
        "Cautions in full",
        html! {
            @if urgent.is_empty() { p { "Nothing stands against this design." } } @else { (lines(&urgent)) }
            @if !notes.is_empty() { h3 { "Good to know" } (lines(&notes)) }
        },
    )
}

/// The pictures that are not on the first screen.
pub(super) fn more_curves(report: &Report<'_>) -> Markup {
    html! { @for chart in report.charts.iter().filter(|chart| !is_first(&chart.id)) { (figure(chart)) } }
}

#[cfg(test)]
mod tests {
    use super::cut;

    #[test]
    fn a_long_caution_stops_where_one_may_stop() {
        let long = "with C5 shorted the load falls to 95 mΩ at 20 Hz, with C2 shorted the load falls to 0.52 Ω \
                    at 20 Hz and with L3 shorted the load falls to 0.75 Ω at 20 kHz; more";
        let short = cut(long);
        assert!(
            short.ends_with('…') && short.chars().count() < 122,
            "{short}"
        );
        assert_eq!(cut("never run it; really"), "Never run it.");
        assert!(cut(&"x".repeat(400)).chars().count() < 130);
    }
}

//! The page: head, what must not be missed, figures, curves.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use netlist::project::Project;
use netlist::quantity::Hertz;
use solver::judge::{Finding, Severity};
use solver::load::REFERENCE_V;

use super::{Report, about, build, glance, script, trade_off};
use crate::picture::{Chart, palette};
use crate::wishes;

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

pub(super) fn page(report: &Report<'_>) -> Markup {
    let title = title(report);
    html! {
        (DOCTYPE)
        html lang="en" {
            (page_head(&format!("{title}: bench sheet"), &[REPORT_STYLE, &running_head(report, &title)]))
            body {
                a.skip href="#before" { "To the cautions" }
                header { (head(report, &title)) }
                main {
                    (glance::glance(report))
                    section id="change" aria-labelledby="change-heading" hidden="hidden" {
                        h2 id="change-heading" { "Change a value" }
                        div.content {}
                    }
                    (figures(report))
                    (costs(report))
                    (curves(report))
                    (build::sections(report))
                    @if report.made.proposed.len() > 1 { (trade_off::trade_off(&report.made.proposed)) }
                    (glance::findings(report))
                    (about::section(report))
                    (build::bench_sheets(report))
                }
                (script::script(report))
            }
        }
    }
}

/// The head of every page: nothing is fetched, the styles of pictures and pages, and those of its own.
pub(crate) fn page_head(title: &str, own_styles: &[&str]) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta http-equiv="Content-Security-Policy" content=(POLICY);
            meta name="color-scheme" content="light dark";
            title { (title) }
            style { (PreEscaped(palette::STYLE)) (PreEscaped(STYLE)) @for style in own_styles { (PreEscaped(style)) } }
        }
    }
}

/// The style sheet of every page.
const STYLE: &str = include_str!("style.css");

/// The style of what only the report has.
const REPORT_STYLE: &str = include_str!("report.css");

/// What stands on every printed sheet, so that a loose one tells where it belongs and whether there is a danger.
fn running_head(report: &Report<'_>, title: &str) -> String {
    let text = |words: &str| {
        let mut quoted = String::from("\"");
        for c in words.chars() {
            match c {
                // Written as numbers: nothing of a name can end the text or the element.
                '"' | '\\' | '<' | '>' | '&' => quoted += &format!("\\{:x} ", c as u32),
                c if c.is_control() => quoted.push(' '),
                c => quoted.push(c),
            }
        }
        quoted + "\""
    };
    format!(
        "@media print{{@page{{@top-left{{content:{}}}@top-right{{content:{}}}@bottom-left{{content:{}}}\
         @bottom-right{{content:counter(page) \" of \" counter(pages)}}}}}}",
        text(title),
        text(&glance::counts(report)),
        text(&report.file),
    )
}

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
pub(super) fn amount(words: &str) -> Markup {
    let parted = words.split_once(' ').filter(|(number, unit)| {
        number.parse::<f64>().is_ok() && !unit.contains(char::is_whitespace)
    });
    let Some((number, unit)) = parted else {
        return html! { (words) };
    };
    let (whole, fraction) = number.split_at(number.find('.').unwrap_or(number.len()));
    html! { (whole) span.fraction { (fraction) } " " span.unit { (unit) } }
}

/// A cell of a plate: a small word and what it says.
fn cell(word: &str, content: impl maud::Render) -> Markup {
    html! { div { dt { (word) } dd { (content) } } }
}

/// The same for a figure that only the program can work out anew.
fn stale_cell(word: &str, content: impl maud::Render) -> Markup {
    html! { div data-stale="" { dt { (word) } dd { (content) } } }
}

/// The same for a figure that follows when a value is changed.
fn live_cell(word: &str, figure: &str, content: impl maud::Render) -> Markup {
    html! { div data-figure=(figure) { dt { (word) } dd { (content) } } }
}

fn title(report: &Report<'_>) -> String {
    (report.project.title.clone()).unwrap_or_else(|| report.file.clone())
}

fn head(report: &Report<'_>, title: &str) -> Markup {
    let project = report.project;
    html! {
        h1 { (title) }
        p.origin { "Crossover network." @if let Some(note) = &project.note { " " (note) } }
        dl.plate {
            (cell("Design", &report.file))
            (cell("Ways", ways(report)))
            @if !project.crossovers.is_empty() { (cell("Handover", handovers(report))) }
            (cell("Amplifier", amplifier(project)))
            @if let Some(seed) = report.made.seed { (cell("Seed", seed)) }
            (cell("Program", concat!("handover ", env!("CARGO_PKG_VERSION"))))
        }
        nav aria-label="Sections" {
            @for (id, name) in sections(report) { a href={ "#" (id) } { (name) } " " }
        }
    }
}

fn sections(report: &Report<'_>) -> Vec<(&'static str, &'static str)> {
    let mut sections = vec![("figures", "Figures")];
    if !report.made.costs.is_empty() {
        sections.push(("costs", "Wishes"));
    }
    sections.push(("curves", "Curves"));
    sections.extend(build::names(report));
    if report.made.proposed.len() > 1 {
        sections.push(trade_off::NAME);
    }
    sections.extend([("findings", "Cautions"), ("about", "Data")]);
    sections.extend(build::SHEETS);
    sections
}

fn ways(report: &Report<'_>) -> String {
    let names: Vec<&str> = report.facts.ways.iter().map(|way| &*way.driver).collect();
    names.join(", ")
}

fn handovers(report: &Report<'_>) -> String {
    let crossovers = report.project.crossovers.iter().enumerate();
    let words: Vec<String> = crossovers
        .map(|(i, crossover)| {
            let pair = report
                .facts
                .check
                .assessment
                .as_ref()
                .ok()
                .map(|reached| reached.alignments[i]);
            let slopes = match pair {
                Some(pair) if pair.lower == pair.upper => format!(", {}", pair.lower),
                Some(pair) => format!(", {} / {}", pair.lower, pair.upper),
                None => String::new(),
            };
            format!("{:.3}{slopes}", crossover.frequency)
        })
        .collect();
    words.join("; ")
}

fn amplifier(project: &Project) -> String {
    let amplifier = &project.amplifier;
    let mut words = Vec::new();
    if let Some(power) = amplifier.rated_power {
        let load = amplifier
            .rated_load
            .map(|z| format!(" into {z}"))
            .unwrap_or_default();
        words.push(format!("{power}{load}"));
    }
    words.push(format!("{} output", amplifier.output_impedance));
    words.join(", ")
}

pub(super) fn severity(finding: &Finding) -> (&'static str, &'static str) {
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
                    li class=(class) data-code=(finding.code) { strong.severity { (word) } p { (sentence(&finding.message)) } }
                }
            }
        }
    }
}

/// A message as a sentence.
pub(super) fn sentence(message: &str) -> String {
    let mut letters = message.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    let mut text = first.unwrap_or_default() + letters.as_str();
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

fn figures(report: &Report<'_>) -> Markup {
    let facts = &report.facts;
    let load = facts.check.load.as_ref();
    section(
        "figures",
        "Figures",
        html! {
            dl.plate.large {
                @if let Ok(reached) = &facts.check.assessment {
                    @let figures = &reached.figures;
                    (live_cell("Level", "level", html! { (format!("{:.1}", figures.level_db)) " dB"
                        small { "SPL at " (REFERENCE_V) " V" } }))
                    (live_cell("Flatness", "flat", html! { (format!("{:.2}", figures.rms_db)) " dB" small { "rms, "
                        (format!("{:.3} to {:.3}", report.project.aim.from, report.project.aim.to)) } }))
                    (live_cell("Largest error", "most", html! { (format!("{:.2}", figures.max_db)) " dB"
                        small { "at " (format!("{:.3}", Hertz(figures.max_at_hz))) } }))
                }
                @if let Some(load) = load {
                    (live_cell("Least load", "load", html! { (format!("{:.2}", load.least_ohm)) " Ω"
                        small { "at " (format!("{:.3}", Hertz(load.at_hz))) ", "
                            (format!("{:.0}°", load.phase_deg).replace('-', "−")) } }))
                    (live_cell("Least EPDR", "epdr", html! { (format!("{:.2}", load.least_epdr_ohm)) " Ω"
                        small { "equivalent peak dissipation resistance" } }))
                }
                @if let Ok(tolerance) = &facts.check.tolerance {
                    (stale_cell("Builds", html! { "±" (format!("{:.1}", tolerance.all.within_db)) " dB"
                        small { "95 of 100 are so near to the design" } }))
                }
            }
            @if let Ok(reached) = &facts.check.assessment {
                div.tables {
                    table {
                        caption { span { "Each way against its target" } }
                        thead { tr { th scope="col" { "Way" } th.number scope="col" { "rms off, dB" } } }
                        tbody { @for way in &facts.ways { tr {
                            th scope="row" { (way.driver) }
                            td.number data-match=(way.driver) { (way.match_db.map(|db| format!("{db:.2}")).unwrap_or_default()) }
                        } } }
                    }
                    table {
                        caption { span { "Phase between the ways, half an octave to both sides" } }
                        thead { tr { th scope="col" { "Handover" } th.number scope="col" { "mean, °" } } }
                        tbody { @for (number, (crossover, found)) in reached.job.crossovers.iter().zip(&reached.figures.crossovers).enumerate() { tr {
                            th scope="row" { (format!("{:.3}", crossover.frequency)) }
                            td.number data-phase=(number) { (format!("{:.0}", found.phase_match_deg)) }
                        } } }
                    }
                }
            }
        },
    )
}

/// What each wish costs.
fn costs(report: &Report<'_>) -> Markup {
    let rows = wishes::rows(&report.made.costs);
    html! { @if !rows.is_empty() { (section("costs", "What each wish costs", html! {
        div.scroll tabindex="0" role="group" aria-label="Table of what each wish costs" { table {
            caption { span { (wishes::CAPTION) } }
            thead { tr { @for head in wishes::HEADS { th scope="col" { (head) } } } }
            tbody { @for row in &rows { tr {
                th scope="row" { (row[0]) }
                @for cell in &row[1..] { td { (cell) } }
            } } }
        } }
        p.quiet { (wishes::NOTE) }
    })) } }
}

fn curves(report: &Report<'_>) -> Markup {
    section(
        "curves",
        "Curves",
        html! {
            (glance::more_curves(report))
            (values(report))
        },
    )
}

pub(crate) fn figure(chart: &Chart) -> Markup {
    let heading = format!("{}-heading", chart.id);
    html! {
        figure.curves id=(chart.id) aria-labelledby=(heading) {
            h3 id=(heading) { (chart.title) }
            (glance::both(chart))
        }
    }
}

/// The curves as a table, for who cannot see them.
fn values(report: &Report<'_>) -> Markup {
    let facts = &report.facts;
    let rows: Vec<usize> = (0..=30)
        .map(|i| facts.nearest(20.0 * 10f64.powf(f64::from(i) / 10.0)))
        .collect();
    let level = |db: f64| {
        if db < 0.0 {
            "–".to_owned()
        } else {
            format!("{db:.1}")
        }
    };
    html! {
        details {
            summary { "The curves as a table" }
            div.scroll tabindex="0" role="group" aria-label="Table of the curves" {
                table {
                    caption { span { "Levels in dB SPL; – is below 0 dB" } }
                    thead { tr {
                        th.number scope="col" { "Frequency" }
                        th.number scope="col" { "sum" }
                        @for way in &facts.ways { th.number scope="col" { (way.driver) } }
                        th.number scope="col" { "load, Ω" }
                        th.number scope="col" { "its phase, °" }
                    } }
                    tbody { @for i in rows { tr data-row=(i) {
                        th.number scope="row" { (format!("{:.3}", Hertz(facts.f_hz[i]))) }
                        td.number { (level(facts.sum_db[i])) }
                        @for way in &facts.ways { td.number { (level(way.level_db[i])) } }
                        @if facts.load_ohm[i].is_finite() {
                            td.number { (format!("{:.2}", facts.load_ohm[i])) }
                            td.number { (format!("{:.0}", facts.load_phase_deg[i]).replace('-', "−")) }
                        } @else { td.number { "open" } td.number { "–" } }
                    } } }
                }
            }
        }
    }
}

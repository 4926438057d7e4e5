//! The page: head, what must not be missed, figures, curves.

use maud::{Markup, html};
use netlist::project::Project;
use solver::load::REFERENCE_V;

use super::{Report, about, build, glance, script, trade_off};
use crate::page::{section, whole};
use crate::wishes;
use crate::words::{hz, slopes};

pub(super) fn page(report: &Report<'_>) -> Markup {
    let title = title(report);
    let content = html! {
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
    };
    let styles = [REPORT_STYLE, &running_head(report, &title)];
    whole(&format!("{title}: bench sheet"), &styles, &content)
}

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
            let slopes = pair.map_or(String::new(), |pair| format!(", {}", slopes(pair)));
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
                        small { "at " (hz(figures.max_at_hz)) } }))
                }
                @if let Some(load) = load {
                    (live_cell("Least load", "load", html! { (format!("{:.2}", load.figures.least_ohm)) " Ω"
                        small { "at " (hz(load.figures.at_hz)) ", "
                            (format!("{:.0}°", load.figures.phase_deg).replace('-', "−")) } }))
                    (live_cell("Least EPDR", "epdr", html! { (format!("{:.2}", load.figures.least_epdr_ohm)) " Ω"
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
                        th.number scope="row" { (hz(facts.f_hz[i])) }
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

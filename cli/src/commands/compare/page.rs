//! The page of a comparison.

use maud::{Markup, PreEscaped, html};
use solver::compare::{Figure, Row};
use solver::judge::{Finding, Severity};
use solver::search::CHOICE_WORTH;

use super::work::Column;
use super::{Compared, charts, screen, verdict, words};
use crate::drawing::schematic;
use crate::page::{always, capital, figure, list, section, whole};
use crate::picture::palette;
use crate::words::watts;

/// What this page has beyond others.
const OWN_STYLE: &str = include_str!("page.css");

pub(super) fn page(compared: &Compared) -> String {
    let names: Vec<&str> = compared
        .columns
        .iter()
        .map(|column| column.name.as_str())
        .collect();
    let title = names.join(", ");
    let content = html! {
        a.skip href="#figures" { "To the figures" }
        header {
            p.kind { "Loudspeakers side by side" }
            h1 { (title) }
            p.verdict { (capital(&verdict::sentence(&names, &compared.comparison))) "." }
            @let against = verdict::against_the_first(&names, &compared.comparison);
            @if !against.is_empty() { ul { @for text in against { li { (text) "." } } } }
            (what_they_are(&compared.columns))
            nav aria-label="Sections" {
                @for (id, name) in [("figures", "Figures"), ("curves", "Curves"), ("parts", "Parts"),
                    ("drawings", "Drawings"), ("before", "Cautions"), ("about", "Data")] {
                    a href={ "#" (id) } { (name) } " "
                }
            }
        }
        main {
            (figures(compared))
            (curves(compared))
            (parts(compared))
            (drawings(&compared.columns))
            (before(&compared.columns))
            (about(compared))
        }
    };
    let styles = [palette::WHOLES, OWN_STYLE];
    whole(&format!("{title}: side by side"), &styles, &content).into_string()
}

fn what_they_are(columns: &[Column]) -> Markup {
    html! {
        dl.plate { @for (place, column) in columns.iter().enumerate() {
            div {
                dt { (place + 1) " " (column.name) }
                dd { (column.description) small { (words::shape(column))
                    @if column.outcome.is_none() { "; network as in the file" }
                    @if column.interrupted() { "; ended early" } } }
            }
        } }
    }
}

fn heads(columns: &[Column]) -> Markup {
    html! { @for (place, column) in columns.iter().enumerate() {
        th.number scope="col" { (place + 1) " " (column.name) }
    } }
}

fn figures(compared: &Compared) -> Markup {
    let columns = &compared.columns;
    let comparison = &compared.comparison;
    let broken = |column: &Column| -> Vec<&str> {
        column
            .broken
            .iter()
            .map(|&wish| words::wish(wish))
            .collect()
    };
    section(
        "figures",
        "Figures",
        html! {
            div.scroll tabindex="0" role="region" aria-label="Table of the figures" { table.beside {
                caption { span { (caption(compared)) } }
                thead { tr { th scope="col" { "Figure" } (heads(columns)) } }
                tbody {
                    @for row in &comparison.rows { (figure_row(compared, row)) }
                    tr { th scope="row" { "Hottest part" } @for column in columns { td.number {
                        @if let Some((part, power_w)) = column.hottest() { (part) " " (watts(power_w)) } @else { "–" }
                    } } }
                    tr { th scope="row" { "Dangers, cautions" } @for column in columns { td.number {
                        (column.count(Severity::Danger)) ", " (column.count(Severity::Caution))
                    } } }
                    tr { th scope="row" { "Wishes not kept" } @for column in columns { td.wishes {
                        @if column.broken.is_empty() { "none" } @else { (broken(column).join(", ")) }
                    } } }
                }
            } }
            @if comparison.rows.iter().any(|row| !row.comparable) {
                p.quiet { "In italics: not held against each other, because other things, or a level, are asked for." }
            }
        },
    )
}

fn caption(compared: &Compared) -> String {
    format!(
        "★ is better than others in 95 of 100 builds within the tolerance of parts and drivers ({} of each drawn), and none \
         is better than it; what is ahead without a star is blurred by tolerance",
        compared.comparison.builds
    )
}

fn figure_row(compared: &Compared, row: &Row) -> Markup {
    let name = words::figure(row.figure, &compared.comparison);
    let class = if row.figure == Figure::Score {
        "score"
    } else {
        ""
    };
    html! { tr class=(class) {
        th scope="row" { (capital(&name)) }
        @for (place, value) in row.values.iter().enumerate() {
            @let best = row.best(place);
            td.number.best[best].apart[!row.comparable] {
                @if best { span.star aria-hidden="true" { "★" } span.hidden { "better: " } }
                @match value { Some(value) => (words::value(row.figure, *value)), None => "–" }
            }
        }
    } }
}

fn curves(compared: &Compared) -> Markup {
    section(
        "curves",
        "Curves",
        html! {
            p { "Levels are those at 2.83 V of the amplifier, open circuit." }
            @for chart in charts::charts(compared) { (figure(&chart)) }
        },
    )
}

fn parts(compared: &Compared) -> Markup {
    let columns = &compared.columns;
    let mut before = None;
    section(
        "parts",
        "Parts",
        html! {
            div.scroll tabindex="0" role="region" aria-label="Parts by what they do" { table.beside {
                caption { span { "By what they do, from the amplifier to the driver; what differs is bold" } }
                thead { tr { th scope="col" { "Part" } (heads(columns)) } }
                tbody { @for role in &compared.roles {
                    @if before.replace(role.way) != Some(role.way) {
                        tr.way { th scope="rowgroup" colspan=(columns.len() + 1) { (screen::way_name(compared, role.way)) } }
                    }
                    tr.same[role.same()] {
                        th scope="row" { (words::piece(role.piece)) }
                        @for value in &role.values { td.number {
                            @match value { Some(value) => (words::piece_value(role.piece, *value)), None => "–" }
                        } }
                    }
                } }
            } }
        },
    )
}

fn drawings(columns: &[Column]) -> Markup {
    section(
        "drawings",
        "Drawings",
        html! {
            div.drawings { @for (place, column) in columns.iter().enumerate() {
                @let name = format!("{} {}", place + 1, column.name);
                figure {
                    figcaption { (name) }
                    div.scroll.sheet tabindex="0" role="region" aria-label={ "Drawing of " (name) } {
                        (PreEscaped(schematic(column.network(), &format!("Schematic: {name}")).svg))
                    }
                }
            } }
        },
    )
}

fn before(columns: &[Column]) -> Markup {
    section(
        "before",
        "Before you build or connect",
        html! {
            @for (place, column) in columns.iter().enumerate() {
                @let dangers: Vec<&Finding> = column.check.findings.iter()
                    .filter(|finding| finding.severity == Severity::Danger).collect();
                @if !dangers.is_empty() { h3 { (place + 1) " " (column.name) } (list(&dangers)) }
            }
            (always())
            p.quiet { "The figures here are computed, not measured. The report of each design has its cautions, parts and wiring: handover report." }
        },
    )
}

fn about(compared: &Compared) -> Markup {
    let notes: Vec<&String> = compared
        .columns
        .iter()
        .filter_map(|column| column.project.note.as_ref())
        .collect();
    let mut told: Vec<&String> = Vec::new();
    for note in notes {
        if !told.contains(&note) {
            told.push(note);
        }
    }
    section(
        "about",
        "Data and repeating",
        html! {
            @for note in told { p { (note) } }
            @if let Some(command) = &compared.command { p { "The same comparison again: " code { (command) } } }
            p { "They are ordered by error and parts in one number: the squares of what the sum, the ways and the phases are off, in \
                 units of what is just acceptable, load and level with them, and " (CHOICE_WORTH) " for every part; the less the better." }
            p { "Version " (env!("CARGO_PKG_VERSION")) " of handover. The same files and version give the same page." }
        },
    )
}

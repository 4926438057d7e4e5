//! Where the data come from, and how to repeat the design.

use maud::{Markup, html};
use netlist::project::{Driver, MeasuredDriver, Source, Wired};
use netlist::table::Table;

use super::Report;
use crate::{page, words};

pub(super) fn section(report: &Report<'_>) -> Markup {
    let made = &report.made;
    let content = html! {
        table {
            caption { span { "What the figures rest on" } }
            thead { tr { th scope="col" { "Driver" } th scope="col" { "Data" } } }
            tbody { @for (name, driver) in &report.project.drivers { tr {
                th scope="row" { (name) }
                td { (several(driver)) (origin(driver)) }
            } } }
        }
        @if let Some(note) = &report.project.note { p { (note) } }
        @if !report.facts.notes.is_empty() {
            ul { @for (driver, note) in &report.facts.notes { li { (words::note(driver, note)) } } }
        }
        @if let Some([rms_db, max_db]) = made.ideal_db {
            p { "With its ideal values the sum is within " (format!("{rms_db:.2}")) " dB rms and "
                (format!("{max_db:.2}")) " dB at most; the figures above are those of the parts that can be bought." }
        }
        @if let Some(snapping) = &made.snapping { p { (snapping) } }
        @if let Some(shapes) = made.shapes_tried {
            p { (shapes) " shapes of network were tried." }
        }
        @if let Some(command) = &made.command {
            p { "The same design again: " code { (command) } }
        }
        @if let Ok(tolerance) = &report.facts.check.tolerance {
            p { (tolerance.builds) " builds were drawn at random, with seed " (tolerance.seed) "." }
        }
        p { "Version " (env!("CARGO_PKG_VERSION")) " of handover. The same file and version give the same page." }
    };
    page::section("about", "Data and repeating", content)
}

/// How many of one driver play the way, where it is not one.
fn several(driver: &Driver) -> String {
    let wired = match driver.wired {
        Wired::Parallel => "parallel",
        Wired::Series => "series",
    };
    match driver.count {
        0 | 1 => String::new(),
        count => format!("{count} in {wired}; each "),
    }
}

fn of_tables(measured: &MeasuredDriver) -> String {
    let table = |table: &Table| format!("{} ({} rows)", table.file, table.f_hz.len());
    let mut text = format!("measured: impedance in {}", table(&measured.impedance));
    let near = measured.near.as_ref();
    if let Some(joined) = near.and_then(|near| near.joined.as_ref()) {
        text += &format!(
            ", near field below {} in {} with {}",
            joined.at,
            table(&joined.response),
            joined.drive
        );
    }
    text += &match measured.is_near_only() {
        true => format!(
            ", near field in {} with {}",
            table(&measured.response),
            measured.drive
        ),
        false => format!(
            ", response in {} with {} at {}",
            table(&measured.response),
            measured.drive,
            measured.distance
        ),
    };
    if let Some(port) = near.and_then(|near| near.port.as_ref()) {
        text += &format!(", port in {}", table(&port.response));
    }
    text
}

fn origin(driver: &Driver) -> String {
    match &driver.source {
        Source::Measured(measured) => of_tables(measured),
        Source::Cone(_) => "modelled as a cone driver from its data sheet".to_owned(),
        Source::Compression(_) => {
            "modelled as a compression driver on a horn from its data sheet".to_owned()
        }
        Source::Horn(_) => "modelled from the moving parts of a compression driver and the shape of its horn, mouth in an infinite baffle".to_owned(),
    }
}

//! Steps of the level of drivers whose pad is part of their filter, to adjust by ear and to return.

use maud::{Markup, html};
use netlist::network::Network;
use netlist::project::Project;
use serde::Serialize;
use solver::pad::{Inside, LevelStep, PartChange, PlaceOfChange, inside};
use solver::search::Job;

use crate::words::{NOTHING_NEAR, level_changes};

/// Steps to each side of the design, dB.
pub(super) const RANGE_DB: u8 = 3;

/// A driver without a pad of its own, and the steps of its level.
#[derive(Debug)]
pub(super) struct Level {
    driver: String,
    inside: Inside,
}

/// The levels of all drivers but `without`.
pub(super) fn levels(project: &Project, network: &Network, without: &[&str]) -> Vec<Level> {
    let Ok(job) = Job::new(project) else {
        return Vec::new();
    };
    let drivers = network.driver_names();
    drivers
        .filter(|driver| !without.contains(driver))
        .filter_map(|driver| {
            Some(Level {
                driver: driver.to_owned(),
                inside: inside(project, &job, network, driver, RANGE_DB)?,
            })
        })
        .collect()
}

/// A level that the page's script sets: its driver, the parts that change, and the steps.
#[derive(Debug, Serialize)]
pub(super) struct PageLevel {
    pub(super) driver: String,
    pub(super) parts: Vec<String>,
    pub(super) steps: Vec<PageStep>,
}

/// A step of a level, and what is set for it.
#[derive(Debug, Serialize)]
pub(super) struct PageStep {
    pub(super) level_db: f64,
    pub(super) set: Vec<PageSetting>,
}

/// What is set of a part: its name and its value, ohm, henry or farad; or nothing, and its share of the turns.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(super) enum PageSetting {
    Size(String, f64),
    Tap(String, Option<f64>, f64),
}

/// The steps for the page's script; those that need a part more are in the table only.
pub(super) fn changes(levels: &[Level]) -> impl Iterator<Item = PageLevel> + '_ {
    levels.iter().map(|level| {
        let exchanged = |step: &&LevelStep| {
            let in_place = |change: &PartChange| change.place == PlaceOfChange::InPlace;
            !step.changes.is_empty() && step.changes.iter().all(in_place)
        };
        let steps: Vec<&LevelStep> = level.inside.steps.iter().filter(exchanged).collect();
        let mut parts: Vec<String> = (steps.iter().flat_map(|step| &step.changes))
            .map(|change| change.part.clone())
            .collect();
        parts.sort_unstable();
        parts.dedup();
        let set = |change: &PartChange| PageSetting::Size(change.part.clone(), change.to_si);
        let steps = steps.iter().map(|step| PageStep {
            level_db: step.level_db,
            set: step.changes.iter().map(set).collect(),
        });
        PageLevel {
            driver: level.driver.to_owned(),
            parts,
            steps: steps.collect(),
        }
    })
}

pub(super) fn tables(levels: &[Level]) -> Markup {
    html! {
        p { "Where a pad is part of the filter, a step exchanges one or two parts of the filter, or puts a resistor before the driver or "
            "across it: of all that the stock has, what moves the level most evenly. It is less even than a step of a pad." }
        div.beside { @for level in levels { (table(level)) } }
    }
}

fn table(level: &Level) -> Markup {
    html! {
        div.scroll tabindex="0" role="group" aria-label={ "Level of " (level.driver) } {
            table {
                caption { span { strong { (level.driver) } ": set inside its filter" } }
                thead { tr {
                    th scope="col" { "Level" }
                    th.number scope="col" { "Really, dB" }
                    th.number.minor scope="col" { "Uneven, dB" }
                    th scope="col" { "Change" }
                    th.number.minor scope="col" { "Sum, rms, dB" }
                    th.number.minor scope="col" { "Load, Ω" }
                } }
                tbody { @for step in &level.inside.steps { (row(step)) } }
            }
        }
    }
}

/// With its sign as people write it.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    crate::words::signed(value, decimals).replace('-', "−")
}

/// The level of a step by ear.
pub(super) fn step_level(level_db: f64, design: bool) -> String {
    match design {
        true => "design".to_owned(),
        false => format!("{} dB", signed(level_db, 0)),
    }
}

fn row(step: &LevelStep) -> Markup {
    html! {
        tr {
            th scope="row" { (step_level(step.level_db, step.is_design())) }
            @if let Some(met) = &step.met {
                td.number { (signed(met.change_db, 1)) }
                td.number.minor { (format!("{:.2}", met.uneven_db)) }
                td { (level_changes(step)) }
                td.number.minor { (format!("{:.2}", met.speaker.figures.rms_db)) }
                td.number.minor { @if let Some(load) = met.speaker.load { (format!("{:.1}", load.least_ohm)) } }
            } @else {
                td colspan="5" { (NOTHING_NEAR) }
            }
        }
    }
}

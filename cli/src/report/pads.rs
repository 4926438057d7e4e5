//! Steps of the pads, to adjust by ear and to return.

use maud::{Markup, html};
use netlist::network::{Network, PartKind};
use netlist::project::Project;
use solver::pad::{PadBench, Step, Study, steps};
use solver::programme::Loudness;
use solver::synthesis::Pad;

use super::Report;
use super::levels::{self, PageLevel, PageSetting, PageStep, RANGE_DB};
use crate::page::section;
use crate::words::{aligned, bought, no_pad, tap_words};

/// A pad in the network, and the steps about it.
#[derive(Debug)]
pub(super) struct Adjustment<'a> {
    pub(super) driver: &'a str,
    /// The pad's surroundings.
    bench: PadBench<'a>,
    /// Names of the pad's parts, from the filter to the driver.
    parts: Vec<String>,
    design: Study,
    steps: Vec<Step>,
}

/// Every pad of the network that stands in front of a driver.
pub(super) fn adjustments<'a>(project: &'a Project, network: &'a Network) -> Vec<Adjustment<'a>> {
    let drivers = network.driver_names();
    drivers
        .filter_map(|driver| adjustment(project, driver))
        .collect()
}

fn adjustment<'a>(project: &'a Project, driver: &'a str) -> Option<Adjustment<'a>> {
    let bench = PadBench::new(Some((project, driver)), None, None).ok()?;
    // Steps before the filter move more than a level.
    let place = (bench.place.as_ref()).filter(|place| !place.ahead_of_filter())?;
    let (pad, parts) = (place.pad?, place.parts.clone());
    let design = bench.study(pad);
    let target = bench.target(pad.kind(), design.mean_db, &[]);
    Some(Adjustment {
        driver,
        parts,
        steps: steps(&design, bench.site(), &target, RANGE_DB),
        design,
        bench,
    })
}

/// The steps for the page's script. Those that take other parts than the network has are in the table only.
pub(super) fn changes(report: &Report<'_>) -> Vec<PageLevel> {
    let pads = report.adjustments.iter().map(|adjustment| PageLevel {
        driver: adjustment.driver.to_owned(),
        parts: adjustment.parts.clone(),
        steps: (adjustment.steps.iter())
            .filter_map(|step| page_step(adjustment, step))
            .collect(),
    });
    pads.chain(levels::changes(&report.levels)).collect()
}

fn page_step(adjustment: &Adjustment<'_>, step: &Step) -> Option<PageStep> {
    let pad = step.candidate.as_ref()?.study.pad;
    let (network, place) = adjustment.bench.in_network()?;
    let with = place.with_pad(network, Some(pad));
    let same = with.parts().len() == network.parts().len()
        && with
            .parts()
            .keys()
            .all(|name| network.parts().contains_key(name));
    let set = |name: &String| match &with.parts()[name].kind {
        PartKind::Resistor { resistance, .. } => {
            Some(PageSetting::Size(name.clone(), resistance.0))
        }
        PartKind::Autoformer { .. } => Some(PageSetting::Tap(name.clone(), None, pad.ratio()?)),
        _ => None,
    };
    same.then(|| PageStep {
        level_db: step.level_db,
        set: adjustment.parts.iter().filter_map(set).collect(),
    })
}

pub(super) const NAME: (&str, &str) = ("pads", "Levels");

/// Whether there is a level to adjust.
pub(super) fn has_steps(report: &Report<'_>) -> bool {
    !(report.adjustments.is_empty() && report.levels.is_empty())
}

pub(super) fn pads(report: &Report<'_>, adjustments: &[Adjustment<'_>]) -> Markup {
    let loudness = Loudness::of(&report.project.amplifier);
    section(
        NAME.0,
        "Levels by ear",
        html! {
            p { strong { "Switch the amplifier off before you change a part." } " A valve amplifier must never run without a load, and "
                "resistors stay hot for minutes." }
            p { "Change one step at a time, in both loudspeakers, and listen for a day." }
            @if !adjustments.is_empty() {
                p { "Every step of a pad is the pad from stock that keeps the load of the filter nearest to what it was made for, so that only "
                    "the level moves." }
                div.beside { @for adjustment in adjustments { (table(adjustment)) } }
            }
            @if !report.levels.is_empty() { (levels::tables(&report.levels)) }
            @if !adjustments.is_empty() {
            p.quiet { "Heat is that of programme noise at "
                (format!("{} W into {} Ω", loudness.power_w, loudness.load_ohm)) ", in the hotter resistor." }
            }
        },
    )
}

fn table(adjustment: &Adjustment<'_>) -> Markup {
    let has = |what: fn(Pad) -> Option<f64>| what(adjustment.design.pad).is_some();
    let columns = StepColumns {
        tap: has(Pad::ratio),
        series: has(Pad::series_ohm),
        // A step of an autoformer may need a shunt where the design has none.
        shunt: has(Pad::shunt_ohm)
            || (adjustment.steps.iter())
                .filter_map(|step| step.candidate.as_ref())
                .any(|candidate| candidate.shunt.is_some()),
    };
    html! {
        div.scroll tabindex="0" role="group" aria-label={ "Pad of " (adjustment.driver) } {
            table {
                caption { span { strong { (adjustment.driver) } ": " (adjustment.parts.join(" and ")) } }
                thead { tr {
                    th scope="col" { "Level" }
                    th.number scope="col" { "Really, dB" }
                    @if columns.tap { th.number scope="col" { "Tap" } }
                    @if columns.series { th.number scope="col" { "In series, Ω" } }
                    @if columns.shunt { th.number scope="col" { "Shunt, Ω" } }
                    th.number scope="col" { "Heat, W" }
                    th.number.minor scope="col" { "Attenuation, dB" }
                    th.number.minor scope="col" { "Filter sees, Ω" }
                } }
                tbody { @for step in &adjustment.steps { (row(adjustment, step, columns)) } }
            }
        }
    }
}

/// What a kind of pad has.
#[derive(Debug, Clone, Copy)]
struct StepColumns {
    tap: bool,
    series: bool,
    shunt: bool,
}

fn row(adjustment: &Adjustment<'_>, step: &Step, columns: StepColumns) -> Markup {
    let StepColumns { tap, series, shunt } = columns;
    let really = match (step.change_db, step.design) {
        (_, true) => "0.0".to_owned(),
        (Some(change_db), _) => levels::signed(change_db, 1),
        (None, _) => "–".to_owned(),
    };
    let resistors = |pad: Pad| match &step.candidate {
        Some(bought_as) => {
            [&bought_as.series, &bought_as.shunt].map(|of| of.as_ref().map(|of| bought(of, ohm)))
        }
        None => [pad.series_ohm(), pad.shunt_ohm()].map(|of| of.map(ohm)),
    };
    let part = |of: Option<String>| of.unwrap_or_else(|| "none".to_owned());
    html! {
        tr {
            th scope="row" { (levels::step_level(step.level_db, step.design)) }
            td.number { (really) }
            @if let Some(study) = step.shown(&adjustment.design) {
                @let [in_series, across] = resistors(study.pad);
                @if tap { td.number { (tap_words(study.pad.ratio().unwrap_or(1.0))) } }
                @if series { td.number { (part(in_series)) } }
                @if shunt { td.number { (part(across)) } }
                td.number { (format!("{:.2}", study.heat.hottest_w())) }
                td.number.minor { (format!("{:.1}", study.mean_db)) }
                td.number.minor { (format!("{:.1} to {:.1}", study.seen.least, study.seen.most)) }
            } @else {
                td colspan=(3 + usize::from(tap) + usize::from(series) + usize::from(shunt)) {
                    (no_pad(step, adjustment.design.pad.kind()))
                }
            }
        }
    }
}

fn ohm(ohm: f64) -> String {
    aligned((ohm * 100.0).round() / 100.0, 2)
}

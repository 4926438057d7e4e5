//! The page of one measurement: measured over designed over the best hypothesis.

use maud::{Markup, html};
use netlist::project::Project;
use solver::built::{Built, Mistake, Sweep, SweepCurves};
use solver::judge::{Finding, Severity};

use super::Diagnosis;
use super::screen::{SAID, percent, verdict, what_to_do};
use crate::page::{always, figure, list, section, whole};
use crate::picture::{Axis, AxisSide, Chart, Ink};

/// Hypotheses in the table.
const SHOWN: usize = 8;

pub(super) fn page(project: &Project, all: &Diagnosis, found: &Built) -> String {
    let title = project
        .title
        .clone()
        .unwrap_or_else(|| "Loudspeaker".to_owned());
    let content = html! {
        a.skip href="#found" { "To what was found" }
        header {
            p.kind { "As built, against the drawing" }
            h1 { (title) }
            @if let Some(note) = &project.note { p.origin { (note) } }
        }
        main {
            (what_was_found(all, found))
            (curves(&all.sweeps, found))
            (hypotheses(found))
            (section("before", "Before you touch it", always()))
        }
    };
    whole(&format!("{title}: as built"), &[], &content).into_string()
}

fn what_was_found(all: &Diagnosis, found: &Built) -> Markup {
    let findings = all.findings();
    // The verdict says it already, unless it can hurt.
    let findings: Vec<&Finding> = (findings.iter())
        .filter(|finding| !SAID.contains(&finding.code) || finding.severity == Severity::Danger)
        .collect();
    section(
        "found",
        "Found",
        html! {
            p { strong { (verdict(found)) } }
            @if let Some(todo) = what_to_do(found) { p { (todo) } }
            (list(&findings))
            @if !found.next.is_empty() {
                p { "What would tell most, measured next: "
                    @for (place, next) in found.next.iter().take(3).enumerate() {
                        @if place > 0 { "; " } (next.words()) " (" (format!("{:.1} bit", next.gain)) ")"
                    } "." }
            }
        },
    )
}

fn curves(sweeps: &[Sweep], found: &Built) -> Markup {
    let charts = sweeps.iter().zip(&found.curves).enumerate();
    section(
        "curves",
        "Curves",
        html! {
            @for (number, (sweep, curves)) in charts { (figure(&chart(number, sweep, curves))) }
            p.quiet { "The hypothesis is fitted within the tolerances of parts and drivers; the design is as drawn." }
        },
    )
}

fn chart(number: usize, sweep: &Sweep, curves: &SweepCurves) -> Chart {
    let highest = |values: &[f64]| {
        values
            .iter()
            .copied()
            .filter(|z| z.is_finite())
            .fold(0.0, f64::max)
    };
    let off = match sweep.off.is_empty() {
        true => String::new(),
        false => format!(", without {}", sweep.off.join(", ")),
    };
    let widest = (curves
        .measured_ohm
        .iter()
        .zip(&curves.designed_ohm)
        .zip(&curves.f_hz))
    .map(|((measured, designed), f_hz)| {
        (
            (measured / designed).ln().abs(),
            *f_hz,
            *measured,
            *designed,
        )
    })
    .max_by(|a, b| a.0.total_cmp(&b.0));
    let description = match widest {
        Some((_, f_hz, measured, designed)) => format!(
            "Impedance over frequency, as measured, as designed and of the best hypothesis. Measured and \
             designed are furthest apart at {f_hz:.0} Hz: {measured:.2} against {designed:.2} ohm."
        ),
        None => "Impedance over frequency.".to_owned(),
    };
    // A bridge between the terminals must not push the measured curve out of sight, nor the other way.
    let top = highest(&curves.measured_ohm).max(highest(&curves.designed_ohm));
    let mut chart = Chart::new(
        &format!("impedance{number}"),
        &format!("Impedance at the terminals{off}"),
        description,
        Axis::ohm(top),
    );
    chart.height = 400.0;
    for (name, ink, values) in [
        ("as designed", Ink::Way(0), &curves.designed_ohm),
        ("measured", Ink::Sum, &curves.measured_ohm),
        // On top: where it is right it would not be seen otherwise.
        ("best hypothesis", Ink::Way(1), &curves.best_ohm),
    ] {
        if values.len() == curves.f_hz.len() {
            chart.curve(name, ink, AxisSide::Left, &curves.f_hz, values.clone());
        }
    }
    chart
}

fn hypotheses(found: &Built) -> Markup {
    let mut rows: Vec<(f64, &str, &[Mistake])> = (found.hypotheses.iter().take(SHOWN))
        .map(|hypothesis| {
            (
                hypothesis.share,
                &*hypothesis.mistake.named,
                &hypothesis.same[..],
            )
        })
        .collect();
    rows.push((found.as_designed, "as drawn, parts within tolerance", &[]));
    rows.push((found.something_else, "none of these", &[]));
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    section(
        "hypotheses",
        "Hypotheses",
        html! {
            table {
                caption { span { "The share of each, with what looks the same from the terminals" } }
                thead { tr { th.number scope="col" { "Share" } th scope="col" { "Hypothesis" } } }
                tbody { @for (share, named, same) in rows { tr {
                    td.number { (percent(share)) }
                    td { (named) @for other in same { br; span.quiet { "or " (other.named) } } }
                } } }
            }
        },
    )
}

//! What was improved, on one screen.

use std::io::{Result, Write};

use netlist::network::{Network, PartKind};
use netlist::project::Project;
use solver::goal::{Figures, LoadFigures};
use solver::judge::check::Assessment;
use solver::search::{ChangeKind, Improved, Improvement};
use solver::stock::stock_kind;

use crate::words::plural;
use crate::{figures, words};

pub(super) fn print(
    project: &Project,
    assessment: &Assessment,
    network: &Network,
    improved: &Improved,
    out: &mut dyn Write,
) -> Result<()> {
    words::title(project, out)?;
    if improved.changes.is_empty() {
        writeln!(
            out,
            "nothing is better: no swap of wires, no other value of the stock, no part less"
        )?;
    }
    let mut before = network;
    let (mut figures_before, mut load_before) = (&improved.before.0, &improved.before.1);
    for (number, change) in improved.changes.iter().enumerate() {
        let text = format!(
            "{}. {}: {}",
            number + 1,
            what(change, before),
            brings(
                (figures_before, load_before),
                (&change.figures, &change.load)
            )
        );
        words::folded(&text, 3, out)?;
        before = &change.network;
        (figures_before, load_before) = (&change.figures, &change.load);
    }
    if let Some(last) = improved.changes.last() {
        parts(network, &last.network, out)?;
    }
    let mut rows = vec![("before", &improved.before.0)];
    if let Some(last) = improved.changes.last() {
        rows.push(("after", &last.figures));
    }
    figures::table(&assessment.job, &rows, out)?;
    figures::legend(
        &assessment.job.aim,
        &assessment.alignments,
        figures_before.max_at_hz,
        load_before,
        out,
    )
}

/// What a change is, in words.
pub(super) fn what(change: &Improvement, before: &Network) -> String {
    let names = change.parts.join(", ");
    let (had, has) = (before.parts().len(), change.network.parts().len());
    match change.kind {
        ChangeKind::Polarity => format!("swap the wires of {names}"),
        ChangeKind::Values => format!("other values of {names}"),
        ChangeKind::Removed => {
            format!("{} less ({names})", plural(had.saturating_sub(has), "part"))
        }
        ChangeKind::Grown if has > had => {
            format!("{} more ({names})", plural(has - had, "part"))
        }
        ChangeKind::Grown => format!("other sections ({names})"),
        ChangeKind::Stock => "values that can be bought".to_owned(),
    }
}

/// What it brings, figure by figure: those that change.
fn brings(before: (&Figures, &LoadFigures), after: (&Figures, &LoadFigures)) -> String {
    let worst = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
    let phases =
        |f: &Figures| -> Vec<f64> { f.crossovers.iter().map(|c| c.phase_match_deg).collect() };
    let rows = [
        (
            "flat within",
            before.0.rms_db,
            after.0.rms_db,
            "dB rms",
            2,
            true,
        ),
        ("at most", before.0.max_db, after.0.max_db, "dB", 2, true),
        (
            "ways within",
            worst(&before.0.match_db),
            worst(&after.0.match_db),
            "dB",
            2,
            true,
        ),
        (
            "phases within",
            worst(&phases(before.0)),
            worst(&phases(after.0)),
            "degrees",
            0,
            true,
        ),
        (
            "least load",
            before.1.least_ohm,
            after.1.least_ohm,
            "ohm",
            2,
            false,
        ),
        ("level", before.0.level_db, after.0.level_db, "dB", 1, false),
    ];
    let (mut better, mut worse) = (Vec::new(), Vec::new());
    for (name, from, to, unit, digits, less_is_better) in rows {
        let (shown_from, shown_to) = (format!("{from:.digits$}"), format!("{to:.digits$}"));
        if shown_from == shown_to {
            continue;
        }
        let text = format!("{name} {shown_to} {unit} in place of {shown_from}");
        if (to < from) == less_is_better {
            better.push(text);
        } else {
            worse.push(text);
        }
    }
    match (better.is_empty(), worse.is_empty()) {
        (true, true) => "no figure changes".to_owned(),
        (false, true) => better.join(", "),
        (true, false) => format!("worse {}", worse.join(", ")),
        (false, false) => format!("{}; worse {}", better.join(", "), worse.join(", ")),
    }
}

/// All parts before and after.
fn parts(before: &Network, after: &Network, out: &mut dyn Write) -> Result<()> {
    writeln!(
        out,
        "\n{:<8}{:>14}  {:<30}from, to",
        "part", "before", "after"
    )?;
    for (name, part) in after.parts() {
        let between = part.kind.between().map_or(String::new(), |nodes| {
            nodes.map(|node| after.node_name(node)).join(", ")
        });
        let old = before.parts().get(name);
        if let PartKind::Driver {
            driver, inverted, ..
        } = &part.kind
        {
            let was = matches!(
                old.map(|old| &old.kind),
                Some(PartKind::Driver { inverted: true, .. })
            );
            let swapped = match (was, *inverted) {
                (false, true) => " wires swapped now",
                (true, false) => " wires as marked now",
                (true, true) => " (wires swapped)",
                (false, false) => "",
            };
            writeln!(
                out,
                "{name:<8}{:>14}  {:<30}{between}",
                "",
                format!("driver {driver}{swapped}")
            )?;
            continue;
        }
        let (Some(kind), Some(value)) = (stock_kind(&part.kind), part.value_si()) else {
            writeln!(
                out,
                "{name:<8}{:>14}  {:<30}{between}",
                "",
                part.kind.word()
            )?;
            continue;
        };
        let was = old
            .filter(|old| stock_kind(&old.kind) == Some(kind))
            .and_then(|old| old.value_si())
            .map_or("-".to_owned(), |value| kind.show(value));
        let now = words::made_of(kind, value, part.made_of.as_ref());
        writeln!(out, "{name:<8}{was:>14}  {now:<30}{between}")?;
    }
    let gone: Vec<&str> = (before.parts().keys())
        .filter(|name| !after.parts().contains_key(*name))
        .map(String::as_str)
        .collect();
    if !gone.is_empty() {
        writeln!(out, "taken out: {}", gone.join(", "))?;
    }
    Ok(())
}

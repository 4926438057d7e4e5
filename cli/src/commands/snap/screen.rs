//! Snapping on one screen.

use std::io::{Result, Write};

use netlist::quantity::Hertz;
use solver::search::{Known, SnapGoal, SnapMerit, Snapped};
use solver::stock::Choice;

use super::compared::ChoiceComparison;
use super::{JudgedNetwork, Shown};
use crate::{figures, findings, words};

pub(super) fn print(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    let snapped = shown.snapped;
    words::heading(shown.project, out)?;
    writeln!(
        out,
        "{} parts moved onto the stock; {} choices looked at in {:.1} s\n",
        snapped.parts.len(),
        grouped(snapped.looked_at),
        shown.seconds
    )?;
    parts(shown, out)?;
    let taken = &shown.offers[shown.pick - 1].1;
    let mut rows = vec![
        ("in the file", &shown.before.figures),
        ("nearest", &shown.nearest.figures),
        ("chosen", &taken.figures),
    ];
    rows.extend(
        shown
            .free
            .as_ref()
            .map(|free| ("any values", &free.figures)),
    );
    figures::table(&shown.assessment.job, &rows, out)?;
    let most_at_hz = taken.figures.max_at_hz;
    figures::legend(
        &shown.assessment.job.aim,
        &shown.assessment.alignments,
        most_at_hz,
        &taken.load,
        out,
    )?;
    changes(shown, out)?;
    words::folded(&gained(snapped, shown.goal), 0, out)?;
    for sentence in comparisons(shown, taken) {
        words::folded(&sentence, 2, out)?;
    }
    words::folded(&known(snapped.known, shown.window), 0, out)?;
    if shown.free.is_some() {
        let says = "any values: the chosen network with the values that suit it best, whatever can be bought; near them no stock does better";
        words::folded(says, 0, out)?;
    }
    load(shown, taken, out)?;
    offers(shown, out)
}

/// One line a part: value in the file, nearest, chosen.
fn parts(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    let names = shown
        .network
        .parts()
        .keys()
        .map(|name| name.chars().count());
    let width = names.max().unwrap_or(0).max(4) + 2;
    writeln!(
        out,
        "{:<width$}{:>11}{:>11}  {:<28}{:>7}  name in the catalogue",
        "part", "in the file", "nearest", "chosen", "off"
    )?;
    for (number, part) in shown.snapped.parts.iter().enumerate() {
        let (name, _) =
            (shown.network.parts().get_index(part.part)).expect("a part of the network");
        let choice = taken(shown, number);
        let nearest = &part.choices[shown.snapped.nearest.chosen[number]];
        let line = format!(
            "{name:<width$}{:>11}{:>11}  {:<28}{:>7}  {}",
            part.kind.show(part.ideal_si),
            part.kind.show(nearest.value_si),
            words::made_of(part.kind, choice.value_si, choice.made_of.as_ref()),
            format!("{:+.1} %", 100.0 * (choice.value_si / part.ideal_si - 1.0)),
            catalogue_names(shown, choice),
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    let kept: Vec<&str> = (shown.snapped.kept.iter())
        .filter_map(|&part| shown.network.parts().get_index(part))
        .map(|(name, _)| name.as_str())
        .collect();
    if !kept.is_empty() {
        let text = format!(
            "kept out of the search (fixed, coupled, or nothing of their kind in the stock): {}",
            kept.join(", ")
        );
        words::folded(&text, 0, out)?;
    }
    Ok(())
}

/// The choice of a part in the selection that is taken.
pub(super) fn taken<'a>(shown: &Shown<'a>, number: usize) -> &'a Choice {
    let snapped = shown.snapped;
    let selection = match shown.pick {
        1 => &snapped.best,
        pick => &snapped.alternatives[pick - 2].1,
    };
    &snapped.parts[number].choices[selection.chosen[number]]
}

pub(super) fn catalogue_names(shown: &Shown<'_>, choice: &Choice) -> String {
    let items = &shown.project.stock.catalogue;
    let names = choice.items.iter().map(|&(item, count)| match count {
        1 => items[item].name.clone(),
        _ => format!("{count} x {}", items[item].name),
    });
    names.collect::<Vec<_>>().join(" + ")
}

/// What the nearest and the chosen values change against the file.
fn changes(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    let rows = [
        ("nearest", &shown.nearest),
        ("chosen", &shown.offers[shown.pick - 1].1),
    ];
    let mut text = String::from("change of the sum against the file:");
    for (i, (name, judged)) in rows.into_iter().enumerate() {
        if let Some(change) = &judged.change {
            text += &format!(
                "{} {name} {:.2} dB rms, {:.2} dB most at {:.3}",
                if i == 0 { "" } else { ";" },
                change.rms_db,
                change.max_db,
                Hertz(change.max_at_hz)
            );
        }
    }
    words::folded(&text, 0, out)
}

fn comparisons(shown: &Shown<'_>, taken: &JudgedNetwork) -> Vec<String> {
    let job = &shown.assessment.job;
    let least_change = shown.goal == SnapGoal::LeastChange;
    let mut all = ChoiceComparison::new(job, &shown.nearest, taken, least_change)
        .sentences("nearest")
        .to_vec();
    if !least_change {
        let file = ChoiceComparison::new(job, &shown.before, taken, false);
        all.extend(file.sentences("in the file"));
    }
    all
}

/// A load that is too low is never passed over, nor whose doing it is.
fn load(shown: &Shown<'_>, taken: &JudgedNetwork, out: &mut dyn Write) -> Result<()> {
    if shown.findings.is_empty() {
        return Ok(());
    }
    findings::whole(&shown.findings, out)?;
    let (was, is) = (shown.before.load.least_ohm, taken.load.least_ohm);
    let whose = if is < was - 0.005 {
        format!(
            "the values of the file have {was:.2} ohm: the stock takes {:.2} ohm more",
            was - is
        )
    } else {
        format!("the values of the file have no more: {was:.2} ohm")
    };
    words::folded(&whose, 0, out)
}

fn gained(snapped: &Snapped, goal: SnapGoal) -> String {
    let what = match goal {
        SnapGoal::LeastChange => "chosen so that the loudspeaker changes least",
        SnapGoal::Aim => "chosen to come nearest to the aim",
    };
    match snapped.removed_share() {
        Some(share) => format!(
            "{what}, over the tolerance of the parts: of what the nearest values spoil, {:.0} % is won back",
            100.0 * share
        ),
        None => format!("{what}, over the tolerance of the parts"),
    }
}

pub(super) fn known(known: Known, window: u32) -> String {
    match known {
        Known::Proven => format!(
            "proven: every combination of all parts within ±{window} values of the nearest was looked at; \
             of the best the one with the least expected error over tolerance is taken"
        ),
        Known::WayByWay => format!(
            "proven for each way: within ±{window} values of the nearest every combination of a way, the \
             others as they are, was looked at, and every exchange of two parts of all; combinations across \
             the ways only in part"
        ),
        Known::OneOrTwoParts => format!(
            "not proven: the parts have too many combinations within ±{window} values to look at all; the \
             best of several searches, which no exchange of one or two parts betters"
        ),
        Known::Stopped => "ended early: the best so far".to_owned(),
        Known::Unchanged => "every value is on the stock already: nothing changes".to_owned(),
    }
}

fn offers(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    if shown.offers.len() < 2 {
        return Ok(());
    }
    writeln!(out, "\nchoices (--pick)")?;
    let asked_ohm = shown.assessment.job.least_load();
    let mut any_short = false;
    for (i, (merit, judged)) in shown.offers.iter().enumerate() {
        let mark = if i + 1 == shown.pick { '*' } else { ' ' };
        let price = (judged.price).map_or(String::new(), |price| format!("  price {price:.2}"));
        // What is written as less is less.
        let short = asked_ohm.filter(|asked_ohm| judged.load.least_ohm < asked_ohm - 0.005);
        any_short |= short.is_some();
        let short = short.map_or(String::new(), |asked_ohm| {
            format!(" (under {asked_ohm:.2})")
        });
        writeln!(
            out,
            "{mark}{} {:<16}{:>3} to buy  {:.2} dB rms {:.2} dB most  {:>5.2} ohm least{short}{price}",
            i + 1,
            merit_words(*merit),
            judged.pieces.unwrap_or(0),
            judged.figures.rms_db,
            judged.figures.max_db,
            judged.load.least_ohm,
        )?;
    }
    if any_short {
        let why =
            "a load under the least that is wanted counts against a choice, however flat it is";
        words::folded(why, 0, out)?;
    }
    Ok(())
}

fn merit_words(merit: Option<SnapMerit>) -> &'static str {
    match merit {
        None => "best",
        Some(SnapMerit::Cheapest) => "cheapest as good",
        Some(SnapMerit::SinglesOnly) => "no joined parts",
        Some(SnapMerit::RunnerUp) => "runner-up",
    }
}

/// A number with its thousands apart.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}
